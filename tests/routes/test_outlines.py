"""Boundaries from a file or a lap over HTTP: looked at, not kept."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from houses import Home, code_of, home, lines, square


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Home]:
    with home(tmp_path, locked=False) as made:
        yield made


def read(house: Home, name: str, data: bytes) -> TestResponse:
    form = {"file": (io.BytesIO(data), name)}
    return house.client().post("/api/paddocks/read", data=form, headers=house.origin)


def test_a_boundary_file_is_read_and_not_kept(house: Home) -> None:
    answer = read(house, "field.geojson", json.dumps(square("Tin Kettle")).encode())
    assert answer.status_code == 200
    found = answer.get_json()
    assert found["geojson"]["features"][0]["properties"]["name"] == "Tin Kettle"
    assert found["area_ha"] == pytest.approx(8.02, abs=0.01)
    assert house.farm.paddocks(away=True) == []
    kept = house.client().post("/api/paddocks", json={"geojson": found["geojson"]},
                               headers=house.origin)  # fmt: skip
    assert kept.status_code == 201


@pytest.mark.parametrize(
    ("data", "code"),
    [(b"", "file-empty"), (b"\x7fELF\x00", "file-binary"), (b"{}", "geojson-type"),
     (b'{"type": "FeatureCollection", "features": []}', "boundary-none")],
)  # fmt: skip
def test_what_is_no_boundary_says_why_and_names_the_file(
    house: Home, data: bytes, code: str
) -> None:
    answer = read(house, "../../etc/field.geojson", data)
    assert answer.status_code == 422
    assert code_of(answer) == code
    assert answer.get_json()["error"]["where"].startswith("field.geojson")


def test_a_form_without_a_file_or_with_two_is_refused(house: Home) -> None:
    desk = house.client()
    empty = desk.post("/api/paddocks/read", data={"x": "y"}, headers=house.origin,
                      content_type="multipart/form-data")  # fmt: skip
    assert (empty.status_code, code_of(empty)) == (400, "shape")
    two = {"file": [(io.BytesIO(b"a"), "a"), (io.BytesIO(b"b"), "b")]}
    answer = desk.post("/api/paddocks/read", data=two, headers=house.origin)
    assert (answer.status_code, code_of(answer)) == (400, "shape")


def test_a_lap_of_a_day_without_one_is_refused_with_the_reason(house: Home) -> None:
    def lap(**given: object) -> TestResponse:
        given = {"season": 2026, "day": "2026-05-01", **given}
        return house.client().post("/api/paddocks/lap", json=given, headers=house.origin)

    assert (lap().status_code, code_of(lap())) == (404, "unknown")
    dev, _ = house.phone()
    house.farm.take_entries(dev, 1, lines(dev, 1, 50))
    assert (lap().status_code, code_of(lap())) == (422, "lap-none")
    assert lap(day="2026-13-01").status_code == 400
