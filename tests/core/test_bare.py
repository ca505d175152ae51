"""Bare ground: which parts are patches, how wide and long they are, and of what kind."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from scipy.stats import norm
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from drives import PLAIN, RIGID, down, drive, log, paddock, straight, turn, up
from unsown.core.bare import (
    Shape,
    bounding_runs,
    call_of,
    kind_of,
    measure,
    parted,
    patches,
    strip_chance,
)
from unsown.core.cover import EMPTY
from unsown.core.day import find


def test_slivers_narrower_than_a_metre_twenty_are_no_patch() -> None:
    assert patches(box(0, 0, 100, 1.15)) == []
    assert len(patches(box(0, 0, 100, 1.25))) == 1


def test_patches_under_six_square_metres_are_not_listed() -> None:
    assert patches(box(0, 0, 2.3, 2.3)) == []
    assert len(patches(box(0, 0, 2.6, 2.6))) == 1


def test_a_neck_of_a_metre_parts_two_patches_and_its_own_ground_is_in_none() -> None:
    bare = shapely.union_all([box(0, 0, 10, 10), box(10, 4.5, 20, 5.5), box(20, 0, 30, 10)])
    found = patches(bare)
    assert len(found) == 2
    assert all(abs(p.area_m2 - 100) < 1.0 for p in found)


def test_patches_come_largest_first_and_lie_inside_the_bare_ground() -> None:
    bare = MultiPolygon([box(0, 0, 5, 5), box(20, 0, 40, 10), Polygon([(60, 0), (90, 0), (60, 9)])])
    found = patches(bare)
    assert [p.area_m2 for p in found] == sorted((p.area_m2 for p in found), reverse=True)
    assert all(p.outline.difference(bare.buffer(1e-6)).area < 1e-6 for p in found)
    assert patches(EMPTY) == []


@pytest.mark.parametrize(("width", "length"), [(2.0, 50.0), (3.0, 12.0), (8.4, 620.0)])
def test_a_rectangle_is_measured_as_itself(width: float, length: float) -> None:
    assert_allclose(measure(box(0, 0, length, width)), (width, length), rtol=1e-9)


def test_a_bent_strip_is_measured_along_its_bend() -> None:
    bend = LineString([(0, 0), (40, 0), (40, 60)]).buffer(1.5, cap_style="flat", join_style="mitre")
    width, length = measure(bend)
    assert_allclose((width, length), (3.0, 100.0), rtol=0.02)


def test_a_shape_rounder_than_a_square_is_measured_as_a_square() -> None:
    width, length = measure(Point(0, 0).buffer(10))
    assert width == length
    assert_allclose(width**2, np.pi * 100, rtol=0.01)


def shape(outline: Polygon) -> Shape:
    return Shape(outline, outline.area, *measure(outline))


FENCE = LineString([(0, 0), (300, 0), (300, 200), (0, 200), (0, 0)])
BARS = MultiPolygon([box(99, 96, 100, 104)])
ELSEWHERE = MultiPolygon([box(-900, 0, -899, 1)])


@pytest.mark.parametrize(
    ("outline", "obstacles", "starts", "finishes", "kind"),
    [
        (box(100, 90, 110, 95), box(105, 95, 120, 110), ELSEWHERE, ELSEWHERE, "pocket"),
        (box(0, 0, 280, 2), EMPTY, ELSEWHERE, ELSEWHERE, "edge"),
        (box(0, 0, 8, 8), EMPTY, ELSEWHERE, ELSEWHERE, "corner"),
        (box(100, 95, 112, 103), EMPTY, BARS, ELSEWHERE, "start"),
        (box(100, 95, 112, 103), EMPTY, ELSEWHERE, BARS, "finish"),
        (box(100, 95, 112, 103), EMPTY, BARS, BARS, "corner"),
        (box(50, 100, 250, 103), EMPTY, ELSEWHERE, ELSEWHERE, "strip"),
        (box(150, 100, 160, 110), EMPTY, ELSEWHERE, ELSEWHERE, "pocket"),
    ],
)
def test_the_kind_of_a_patch_goes_by_what_it_touches(
    outline: Polygon, obstacles: Polygon, starts: object, finishes: object, kind: str
) -> None:
    assert kind_of(shape(outline), FENCE, obstacles, starts, finishes, 8.0) == kind


def test_calls_change_at_nine_and_six_tenths() -> None:
    words = [call_of(c) for c in (1.0, 0.9, 0.899, 0.6, 0.599, 0.0)]
    assert words == ["sure", "sure", "likely", "likely", "can't tell", "can't tell"]


def strip(width_m: float, length_m: float = 400.0) -> Shape:
    return shape(box(0, 0, length_m, width_m))


def test_a_long_strip_is_believed_as_far_as_it_is_wider_than_the_drift() -> None:
    chances = [strip_chance(strip(w), 1.5, 9.0) for w in (0.3, 2.0, 3.2, 3.8, 8.0)]
    assert chances == sorted(chances)
    assert chances[0] < 0.01
    assert chances[-1] > 0.99
    # Bayes' rule with the densities themselves: a gap of any size up to 9 m, against drift
    furrow, drift = 0.01 / 9.0, 0.99 * norm.pdf(2.9, scale=0.9)
    assert_allclose(chances[2], furrow / (furrow + drift), rtol=1e-9)


def test_short_patches_and_unsettled_days_are_not_held_down() -> None:
    assert strip_chance(strip(1.5, 20), 2.0, 9.0) == 1.0
    assert strip_chance(strip(1.5), 0.0, 9.0) == 1.0


def test_a_corner_that_hangs_on_a_long_strip_is_a_patch_of_its_own() -> None:
    both = shapely.union_all([box(0, 0, 200, 2), box(200, -5, 210, 7)])
    (whole,) = patches(both)
    corner, seam = sorted(parted([whole], 9.0), key=lambda p: p.length_m)
    assert_allclose(corner.area_m2, 120.0, rtol=0.03)
    assert corner.width_m > 9.0
    assert_allclose((seam.width_m, seam.length_m), (2.0, 200.0), rtol=0.03)
    assert corner.outline.intersection(seam.outline).area < 1e-6
    assert_allclose(corner.area_m2 + seam.area_m2, whole.area_m2, rtol=0.01)


def test_two_corners_that_a_strip_joins_are_three_patches() -> None:
    ends = [box(-30, -12, 0, 14), box(200, -12, 230, 14)]
    (whole,) = patches(shapely.union_all([*ends, box(0, 0, 200, 2)]))
    assert whole.width_m > 9.0 / 2  # on the whole it is no strip
    first, second, seam = parted([whole], 9.0)
    assert_allclose((first.area_m2, second.area_m2), (780.0, 780.0), rtol=0.03)
    assert_allclose((seam.width_m, seam.length_m), (2.0, 200.0), rtol=0.03)


def test_an_even_strip_a_short_patch_and_a_missed_run_stay_whole() -> None:
    lame = shapely.union_all([box(0, 0, 40, 2), box(40, -5, 50, 7)])
    for outline in (
        box(0, 0, 300, 2),
        lame,
        shapely.union_all([box(0, 0, 200, 8), box(200, -9, 230, 17)]),
    ):
        whole = patches(outline)
        assert parted(whole, 9.0) == whole


def test_no_strips_bound_no_patch() -> None:
    assert bounding_runs([box(0, 0, 1, 1)], []) == [[]]


def test_a_missed_run_is_one_patch_with_its_neighbours_named() -> None:
    parts = down() + straight(200) + up() + turn(8, 180) + down() + straight(200) + up()
    ground = paddock(box(0, -4, 200, 20))
    t, _ = find(log(drive(parts)), ground, [RIGID], PLAIN)
    (patch,) = t.patches
    assert_allclose(patch.area_m2, 1600, rtol=0.01)
    assert_allclose((patch.width_m, patch.length_m), (8.0, 200.0), rtol=0.02)
    assert patch.runs == (1, 2)


def test_an_early_lift_and_a_late_drop_leave_a_patch_each() -> None:
    lane = drive(down() + straight(80) + up(), at=(60.0, 0.0, 0.0))
    t, _ = find(log(lane), paddock(box(40, -4, 165, 4)), [RIGID], PLAIN)
    finish, start = t.patches
    assert_allclose((start.area_m2, finish.area_m2), (20 * 8, 25 * 8), rtol=0.02)
    assert start.place.x < finish.place.x
