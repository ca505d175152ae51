"""Turns and sweeps against published and closed-form values.

DU1: Dubins.jl, test/test1.jl (kaarthiksundar), read in the source. DU2 to DU7: closed forms of
Shkel and Lumelsky 2001, from memory, computed apart. DU8 to DU13: headland turns of Bochtis and
Vougioukas 2008 and Jin and Tang 2010, forms from memory, computed apart. SW: narrowest widths.
"""

from __future__ import annotations

from math import acos, asin, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from unsown.core.dubins import dubins
from unsown.core.headland import fishtail, turn
from unsown.core.narrow import narrowest, runs_across


@pytest.mark.parametrize(
    ("start", "end", "radius", "length", "word", "tolerance"),
    [
        ((0, 0, 0), (5, 0, 3.0), 1, 8.2725193250, "RSL", 1e-8),  # DU1, printed as 8.2725
        ((0, 0, 0), (4, 0, 0), 1, 4.0, None, 1e-12),
        ((0, 0, 0), (4, 4, pi / 2), 1, 5.8134370139, "LSL", 1e-9),
        ((0, 0, 0), (4, 4, pi), 1, 7.6137286086, "LSL", 1e-9),
        ((0, 0, 0), (0, 4, 0), 1, 2 * pi, None, 1e-9),
        ((1, 1, pi / 4), (-3, 1, -pi / 4), 2, 10.5963508360, "LSL", 1e-9),
    ],
)
def test_the_shortest_way_is_as_long_as_published(
    start: tuple[float, float, float],
    end: tuple[float, float, float],
    radius: float,
    length: float,
    word: str | None,
    tolerance: float,
) -> None:
    way = dubins(start, end, radius)
    assert way.length_m == pytest.approx(length, abs=tolerance)
    assert word is None or way.word == word


@pytest.mark.parametrize("spacing", [24.0, 20.0])
def test_a_wide_turn_to_another_run_is_two_quarters_and_a_straight(spacing: float) -> None:
    r = 10.0
    way = dubins((0, 0, pi / 2), (spacing, 0, -pi / 2), r)
    assert way.length_m == pytest.approx(pi * r + spacing - 2 * r, abs=1e-9)
    depth = way.poses(0.01)[:, 1].max()
    assert depth == pytest.approx(r, abs=1e-4)  # DU13: beyond the row's end


@pytest.mark.parametrize(
    ("r", "w", "printed"),
    [
        (10, 12, 57.1559708876),
        (10, 18, 44.1183437076),
        (8, 12, 41.3042775578),
        (15, 18, 85.7339563314),
        (15, 12, 94.8478196149),
        (10, 0, 73.3038285838),
    ],
)
def test_a_bulb_turn_to_a_near_run_is_as_long_as_its_closed_form(
    r: float, w: float, printed: float
) -> None:
    way = dubins((0, 0, pi / 2), (w, 0, -pi / 2), r)
    assert way.length_m == pytest.approx(r * (3 * pi - 4 * asin((2 * r + w) / (4 * r))), abs=1e-8)
    assert way.length_m == pytest.approx(printed, abs=1e-8)
    assert way.word in ("LRL", "RLR")


@pytest.mark.parametrize(
    ("r", "w", "depth"), [(10, 12, 22.0), (10, 18, 16.2449979984), (15, 18, 33.0)]
)
def test_a_bulb_turn_reaches_as_deep_as_its_closed_form(r: float, w: float, depth: float) -> None:
    poses = dubins((0, 0, pi / 2), (w, 0, -pi / 2), r).poses(0.005)
    assert poses[:, 1].max() == pytest.approx(depth, abs=1e-4)
    assert depth == pytest.approx(r + 2 * r * np.sin(acos((w + 2 * r) / (4 * r))), abs=1e-8)


