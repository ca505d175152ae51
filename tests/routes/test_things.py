"""Paddocks, rig cards and settings over HTTP: by version, never edited."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from houses import RIG, Home, code_of, home, square


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Home]:
    with home(tmp_path, locked=False) as made:
        yield made


def test_a_paddock_is_kept_changed_put_away_and_brought_back(house: Home) -> None:
    desk = house.client()
    made = desk.post("/api/paddocks", json={"geojson": square()}, headers=house.origin)
    assert made.status_code == 201
    id_ = made.get_json()["id"]
    listed = desk.get("/api/paddocks").get_json()
    assert [row["name"] for row in listed] == ["Tin Kettle"]
    assert "geojson" not in listed[0]
    change = {"based_on": 1, "geojson": square("Copper Kettle"), "why": "the sign fell over"}
    saved = desk.put(f"/api/paddocks/{id_}", json=change, headers=house.origin)
    assert saved.get_json()["version"] == 2
    one = desk.get(f"/api/paddocks/{id_}").get_json()
    assert (one["name"], one["geojson"]) == ("Copper Kettle", square("Copper Kettle"))
    assert [row["why"] for row in one["history"]] == ["", "the sign fell over"]
    assert desk.get(f"/api/paddocks/{id_}?version=1").get_json()["name"] == "Tin Kettle"
    assert desk.get(f"/api/paddocks/{id_}?version=3").status_code == 404
    assert desk.delete(f"/api/paddocks/{id_}", headers=house.origin).status_code == 204
    assert desk.get("/api/paddocks").get_json() == []
    assert [row["away"] for row in desk.get("/api/paddocks?away=yes").get_json()] == [True]
    assert desk.post(f"/api/paddocks/{id_}/back", headers=house.origin).status_code == 204
    assert len(desk.get("/api/paddocks").get_json()) == 1


def test_two_desks_cannot_write_over_each_other_without_knowing(house: Home) -> None:
    desk = house.client()
    id_ = desk.post("/api/paddocks", json={"geojson": square()},
                    headers=house.origin).get_json()["id"]  # fmt: skip
    change = {"based_on": 1, "geojson": square("Second")}
    assert desk.put(f"/api/paddocks/{id_}", json=change, headers=house.origin).status_code == 200
    late = desk.put(f"/api/paddocks/{id_}", json=change, headers=house.origin)
    assert (late.status_code, code_of(late)) == (409, "version-old")


def test_a_boundary_that_cannot_be_used_says_why(house: Home) -> None:
    desk = house.client()
    nameless = square("")
    answer = desk.post("/api/paddocks", json={"geojson": nameless}, headers=house.origin)
    assert (answer.status_code, code_of(answer)) == (422, "paddock-name")
    assert answer.get_json()["error"]["hint"]


def test_a_rig_card_is_kept_and_drawn(house: Home) -> None:
    desk = house.client()
    made = desk.post("/api/rigs", json={"card": RIG}, headers=house.origin)
    assert made.status_code == 201, made.text
    id_ = made.get_json()["id"]
    assert desk.get(f"/api/rigs/{id_}").get_json()["card"] == RIG
    sketch = desk.get(f"/api/rigs/{id_}/sketch.svg")
    assert sketch.mimetype == "image/svg+xml"
    assert "<svg" in sketch.text
    wide = {**RIG, "tool": {**RIG["tool"], "width_m": 9.0}}  # type: ignore[dict-item]
    change = {"based_on": 1, "card": wide}
    assert desk.put(f"/api/rigs/{id_}", json=change, headers=house.origin).status_code == 200
    assert desk.get(f"/api/rigs/{id_}/sketch.svg?version=1").text == sketch.text
    assert desk.get(f"/api/rigs/{id_}/sketch.svg").text != sketch.text
    bad = desk.post("/api/rigs", json={"card": {"name": "x"}}, headers=house.origin)
    assert bad.status_code == 422
    assert desk.delete(f"/api/rigs/{id_}", headers=house.origin).status_code == 204
    assert desk.get("/api/rigs").get_json() == []
    assert desk.post(f"/api/rigs/{id_}/back", headers=house.origin).status_code == 204


def test_settings_are_set_one_by_one(house: Home) -> None:
    desk = house.client()
    given = {"based_on": 0, "units": "ac", "prices": {"seed_price_kg": 0.46}}
    assert desk.put("/api/settings", json=given, headers=house.origin).status_code == 200
    found = desk.get("/api/settings").get_json()
    assert (found["units"], found["land"], found["version"]) == ("ac", "paddock", 1)
    assert found["prices"]["seed_price_kg"] == 0.46
    for wrong, status in (({"units": "bushels"}, 400), ({"zone": "Nowhere/Else"}, 422),
                          ({"colour": "red"}, 400), ({"prices": {"x": 1}}, 422),
                          ({"prices": {"tractor_h": -1}}, 400)):  # fmt: skip
        answer = desk.put("/api/settings", json={"based_on": 1, **wrong}, headers=house.origin)
        assert answer.status_code == status, wrong


@pytest.mark.parametrize(
    "path",
    ["/api/paddocks/%2e%2e", "/api/rigs/..%2f..%2fetc", "/api/rigs/a b",
     "/api/paddocks/abcd1234?version=0", "/api/rigs/x?version=1&version=2",
     "/api/board?season=1", "/api/board?season=2026.0"],
)  # fmt: skip
def test_names_and_numbers_that_are_none_go_no_further(house: Home, path: str) -> None:
    assert house.client().get(path).status_code in (400, 404)


def test_what_is_not_there_is_not_found(house: Home) -> None:
    for path in ("/api/paddocks/abcd1234", "/api/rigs/abcd1234", "/api/rigs/abcd1234/sketch.svg"):
        answer = house.client().get(path)
        assert (answer.status_code, code_of(answer)) == (404, "unknown")
