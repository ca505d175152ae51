"""Strips: sown, part, twice; bow-ties, revisits, ranks; and that the areas always add up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import DRAGGED, PLAIN, RIGID, Step, down, drive, log, paddock, straight, sums, turn, up
from unsown.core.cover import (
    EMPTY,
    Poses,
    Strip,
    ground,
    piece_cuts,
    polygons_of,
    strip,
    swept,
    visited_again,
)
from unsown.core.day import find
from unsown.core.words import Rig, Tally, Tool

FIELD = box(-300, -300, 300, 300)


def posed(parts: list[Step], *, hz: float = 2.0, start_s: float = 0.0, **where: object) -> Poses:
    """Bar poses straight from the drive: the bar itself is driven."""
    d = drive(parts, hz=hz, **where)
    way = np.r_[0.0, np.cumsum(np.abs(d.speed_m_s[1:]) * np.diff(d.t_s))]
    return Poses(d.t_s + start_s, d.x_m, d.y_m, d.heading_rad, way)


def rolled(number: int, poses: Poses, width: float = 8.0, front: float = 0.0, rear: float = 0.0):
    return strip(number, [poses], front, rear, width)


def straight_at(y: float, number: int, *, front: float = 0.0, rear: float = 0.0) -> Strip:
    poses = posed(straight(100), at=(0.0, y, 0.0), start_s=1000.0 * number)
    return rolled(number, poses, 8.0, front, rear)


def total(pieces: list) -> float:
    return float(shapely.union_all(np.asarray(pieces, dtype=object)).area)


def test_a_straight_run_is_a_rectangle() -> None:
    poses = posed(straight(100))
    pieces = swept(poses, piece_cuts(poses), 0.0, 8.0)
    assert shapely.union_all(pieces).symmetric_difference(box(0, -4, 100, 4)).area < 1e-6


def test_pieces_meet_without_slivers_between_them() -> None:
    poses = posed(straight(500) + turn(20, 170) + straight(300))
    pieces = np.asarray(swept(poses, piece_cuts(poses), 0.0, 8.0), dtype=object)
    assert len(pieces) > 5
    joined = shapely.union_all(pieces)
    assert joined.geom_type == "Polygon"
    assert len(joined.interiors) == 0
    assert_allclose(joined.area, 8.0 * poses.path_m[-1], rtol=2e-4)


def test_no_piece_is_longer_or_bends_more_than_it_may() -> None:
    poses = posed(straight(500) + turn(5, 720), hz=5.0)
    cuts = piece_cuts(poses)
    assert (cuts[0], cuts[-1]) == (0, len(poses) - 1)
    assert np.diff(cuts).max() <= 80
    assert np.diff(poses.path_m[cuts]).max() <= 150
    assert np.abs(np.diff(poses.heading_rad[cuts])).max() <= 1.0 + 1e-9


@pytest.mark.parametrize("radius", [4.0, 3.0, 2.0, 1.0, 0.1])
def test_a_turn_tighter_than_half_the_bar_sweeps_the_whole_disc(radius: float) -> None:
    # inner end runs backwards: bow-ties. One full turn: disc of R + W/2 (D, circle), since the
    # bar reaches over the centre
    poses = posed(turn(radius, 360), hz=720 / (np.pi * radius))
    pieces = swept(poses, piece_cuts(poses), 0.0, 8.0)
    assert all(p.is_valid for p in pieces)
    assert_allclose(total(pieces), np.pi * (radius + 4.0) ** 2, rtol=3e-3)


def test_a_turn_wider_than_half_the_bar_sweeps_a_ring() -> None:
    # θ R W (D, Pappus)
    poses = posed(turn(9.0, 270), hz=4.0)
    assert_allclose(
        total(swept(poses, piece_cuts(poses), 0.0, 8.0)), 1.5 * np.pi * 9 * 8, rtol=2e-3
    )


def test_two_ranks_sow_where_both_passed_and_part_where_one_did() -> None:
    # front 2 m ahead, rear 1 m behind: 3 m · 8 m at each end is part (D, rectangles)
    states, _ = ground([straight_at(0.0, 1, front=2.0, rear=-1.0)], FIELD, EMPTY, EMPTY)
    assert_allclose(states.sown.area, (100 - 3) * 8, atol=1e-6)
    assert_allclose(states.part.area, 2 * 3 * 8, atol=1e-6)
    assert states.sown.bounds == pytest.approx((2, -4, 99, 4))


def test_twice_counts_any_rank_of_two_runs() -> None:
    a, b = straight_at(0.0, 1, front=2.0, rear=-1.0), straight_at(7.0, 2, front=2.0, rear=-1.0)
    states, again = ground([a, b], FIELD, EMPTY, EMPTY)
    assert_allclose(states.twice.area, 103 * 1.0, atol=1e-6)
    assert_allclose(again, 103.0, atol=1e-6)


def test_ground_covered_three_times_is_twice_once_and_again_twice() -> None:
    states, again = ground([straight_at(0.0, n) for n in (1, 2, 3)], FIELD, EMPTY, EMPTY)
    assert_allclose(states.twice.area, 800.0, atol=1e-6)
    assert_allclose(again, 1600.0, atol=1e-6)


def test_twice_and_again_count_only_inside_the_paddock() -> None:
    states, again = ground(
        [straight_at(0.0, 1), straight_at(0.0, 2)], box(0, -300, 50, 300), EMPTY, EMPTY
    )
    assert_allclose((states.twice.area, again), (400.0, 400.0), atol=1e-6)
    assert_allclose(states.outside.area, 400.0, atol=1e-6)


def loop(way: float) -> Poses:
    """Straight on, round a loop of that length, and over the same ground again."""
    return posed(straight(60) + turn(way / 2 / np.pi, 360) + straight(60), hz=4.0)


def test_a_run_that_crosses_itself_much_later_sows_twice() -> None:
    one = rolled(1, loop(200.0))
    states, again = ground([one], FIELD, EMPTY, EMPTY)
    # the loop's own start and end touch the straight there and back: twice, but little
    assert 8 * 8 < states.twice.area < 4 * 8 * 8
    assert again >= states.twice.area - 1e-6


def test_a_run_that_crosses_itself_at_once_does_not() -> None:
    # 25 m of loop at 2 m/s: 12 s, less than two widths of 16 m
    states, again = ground([rolled(1, loop(25.0), 16.0)], FIELD, EMPTY, EMPTY)
    assert states.twice.is_empty
    assert again == 0.0


def test_standing_long_and_going_on_is_no_second_visit() -> None:
    a, b = posed(straight(50)), posed(straight(50), at=(50.0, 0.0, 0.0), start_s=4000.0)
    joined = Poses(
        *(
            np.r_[getattr(a, n), getattr(b, n) + add]
            for n, add in (
                ("t_s", 0.0),
                ("x_m", 0.0),
                ("y_m", 0.0),
                ("heading_rad", 0.0),
                ("path_m", 50.0),
            )
        )
    )
    _, again = visited_again([rolled(1, joined)], FIELD)
    assert again == 0.0


@pytest.mark.parametrize("rounds", [1, 2, 4, 10])
def test_ground_again_is_never_less_than_ground_twice(rounds: int) -> None:
    states, again = ground([rolled(1, posed(turn(5.0, 360 * rounds), hz=4.0))], FIELD, EMPTY, EMPTY)
    assert again >= states.twice.area - 1e-6


def test_keep_outs_are_no_paddock_and_seed_in_them_is_neither_sown_nor_outside() -> None:
    hole = box(40, -10, 60, 10)
    states, _ = ground([straight_at(0.0, 1)], FIELD, hole, EMPTY)
    assert_allclose(states.net.area, 600 * 600 - 400, atol=1e-6)
    assert_allclose(states.sown.area, 640.0, atol=1e-6)
    assert states.outside.is_empty


def test_doubt_is_only_what_nothing_else_covered() -> None:
    unsure = replace(straight_at(0.0, 1), doubt=(box(90, -4, 130, 4),))
    states, _ = ground([unsure], FIELD, EMPTY, EMPTY)
    assert_allclose(states.doubt.area, 30 * 8, atol=1e-6)


def test_unreachable_ground_that_got_sown_is_sown() -> None:
    states, _ = ground([straight_at(0.0, 1)], FIELD, EMPTY, box(90, -10, 120, 10))
    assert_allclose(states.unreachable.area, 30 * 20 - 80, atol=1e-6)
    assert_allclose(states.sown.area, 800.0, atol=1e-6)


def test_a_strip_knows_where_its_ground_begins_and_ends() -> None:
    one = straight_at(0.0, 1, front=2.0, rear=-1.0)
    assert_allclose(one.begin.coords, [(-1, 4), (-1, -4)])
    assert_allclose(one.end.coords, [(102, 4), (102, -4)])
    assert strip(1, [], 0.0, 0.0, 8.0).begin.is_empty


def test_nothing_sown_leaves_everything_bare() -> None:
    states, again = ground([], FIELD, EMPTY, EMPTY)
    assert (states.sown.area, again) == (0.0, 0.0)
    assert_allclose(states.bare.area, FIELD.area)


def test_overlays_leave_no_lines_among_the_areas() -> None:
    mixed = shapely.intersection(box(0, 0, 1, 1), shapely.union(box(1, 0, 2, 1), box(0, 0, 0.5, 1)))
    assert polygons_of(mixed).geom_type == "Polygon"
    assert polygons_of(shapely.LineString([(0, 0), (1, 1)])).is_empty


def sown(parts: list[Step], rig: Rig) -> Tally:
    return find(log(drive(parts, hz=2.0)), paddock(FIELD), [rig], PLAIN)[0]


@pytest.mark.parametrize("rig", [RIGID, DRAGGED], ids=["rigid", "dragged"])
@pytest.mark.parametrize(
    "parts",
    [
        down() + turn(2.0, 3600) + up(),
        down() + turn(6.0, 360) + turn(6.0, -360) + up(),
        down() + straight(100) + turn(1.0, 180) + straight(100) + up(),
        down() + straight(0.5) + up() + straight(100),
    ],
    ids=["spin", "figure of eight", "back on itself", "no way at all"],
)
def test_the_areas_add_up_on_odd_drives(parts: list[Step], rig: Rig) -> None:
    t = sown(parts, rig)
    assert abs(sums(t)) < 1.0
    assert t.again_ha >= t.twice_ha - 1e-9
    assert t.sown_ha + t.part_ha <= t.swept_ha * 1.05 + 0.01


def test_swept_is_the_width_times_the_way_of_the_bars_middle() -> None:
    # an offset bar on a left turn goes the shorter way: (R − y0) θ (D, Pappus)
    rig = Rig("o", "mounted", Tool(8.0, offset_left_m=2.0))
    t = sown(down() + turn(40.0, 180) + up(), rig)
    assert_allclose(t.swept_ha * 1e4, 38 * np.pi * 8, rtol=2e-3)
    assert_allclose(t.sown_ha * 1e4, 38 * np.pi * 8, rtol=2e-3)


def test_a_rig_change_mid_run_changes_the_width() -> None:
    narrow = replace(RIGID, tool=Tool(4.0), from_ms=None)
    from drives import START_MS

    wide = replace(RIGID, from_ms=START_MS + 50_000)
    d = drive(down() + straight(200) + up())
    t, _ = find(log(d), paddock(FIELD), [narrow, wide], PLAIN)
    assert_allclose(t.sown_ha * 1e4, 100 * 4 + 100 * 8, atol=1.0)
    assert t.twice_ha * 1e4 < 0.1
