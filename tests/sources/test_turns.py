"""Turns and sweeps against published and closed-form values.

DU1: Dubins.jl, test/test1.jl (kaarthiksundar), read in the source. DU2 to DU7: closed forms of
Shkel and Lumelsky 2001, from memory, computed apart. DU8 to DU13: headland turns of Bochtis and
Vougioukas 2008 and Jin and Tang 2010, forms from memory, computed apart.
"""

from __future__ import annotations

from math import acos, asin, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from unsown.core.dubins import dubins


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
