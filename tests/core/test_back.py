"""Going back as a whole: from a computed day, by days whose truth is plain."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import box

import tallies
from unsown.core.back import back, gate_of, speed_m_s, way_out
from unsown.core.price import EXAMPLE
from unsown.core.words import Fixes, Gate, Ground, Rig, Run, Tally, Tool, Way
from unsown.formats.going import CAUTION, blocks, to_worth, worth_rows

RIG = Rig("bar", "mounted", Tool(8.0, overlap_wish_m=0.0), tightest_m=8.0)
SQUARE = box(0, 0, 600, 600)
EMPTY = shapely.Polygon()


def day(*bare: shapely.Polygon, chance: float = 0.97) -> Tally:
    """A square sown all over but for some patches; the last run ends in the middle, going north."""
    hole = shapely.union_all(list(bare))
    ground = Ground(SQUARE, EMPTY, SQUARE.difference(hole), EMPTY, EMPTY, hole, EMPTY, EMPTY, EMPTY)
    patches = tuple(tallies.patch(k, shape, chance, width_m=8.0) for k, shape in enumerate(bare, 1))
    y = np.linspace(100.0, 300.0, 101)
    way = Way(1, "cab", 8.0, 200.0, y / 2, np.full(101, 300.0), y, np.full(101, np.pi / 2))
    return replace(
        tallies.day(), ground=ground, patches=patches, ways=(way,), net_ha=36.0, sown_ha=35.9,
        runs=(Run(1, 0.0, 100.0, 0.0, 100.0),), down_km=0.2, hours=8.0,
    )  # fmt: skip


PATCH, FAR = box(320, 400, 360, 407.5), box(100, 100, 140, 107.5)


def test_one_stands_where_the_last_run_ended_and_leaves_by_the_gate() -> None:
    found = back(day(PATCH), [RIG], EXAMPLE, (0.0, 300.0), 3360.0)
    assert found.now is not None
    assert found.now.route.poses[0][:2] == pytest.approx([300.0, 300.0], abs=0.01)
    assert found.now.route.poses[-1][:2] == pytest.approx([0.0, 300.0], abs=0.5)
    assert found.speed_m_s == pytest.approx(2.0)
    assert found.pace_ha_h == pytest.approx(35.9 / 8.0)


def test_a_trip_of_its_own_starts_at_the_gate_and_pays_the_road() -> None:
    found = back(day(PATCH, FAR), [RIG], EXAMPLE, (0.0, 300.0), 3600.0)
    assert found.now is not None
    assert found.later is not None
    assert found.later.route.poses[0][:2] == pytest.approx([0.0, 300.0], abs=0.01)
    assert found.later.net == pytest.approx(sum(g.net for g in found.later.groups) - 58.0)
    assert found.now.net > 0 > found.later.net


def test_ground_not_reached_yet_is_no_reason_to_go_back() -> None:
    rest = box(400, 0, 600, 600)
    tally = day(PATCH, rest)
    tally = replace(tally, patches=(tally.patches[0], replace(tally.patches[1], width_m=200.0)))
    found = back(tally, [RIG], EXAMPLE, (0.0, 300.0), 0.0)
    assert [p.number for p in found.patches] == [1]


def test_nothing_bare_is_nothing_to_weigh_and_nothing_to_say() -> None:
    found = back(day(), [RIG], EXAMPLE, (0.0, 300.0), 0.0)
    assert (found.now, found.later, found.patches) == (None, None, ())
    said = to_worth(found, day(), tallies.PLANE)
    assert said["now"] is None
    assert worth_rows(said, "C$", examples=False) == []


def test_the_gate_is_where_the_rig_came_in() -> None:
    x, y = np.array([-50.0, 3.0, 300.0]), np.array([310.0, 310.0, 300.0])
    assert gate_of(SQUARE, x, y) == pytest.approx((0.0, 310.0))
    assert SQUARE.boundary.distance(shapely.Point(gate_of(SQUARE, x[:1], y[:1]))) < 1e-9


def test_the_way_ends_at_the_gate_that_is_set_nearest_to_where_the_rig_came_in() -> None:
    plane, y = tallies.PLANE, [310.0, 310.0, 300.0]
    lon, lat = plane.to_degrees([-50.0, 3.0, 300.0], y)
    no, told = np.zeros(3, np.int32), np.zeros(3)
    fixes = Fixes(np.arange(3), lat, lon, told, told, told, no, no)
    (west, north), (south_lon, south_lat) = zip(
        *(a.tolist() for a in plane.to_degrees([-4.0, 200.0], [200.0, 30.0])), strict=True
    )
    near, far = Gate(west, north, "Mill road"), Gate(south_lon, south_lat)
    none, unset = way_out(day(), plane, fixes, ())
    assert none == pytest.approx((0.0, 310.0), abs=0.01)
    assert unset is None
    at, which = way_out(day(), plane, fixes, (far, near))
    assert at == pytest.approx((0.0, 200.0), abs=0.01), "it lies on the fence"
    assert which == near
    said = to_worth(back(day(PATCH), [RIG], EXAMPLE, at, 0.0), day(PATCH), plane, gate=which)
    assert (said["gate_set"], said["gate_name"]) == (True, "Mill road")
    assert "  The gate is Mill road." in worth_rows(said, "", examples=False)
    plain = {**said, "gate_set": False}
    assert "  No gate is set: the way ends where the rig first came in." in worth_rows(
        plain, "", examples=False
    )


def test_no_run_gives_a_usual_speed() -> None:
    assert speed_m_s(replace(day(PATCH), runs=(), down_km=0.0)) == 2.0


def test_the_words_always_say_whose_judgement_it_is_and_name_example_prices() -> None:
    tally = day(PATCH, FAR)
    said = to_worth(back(tally, [RIG], EXAMPLE, (0.0, 300.0), 3360.0), tally, tallies.PLANE)
    rows = worth_rows(said, "C$", examples=True)
    assert CAUTION in rows
    assert rows[-1].startswith("Reckoned with the prices of an invented farm")
    assert not any("invented" in row for row in worth_rows(said, "", examples=False))
    assert any(row.startswith("  worth it") for row in rows)
    assert "leave." in next(row for row in rows if row.startswith("From outside later"))


def test_each_stop_is_on_the_way_and_the_way_is_down_only_on_runs() -> None:
    tally = day(PATCH, FAR)
    now = to_worth(back(tally, [RIG], EXAMPLE, (0.0, 300.0), 0.0), tally, tallies.PLANE)["now"]
    assert {n for s in now["stops"] for n in now["groups"][s["group"]]["patches"]} == {1, 2}
    down = [piece for piece in now["way"] if piece["tool_down"]]
    assert len(down) == len(now["stops"])
    assert not now["blocked"]
    lon, lat = zip(*(p for piece in now["way"] for p in piece["line"]), strict=True)
    x, y = tallies.PLANE.to_xy(np.array(lon), np.array(lat))
    assert shapely.contains_xy(SQUARE.buffer(0.1), x, y).all()


def test_runs_of_one_patch_or_of_two_in_turn_are_told_as_one_stop() -> None:
    assert blocks([3, 3, 3, 1, 2, 1, 2, 0]) == [[0, 1, 2], [3, 4, 5, 6], [7]]
    assert blocks([1, 2, 3]) == [[0], [1], [2]]
    assert blocks([]) == []
