"""What is carried out opens elsewhere, says what was computed, and can be carried in again."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import pytest
import shapely

import smallday
from unsown.core.errors import PaddockError
from unsown.formats.boundary import read_paddock
from unsown.formats.track import join, read_track
from unsown.service import carry
from unsown.service.carry import Carried
from unsown.service.farm import Farm, open_farm
from unsown.service.words import FarmError

NAME = "=Small, paddock"  # a name that a spreadsheet would run
SEASON = 2025  # of smallday's fixes
CARD = {
    "name": "Small bar",
    "kind": "mounted",
    "phone": {"ahead_of_axle_m": 0},
    "tool": {"width_m": 8},
}


@dataclass(frozen=True)
class Made:
    """A farm with the small day computed, and the id of its paddock."""

    farm: Farm
    id: str


def filled(farm: Farm, data: bytes, *, wait: bool = True) -> Made:
    shape = json.loads(smallday.paddock())
    shape["properties"]["name"] = NAME
    saved = farm.save_paddock(None, {"type": "FeatureCollection", "features": [shape]}, None)
    farm.save_rig(None, CARD, None)
    farm.take_file("day.jsonl", data)
    assert not wait or farm.finish(120)
    return Made(farm, saved.id)


def day_lines() -> bytes:
    return "".join(json.dumps(entry) + "\n" for entry in smallday.entries()).encode()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    with open_farm(tmp_path_factory.mktemp("farm")) as farm:
        yield filled(farm, day_lines())


def content(carried: Carried) -> bytes:
    return b"".join(carried.parts)


def table(carried: Carried) -> list[dict[str, str]]:
    text = content(carried).decode("utf-8-sig")
    assert text.count("\r\n") == text.count("\n")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_track_reads_back_to_the_same_log(made: Made) -> None:
    out = carry.track(made.farm.store, made.id, SEASON)
    back = join([read_track(content(out), out.name)])
    log = carry.log_of(made.farm.store, made.id, SEASON)
    assert len(back.fixes) == len(log.fixes) > 500
    for name in ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg"):
        np.testing.assert_array_equal(getattr(back.fixes, name), getattr(log.fixes, name))
    assert [(m.t_ms, m.says, m.phone) for m in back.marks] == [
        (m.t_ms, {k: m.says[k] for k in ("lever", "how")}, m.phone)
        for m in log.marks
        if m.kind == "lever"
    ]
    assert len(back.marks) == 12


def test_gdal_opens_the_track_with_its_lever_as_waypoints(made: Made, tmp_path: Path) -> None:
    path = tmp_path / "track.gpx"
    path.write_bytes(content(carry.track(made.farm.store, made.id, SEASON)))
    log = carry.log_of(made.farm.store, made.id, SEASON)
    _, _, points, _ = pyogrio.raw.read(path, layer="track_points")
    places = shapely.get_coordinates(shapely.from_wkb(points))
    order = np.argsort(log.fixes.t_ms, kind="stable")
    expected = np.column_stack([log.fixes.lon_deg, log.fixes.lat_deg])[order]
    np.testing.assert_allclose(places, expected, atol=1e-9)
    meta, _, _, fields = pyogrio.raw.read(path, layer="waypoints")
    names = fields[list(meta["fields"]).index("name")].tolist()
    assert names == ["down", "up"] * 6


def ground(made: Made) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(content(carry.ground(made.farm.store, made.id, SEASON)))
    return document


def test_the_ground_says_state_chance_area_and_the_rig_it_was_computed_with(made: Made) -> None:
    features = ground(made)["features"]
    states = [f["properties"]["state"] for f in features]
    assert "sown" in states
    assert "run" not in states
    bare = [f["properties"] for f in features if f["properties"]["state"] == "bare"]
    assert bare[0]["number"] == 1
    assert bare[0]["area_m2"] == pytest.approx(8 * smallday.MISSED_M, rel=0.05)
    assert 0.9 <= bare[0]["chance"] <= 1.0
    for feature in features:
        assert feature["properties"]["rig_version"] == "Small bar 1"
        assert feature["properties"]["paddock"] == NAME
        assert feature["properties"]["season"] == SEASON


def test_the_ground_keeps_rfc_7946(made: Made) -> None:
    for feature in ground(made)["features"]:
        shape = shapely.geometry.shape(feature["geometry"])
        assert shape.is_valid
        for part in shapely.get_parts(shape):
            assert part.exterior.is_ccw
            assert not any(ring.is_ccw for ring in part.interiors)
        flat = shapely.get_coordinates(shape)
        assert np.abs(flat - np.round(flat, 7)).max() == 0.0


def test_gdal_opens_the_ground_with_areas_that_are_those_of_the_day(
    made: Made, tmp_path: Path
) -> None:
    path = tmp_path / "ground.geojson"
    path.write_bytes(content(carry.ground(made.farm.store, made.id, SEASON)))
    meta, _, shapes, fields = pyogrio.raw.read(path)
    assert meta["crs"] == "EPSG:4326"
    found = dict(zip(meta["fields"], fields, strict=True))
    assert shapely.is_valid(shapely.from_wkb(shapes)).all()
    areas = {
        state: float(found["area_m2"][found["state"] == state].sum()) / 1e4
        for state in ("sown", "bare", "sliver")
    }
    tally = made.farm.work(made.id, SEASON)["tally"]
    bare_there = areas["bare"] + areas["sliver"]
    assert areas["sown"] + bare_there == pytest.approx(
        tally["sown_ha"] + tally["bare_ha"], abs=2e-3
    )
    assert areas["bare"] == pytest.approx(tally["listed_ha"], abs=2e-4)


def test_the_ground_is_not_taken_for_a_boundary(made: Made) -> None:
    with pytest.raises(PaddockError, match="what a day came to"):
        read_paddock(content(carry.ground(made.farm.store, made.id, SEASON)), "ground.geojson")


def test_the_tables_say_what_the_tally_says(made: Made) -> None:
    tally = made.farm.work(made.id, SEASON)["tally"]
    rows = table(carry.patches(made.farm.store, made.id, SEASON))
    assert [int(r["number"]) for r in rows] == [p["number"] for p in tally["patches"]]
    for row, patch in zip(rows, tally["patches"], strict=True):
        assert float(row["area_m2"]) == patch["area_m2"]
        assert float(row["lon_deg"]) == patch["lon"]
        assert row["call"] == patch["call"]
    runs = table(carry.runs(made.farm.store, made.id, SEASON))
    assert [r["sure"] for r in runs] == ["yes"] * 6
    assert runs[0]["down_utc"] == "2025-05-03T14:00:00.000Z"
    assert all(float(r["length_m"]) == pytest.approx(200, abs=61) for r in runs)
    (day,) = table(carry.days(made.farm.store, SEASON))
    assert float(day["sown_ha"]) == pytest.approx(tally["sown_ha"], abs=1e-4)
    assert int(day["runs"]) == 6


def test_a_name_that_is_a_formula_cannot_run_in_a_spreadsheet(made: Made) -> None:
    store = made.farm.store
    for out in (carry.patches(store, made.id, SEASON), carry.runs(store, made.id, SEASON),
                carry.days(store, SEASON)):  # fmt: skip
        assert {row["paddock"] for row in table(out)} == {"'" + NAME}
        assert out.name.startswith("small-paddock-2025-" if "days" not in out.name else "farm-2025")


def test_gdal_opens_a_table_and_places_its_rows(made: Made, tmp_path: Path) -> None:
    path = tmp_path / "patches.csv"
    path.write_bytes(content(carry.patches(made.farm.store, made.id, SEASON)))
    meta, _, shapes, fields = pyogrio.raw.read(
        path, X_POSSIBLE_NAMES="lon_deg", Y_POSSIBLE_NAMES="lat_deg", AUTODETECT_TYPE="YES"
    )
    assert list(meta["fields"][:3]) == ["paddock", "season", "number"]
    assert fields[2].tolist() == list(range(1, len(fields[2]) + 1))
    fence = shapely.geometry.Polygon(smallday.ring()).buffer(1e-5)
    assert shapely.within(shapely.from_wkb(shapes), fence).all()


def test_the_log_of_a_paddock_computes_to_the_same_on_another_farm(
    made: Made, tmp_path: Path
) -> None:
    out = content(carry.lines(made.farm.store, SEASON, made.id))
    with open_farm(tmp_path) as other:
        again = filled(other, out)
        ours, theirs = (m.farm.work(m.id, SEASON)["tally"] for m in (made, again))
        assert theirs == ours


def test_the_log_leaves_as_it_came_and_coming_back_changes_nothing(made: Made) -> None:
    out = content(carry.lines(made.farm.store, SEASON))
    assert out.splitlines() == day_lines().splitlines()
    taken = made.farm.take_file("again.jsonl", out)
    assert (taken.kept, taken.again) == (0, len(out.splitlines()))


def test_the_desks_answers_and_what_they_undo_leave_with_their_paddock(tmp_path: Path) -> None:
    with open_farm(tmp_path, compute=False) as farm:
        ours = filled(farm, day_lines(), wait=False)
        start = smallday.START_MS
        said = {"kind": "say", "from_ms": start, "to_ms": start + 9000, "answer": "up"}
        (seq,) = farm.desk_entries([{"t_ms": start, "paddock": ours.id, **said}])
        (undo,) = farm.desk_entries([{"t_ms": start, "kind": "undo", "of": seq}])
        farm.desk_entries([{"t_ms": start, "paddock": "elsewhere", **said}])
        out = content(carry.lines(farm.store, SEASON, ours.id)).splitlines()
    desk = [json.loads(line) for line in out if line not in day_lines().splitlines()]
    assert [entry["seq"] for entry in desk] == [seq, undo]
    assert all(entry["dev"].startswith("desk") for entry in desk)


def test_a_day_leaves_alone_and_a_day_without_entries_is_told(made: Made) -> None:
    store = made.farm.store
    out = content(carry.lines(store, SEASON, made.id, "2025-05-03"))
    assert len(out.splitlines()) == len(day_lines().splitlines())
    for make in (carry.track, lambda *a: carry.lines(a[0], a[2], a[1], a[3])):
        with pytest.raises(FarmError, match="Nothing was logged"):
            content(make(store, made.id, SEASON, "2025-05-04"))


def test_what_is_not_there_is_told_and_not_made_up(made: Made) -> None:
    store = made.farm.store
    for make in (carry.track, carry.ground, carry.patches, carry.runs):
        with pytest.raises(FarmError):
            make(store, made.id, SEASON + 1)
        with pytest.raises(FarmError):
            make(store, "nowhere", SEASON)
    assert table(carry.days(store, SEASON + 1)) == []
