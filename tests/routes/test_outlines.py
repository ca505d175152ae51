"""Boundaries from a file or a lap over HTTP: looked at, not kept."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from houses import Home, code_of, home, lines, square
from unsown.routes import outlines
from unsown.service import bring


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


def test_laps_are_worked_out_one_at_a_time_and_others_are_told_to_come_again(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outlines, "_WAIT_S", 0.05)
    given = {"season": 2026, "day": "2026-05-01"}
    with outlines._ONE_LAP:
        answer = house.client().post("/api/paddocks/lap", json=given, headers=house.origin)
    assert (answer.status_code, code_of(answer)) == (503, "lap-busy")
    assert answer.headers["Retry-After"] == "10"
    after = house.client().post("/api/paddocks/lap", json=given, headers=house.origin)
    assert after.status_code == 404  # one that failed lets the next one in


def test_more_positions_than_a_lap_can_have_are_refused_before_the_work(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bring, "_MOST_FIXES", 40)
    dev, _ = house.phone()
    day = lines(dev, 1, 50)
    first = json.loads(day.splitlines()[0])
    down = {**first, "seq": 51, "kind": "lever", "lever": "down"}
    down = {key: value for key, value in down.items() if key not in ("lat_deg", "lon_deg", "acc_m")}
    house.farm.take_entries(dev, 1, day + json.dumps(down).encode() + b"\n")
    given = {"season": 2026, "day": "2026-05-01"}
    answer = house.client().post("/api/paddocks/lap", json=given, headers=house.origin)
    assert (answer.status_code, code_of(answer)) == (422, "lap-long")
    assert "50 came" in answer.get_json()["error"]["message"]
