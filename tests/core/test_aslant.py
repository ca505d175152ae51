"""Runs that meet their headland aslant: where they are lifted must not pass for drift."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import Polygon

from core.test_settle import SPACING, SPEED, WIDTH, gauss_markov
from unsown.core.cover import Poses
from unsown.core.picture import Picture, Stretch
from unsown.core.settle import settle

RUNS, FAR_M = 32, 600.0
HIGH_M = RUNS * SPACING + 0.3
#: The right hand fence leans by 45°: x + y is the same all along it.
FENCE = Polygon([(0, 0), (FAR_M, 0), (FAR_M - HIGH_M, HIGH_M), (0, HIGH_M)])
#: Where the middles of two laps run, from the fence, and the inner edge of the second, m.
LAPS, INNER_M = (4.1, 4.1 + SPACING), 4.1 + SPACING + WIDTH / 2
ROOT = np.sqrt(2.0)


def day(past_m: float, seed: int) -> tuple[list[Stretch], np.ndarray]:
    """Two laps along the left and the leaning fence, then runs up and back between them.

    Runs go ``past_m`` past where their middle meets the leaning headland. With the place from west
    to east at which each stretch's middle pose truly was.
    """
    ways = []
    for lap in LAPS:
        low, high = np.array([FAR_M - lap * ROOT, 0.0]), np.array([FAR_M - HIGH_M, HIGH_M])
        ways.append((low, high - (lap * ROOT, 0.0)))
        ways.append((np.array([lap, HIGH_M]), np.array([lap, 0.0])))
    for k in range(RUNS):
        y = WIDTH / 2 + 0.1 + k * SPACING
        left, right = (INNER_M, y), (FAR_M - y - INNER_M * ROOT + past_m, y)
        ends = [np.array(left), np.array(right)]
        ways.append((ends[k % 2], ends[1 - k % 2]))
    rng = np.random.default_rng(seed)
    drift = [gauss_markov(rng, 60 * 400, 1.1, 60.0) for _ in range(2)]
    out, middles, now = [], [], 0
    for run, (a, b) in enumerate(ways):
        length = float(np.hypot(*(b - a)))
        way = np.arange(0.0, length, SPEED)
        t = now + np.arange(len(way))
        now = int(t[-1]) + 40
        east, north = (d[t] for d in drift)
        heading = np.full(len(way), np.arctan2(b[1] - a[1], b[0] - a[0]))
        x, y = a[0] + way * np.cos(heading), a[1] + way * np.sin(heading)
        y = y + 0.1 * np.sin(way / 60 + run)
        poses = Poses(t.astype(float), x + east, y + north, heading, way)
        out.append(Stretch(run, 0, 0.0, 0.0, WIDTH, poses))
        middles.append(x[len(x) // 2])
    return out, np.asarray(middles)


def settled(stretches: list[Stretch]) -> Picture:
    rate = 1.1 * np.sqrt(2 / 60)
    rng = np.random.default_rng(3)
    return settle(stretches, FENCE, white_m=0.05, rate=rate, draws=0, rng=rng)


@pytest.mark.parametrize("past_m", [WIDTH / 2, 0.0], ids=["last outer end", "middle"])
def test_a_headland_met_aslant_moves_nothing_wherever_the_driver_lifts(past_m: float) -> None:
    along = []
    for seed in range(4):
        stretches, middles = day(past_m, seed)
        picture = settled(stretches)
        assert picture.info is not None
        inner = picture.stretches[2].poses
        from_fence = (FAR_M - inner.x_m - inner.y_m) / ROOT
        assert_allclose(from_fence.mean(), LAPS[1], atol=0.35)
        lie = [s.poses.x_m[len(s.poses.x_m) // 2] for s in picture.stretches]
        along.append(np.mean((np.asarray(lie) - middles)[2 * len(LAPS) :]))
    assert abs(np.mean(along)) < 0.6, along
