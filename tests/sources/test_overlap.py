"""The whole-paddock overlap table of a published study, rebuilt from strips.

Study of the Alberta AgTech Centre reported in Grainews, 20 April 2009: a half-mile square
(160 ac), a 55 ft seeder, overlaps of 0 to 5 ft, two headland rounds at each end. The printed
figures are read in the source; the rule that reproduces every one of them is stated in the
code below (A+D). OV1, and what it costs: OV2, in the same article.
"""

from __future__ import annotations

from math import ceil

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from unsown.core.cover import EMPTY, Poses, Strip, ground, strip, visited_again
from unsown.core.price import Prices
from unsown.core.waste import cost

FOOT_M = 0.3048
ACRE_HA = 0.40468564224
ACRE_FT2 = 43_560.0
SIDE_FT, WIDTH_FT = 2640.0, 55.0


def lane(number: int, x0: float, y0: float, x1: float, y1: float) -> Strip:
    """One pass from one point to another, feet, a pose every 40 ft or so."""
    n = 2 + int(np.hypot(x1 - x0, y1 - y0) / 40)
    x, y = np.linspace(x0, x1, n) * FOOT_M, np.linspace(y0, y1, n) * FOOT_M
    way = np.hypot(x - x[0], y - y[0])
    t = number * 10_000.0 + way / 2.0
    heading = np.full(n, np.arctan2(y1 - y0, x1 - x0))
    return strip(number, [Poses(t, x, y, heading, way)], 0.0, 0.0, WIDTH_FT * FOOT_M)


def acres(area_m2: float) -> float:
    return area_m2 / FOOT_M**2 / ACRE_FT2


SQUARE = box(0, 0, SIDE_FT * FOOT_M, SIDE_FT * FOOT_M)
TABLE = [
    (0, 48, 2420, 0.0, 0.0, 0.0),
    (1, 49, 2424, 116_352.0, 5_280.0, 2.7922865),
    (2, 50, 2428, 237_944.0, 10_560.0, 5.70486685),
    (3, 51, 2432, 364_800.0, 15_840.0, 8.73829201),
    (4, 52, 2436, 496_944.0, 21_120.0, 11.8931129),
    (5, 53, 2440, 634_400.0, 26_400.0, 15.1698806),
]


@pytest.mark.parametrize(("overlap", "passes", "run", "field", "ends", "total"), TABLE)
def test_ground_sown_twice_is_what_the_study_printed(
    overlap: float, passes: int, run: float, field: float, ends: float, total: float
) -> None:
    pitch = WIDTH_FT - overlap
    assert ceil(SIDE_FT / pitch) == passes
    assert SIDE_FT - 4 * pitch == run
    half = WIDTH_FT / 2
    lanes = [
        lane(i, 2 * pitch, i * pitch + half, SIDE_FT - 2 * pitch, i * pitch + half)
        for i in range(passes)
    ]
    rounds = [
        lane(100 + i, x, 0.0, x, SIDE_FT)
        for i, x in enumerate((half, half + pitch, SIDE_FT - half - pitch, SIDE_FT - half))
    ]
    twice_field, again_field = visited_again(lanes, SQUARE)
    twice_ends, again_ends = visited_again(rounds, SQUARE)
    assert_allclose(acres(twice_field.area), field / ACRE_FT2, atol=1e-6)
    assert_allclose(acres(twice_ends.area), ends / ACRE_FT2, atol=1e-6)
    assert_allclose(acres(again_field + again_ends), total, atol=1e-6)


@pytest.mark.parametrize(
    ("crop", "per_acre", "printed"),
    [
        ("canola", 86.44, [241.37, 493.13, 755.34, 1028.04, 1311.28]),
        ("durum", 78.26, [218.52, 446.46, 683.86, 930.76, 1187.19]),
        ("barley", 69.29, [193.48, 395.29, 605.48, 824.07, 1051.12]),
    ],
)
def test_ground_sown_twice_costs_what_the_study_printed(
    crop: str, per_acre: float, printed: list[float]
) -> None:
    # everything an acre costs as seed at one kilogram; no fuel and no time of their own
    per_ha = per_acre / ACRE_HA
    prices = Prices(1.0, per_ha, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0)
    for (*_, acres_), money in zip(TABLE[1:], printed, strict=True):
        spent = cost(acres_ * ACRE_HA, prices, 4.4)
        assert spent.money == pytest.approx(money, abs=0.011), crop


def test_the_square_is_sown_whole_and_the_runs_also_overlap_the_headland() -> None:
    # the study counts no overlap of runs with the headland; here it is 2 · 2640 · o besides,
    # of which the (passes − 1) seams are covered by three strips (D, rectangles)
    overlap, passes = 3.0, 51
    pitch, half = WIDTH_FT - overlap, WIDTH_FT / 2
    lanes = [
        lane(i, 2 * pitch, i * pitch + half, SIDE_FT - 2 * pitch, i * pitch + half)
        for i in range(passes)
    ]
    rounds = [
        lane(100 + i, x, 0.0, x, SIDE_FT)
        for i, x in enumerate((half, half + pitch, SIDE_FT - half - pitch, SIDE_FT - half))
    ]
    states, again = ground([*lanes, *rounds], SQUARE, EMPTY, EMPTY)
    assert_allclose(acres(states.sown.area), 160.0, atol=1e-6)
    assert_allclose(states.bare.area, 0.0, atol=1e-6)
    seams = 2 * SIDE_FT * overlap
    assert_allclose(acres(again), (364_800.0 + 15_840.0 + seams) / ACRE_FT2, atol=1e-6)
    triple = 2 * (passes - 1) * overlap**2
    assert_allclose(acres(states.twice.area), acres(again) - triple / ACRE_FT2, atol=1e-6)