@pytest.mark.parametrize(
    ("r", "w", "length", "depth"),
    [
        (10, 24, 35.4159265359, 10.0),  # DU8, DU13
        (10, 20, 31.4159265359, 10.0),  # DU9
        (10, 12, 57.1559708876, 22.0),  # DU10, DU13
        (10, 18, 44.1183437076, 16.2449979984),
        (15, 18, 85.7339563314, 33.0),
        (10, 0, 73.3038285838, 10 + 20 * np.sin(pi / 3)),  # DU11
    ],
)
def test_a_turn_by_its_closed_form_is_the_shortest_way(
    r: float, w: float, length: float, depth: float
) -> None:
    made = turn(r, w)
    assert made.length_m == pytest.approx(length, abs=1e-8)
    assert made.depth_m == pytest.approx(depth, abs=1e-8)
    assert made.kind == ("half circle" if w >= 2 * r else "loop")
    assert made.length_m == pytest.approx(dubins((0, 0, pi / 2), (w, 0, -pi / 2), r).length_m)


@pytest.mark.parametrize(
    ("r", "w", "length"),
    [(10, 12, 39.4159265359), (10, 18, 33.4159265359), (15, 12, 65.1238898038)],
)
def test_a_fishtail_is_two_quarters_and_the_way_back_between(
    r: float, w: float, length: float
) -> None:
    made = fishtail(r, w)  # DU12
    assert made.length_m == pytest.approx(length, abs=1e-8)
    assert made.length_m == pytest.approx(pi * r + (2 * r - w))
    assert made.depth_m == r
    assert made.length_m < turn(r, w).length_m


@pytest.mark.parametrize(
    ("corners", "width", "along"),
    [
        ([(0, 0), (800, 0), (800, 400), (0, 400)], 400.0, 0.0),  # SW2
        ([(0, 0), (400, 0), (0, 300)], 240.0, -np.degrees(np.arctan(0.75))),  # SW3
        ([(0, 0), (600, 0), (300, 300 * np.sqrt(3))], 519.6152422706, None),  # SW4
        ([(0, 0), (1000, 0), (800, 300), (200, 300)], 300.0, 0.0),  # SW5
    ],
)
def test_runs_go_along_the_edge_across_which_the_ground_is_narrowest(
    corners: list[tuple[float, float]], width: float, along: float | None
) -> None:
    # SW1: Huang, ICRA 2001, from memory; widths are geometry
    found, heading = narrowest(Polygon(corners))
    assert found == pytest.approx(width, abs=1e-9)
    if along is not None:
        assert np.sin(heading - np.radians(along)) == pytest.approx(0.0, abs=1e-12)


def test_a_rectangle_takes_fewest_runs_along_its_long_side() -> None:
    # SW2: 800 x 400 m with 12 m: 34 runs, 67 the other way
    assert runs_across(narrowest(Polygon([(0, 0), (800, 0), (800, 400), (0, 400)]))[0], 12) == 34
    assert runs_across(800, 12) == 67
    # SW5: along a slanting side of the trapezium it is 832.05 m wide
    slant = np.array([-200.0, 300.0]) / np.hypot(200, 300)
    aside = [slant[0] * y - slant[1] * x for x, y in [(0, 0), (1000, 0), (800, 300), (200, 300)]]
    assert max(aside) - min(aside) == pytest.approx(832.0502943378, abs=1e-9)


PLACE = st.floats(-80, 80)
ANGLE = st.floats(-pi, pi)


@given(PLACE, PLACE, ANGLE, PLACE, PLACE, ANGLE, st.floats(1, 20))
def test_every_way_ends_where_it_should_and_is_no_longer_backwards(
    x: float, y: float, h: float, x2: float, y2: float, h2: float, r: float
) -> None:
    way = dubins((x, y, h), (x2, y2, h2), r)
    last = way.poses(0.5)[-1]
    assert np.hypot(last[0] - x2, last[1] - y2) < 1e-6 * (1 + way.length_m)
    assert abs((last[2] - h2 + pi) % (2 * pi) - pi) < 1e-6
    back = dubins((x2, y2, h2 + pi), (x, y, h + pi), r)
    assert back.length_m == pytest.approx(way.length_m, rel=1e-7, abs=1e-6)
    assert way.length_m >= np.hypot(x2 - x, y2 - y) - 1e-6
