"""The boundary from a driven lap: its area, its corners, and what nothing can reach."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from shapely.geometry import Polygon, box

from drives import PLAIN, RIGID, Step, drive, headland, log, runs, straight, sums, turn, up
from unsown.core.day import find
from unsown.core.errors import DayError
from unsown.core.lap import Lap, first_lap
from unsown.core.words import Paddock

WIDTH, CLEAR = 8.4, 0.5


def inside(shape: Polygon, radius: float, way: str = "anticlockwise") -> np.ndarray:
    """The bar's middle on a lap inside a fence: half a width and a clearance off, corners round."""
    path = shape.buffer(-WIDTH / 2 - CLEAR, join_style="mitre")
    path = path.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=32)
    line = shapely.segmentize(path, 2.0).exterior
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(Polygon(line)).exterior)
    start = int(np.argmin(ring[:, 1] + 0.01 * np.abs(ring[:, 0] - ring[:, 0].mean())))
    ring = np.roll(ring[:-1], -start, axis=0)
    ring = np.vstack([ring, ring[:1]])
    return ring if way == "anticlockwise" else ring[::-1]


def lapped(points: np.ndarray, clear: float = CLEAR) -> Lap:
    way = np.r_[0.0, np.cumsum(np.hypot(*np.diff(points, axis=0).T))]
    return first_lap(way / 2.0, points[:, 0], points[:, 1], WIDTH, clear)


SHAPES = {
    "rectangle": box(0, 0, 800, 400),
    "oblique": Polygon([(0, 0), (700, 0), (785, 400), (0, 400)]),
    "L": Polygon([(0, 0), (800, 0), (800, 300), (350, 320), (350, 700), (0, 700)]),
    "wedge": Polygon([(0, 0), (900, 0), (900, 200), (0, 500)]),
    "round end": Polygon(
        [
            (0, 0),
            *[
                (600 + 200 * np.cos(a), 200 + 200 * np.sin(a))
                for a in np.linspace(-np.pi / 2, np.pi / 2, 60)
            ],
            (0, 400),
        ]
    ),
}


@pytest.mark.parametrize("way", ["anticlockwise", "clockwise"])
@pytest.mark.parametrize("radius", [9.0, 12.0])
@pytest.mark.parametrize("name", SHAPES)
def test_a_lap_gives_the_area_inside_the_fence_to_eight_in_a_thousand(
    name: str, radius: float, way: str
) -> None:
    shape = SHAPES[name]
    lap = lapped(inside(shape, radius, way))
    assert_allclose(lap.fence.area, shape.area, rtol=0.002)  # asked: 0.008
    assert lap.fence.symmetric_difference(shape).area < 0.004 * shape.area


@pytest.mark.parametrize(("radius", "corner"), [(9.0, 37.4), (12.0, 56.3)])
def test_a_right_corner_out_of_reach_is_the_square_less_the_quarter_disc(
    radius: float, corner: float
) -> None:
    # (1 − π/4)(R + W/2)² = 37.39 m² at 9 m and 56.32 m² at 12 m, W = 8.4 (D); the job paper
    # prints 37 and 56
    assert_allclose((1 - np.pi / 4) * (radius + WIDTH / 2) ** 2, corner, atol=0.05)
    lap = lapped(inside(box(0, 0, 800, 400), radius), clear=0.0)
    # with no clearance the paddock is smaller all round by 0.5 m: the corners are the same
    assert_allclose(lap.unreachable.area, 4 * corner, rtol=0.05)
    assert len(shapely.get_parts(lap.unreachable)) == 4


def test_the_clearance_is_out_of_reach_too() -> None:
    lap = lapped(inside(box(0, 0, 800, 400), 9.0))
    around = 2 * (800 + 400) * CLEAR
    assert_allclose(lap.unreachable.area, around + 4 * 37.4, rtol=0.05)


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 163])
def test_turning_the_lap_turns_the_fence(angle: float) -> None:
    from shapely import affinity

    flat = lapped(inside(SHAPES["L"], 9.0))
    turned = lapped(inside(affinity.rotate(SHAPES["L"], angle, origin=(0, 0)), 9.0))
    assert_allclose(turned.fence.area, flat.fence.area, rtol=1e-3)


def test_what_is_driven_after_the_lap_does_not_matter() -> None:
    ring = inside(SHAPES["rectangle"], 9.0)
    more = np.column_stack([np.linspace(ring[-1, 0], 300, 50), np.linspace(ring[-1, 1], 200, 50)])
    assert_allclose(lapped(np.vstack([ring, more])).fence.area, lapped(ring).fence.area, rtol=1e-3)


@pytest.mark.parametrize("short", [5.0, 12.0])
def test_a_lap_may_stop_short_of_its_start_by_less_than_two_widths(short: float) -> None:
    ring = inside(SHAPES["rectangle"], 9.0)
    way = np.r_[0.0, np.cumsum(np.hypot(*np.diff(ring, axis=0).T))]
    lap = lapped(ring[way <= way[-1] - short])
    assert_allclose(lap.fence.area, 800 * 400, rtol=0.002)


@pytest.mark.parametrize(
    "points",
    [
        inside(SHAPES["rectangle"], 9.0)[:200],
        np.column_stack([np.arange(0, 900.0), np.zeros(900)]),
        inside(box(0, 0, 70, 60), 9.0),
        np.zeros((50, 2)),
    ],
    ids=["open", "straight", "too short", "standing"],
)
def test_a_way_that_is_no_lap_is_refused_with_what_to_do(points: np.ndarray) -> None:
    with pytest.raises(DayError) as refused:
        lapped(points)
    assert refused.value.code == "lap-open"
    assert refused.value.hint


def test_a_lap_that_crosses_itself_at_its_seam_is_still_one_paddock() -> None:
    ring = inside(SHAPES["rectangle"], 9.0)
    over = np.vstack([ring[:-1], ring[:30] + np.array([0.0, 1.0])])
    assert_allclose(lapped(over).fence.area, 800 * 400, rtol=0.004)


@pytest.mark.parametrize("hand", [1, -1])
def test_a_day_without_a_paddock_file_takes_its_boundary_from_the_lap(hand: int) -> None:
    parts: list[Step] = headland(300.0, 200.0, 10.0) + straight(20) + up()
    parts += turn(15, 90) + straight(20) + runs(2, 100.0, 6.0)
    if hand < 0:
        parts = [Step(p.metres, -p.turn_rad, p.seconds, p.lever) for p in parts]
    t, _ = find(log(drive(parts)), Paddock("", None), [RIGID], PLAIN)
    want = (300 + 8 + 1) * (200 + 8 + 1) / 1e4
    assert_allclose(t.net_ha, want, rtol=0.003)
    assert t.unreachable_ha > 0
    assert abs(sums(t)) < 1.0
    assert any("first lap" in note for note in t.notes)
