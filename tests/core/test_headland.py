"""A headland lap that is not in the picture: what lies outside it must not be drawn into its place.

Runs are lifted where the last lap's ground begins. Where that lap is in doubt, or was driven with
the tool up, they keep a whole width away from the lap before it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.testing import assert_allclose
from shapely.geometry import box

from core.test_settle import SPACING, SPEED, WIDTH, gauss_markov, sampled
from core.test_settle import day as straight_runs
from soak.judge import brought, shares
from unsown.core.cover import Poses
from unsown.core.day import find
from unsown.core.edges import fence
from unsown.core.picture import Stretch
from unsown.core.settle import settle
from unsown.demo import demo_day
from unsown.sim.day import SimDay

RUNS, FAR_M = 32, 500.0
HIGH_M = RUNS * SPACING + 0.3
#: Where the middles of two laps run, from the fence, and the inner edge of the second, m.
LAPS = (0.1 + WIDTH / 2, 0.1 + WIDTH / 2 + SPACING)
INNER_M = LAPS[1] + WIDTH / 2
#: Runs, in the order driven: the laps along the right fence.
OUTER, INNER = 1, 3


def day(seed: int) -> list[Stretch]:
    """Two laps along the left and the right fence, then runs up and back between them."""
    ways = []
    for lap in LAPS:
        ways.append(((lap, HIGH_M), (lap, 0.0)))
        ways.append(((FAR_M - lap, 0.0), (FAR_M - lap, HIGH_M)))
    for k in range(RUNS):
        y = 0.1 + WIDTH / 2 + k * SPACING
        ends = ((INNER_M, y), (FAR_M - INNER_M, y))
        ways.append((ends[k % 2], ends[1 - k % 2]))
    rng = np.random.default_rng(seed)
    drift = [gauss_markov(rng, 60 * 400, 1.1, 60.0) for _ in range(2)]
    out, now = [], 0
    for run, (a, b) in enumerate(np.asarray(ways)):
        way = np.arange(0.0, np.hypot(*(b - a)), SPEED)
        t = now + np.arange(len(way))
        now = int(t[-1]) + 40
        east, north = (d[t] for d in drift)
        heading = np.full(len(way), np.arctan2(b[1] - a[1], b[0] - a[0]))
        x, y = a[0] + way * np.cos(heading) + east, a[1] + way * np.sin(heading) + north
        out.append(Stretch(run, 0, 0.0, 0.0, WIDTH, Poses(t.astype(float), x, y, heading, way)))
    return out


def outer_lap_m(stretches: list[Stretch]) -> float:
    """How far to the right the first lap along the right fence lies, settled."""
    rate = 1.1 * np.sqrt(2 / 60)
    rng = np.random.default_rng(3)
    picture = settle(stretches, None, white_m=0.05, rate=rate, draws=0, rng=rng)
    return float(next(s.poses.x_m.mean() for s in picture.stretches if s.run == OUTER))


def test_a_headland_lap_that_is_left_out_draws_the_one_outside_it_nowhere() -> None:
    moved = []
    for seed in range(4):
        whole = day(seed)
        some = [s for s in whole if s.run != INNER]
        moved.append(outer_lap_m(some) - outer_lap_m(whole))
    assert_allclose(np.mean(moved), 0.0, atol=0.5)


def test_a_second_lap_that_drifted_beside_the_first_is_not_taken_for_it() -> None:
    first, second = straight_runs(0.0, 60.0, count=2)[0]
    y = second.poses.y_m - SPACING + 0.37 * WIDTH
    drifted = replace(second, poses=replace(second.poses, y_m=y))
    field = box(-5.0, -WIDTH / 2 - 0.1, 605.0, 400.0)
    rows = fence(sampled([first, drifted]), field, 0.45)
    assert len(rows) > 20
    assert set(rows.who[:, 0]) <= set(np.flatnonzero(sampled([first, drifted]).run == first.run))


def sure_and_sown(made: SimDay) -> list[tuple[int, float]]:
    """Sure patches of a day of which not half is bare, with the part that is."""
    tally, plane = find(made.log, made.paddock, [made.rig])
    outlines = brought([p.outline for p in tally.patches], plane, made.plane)
    real = shares(outlines, made.truth.bare)
    assert sum(p.call == "sure" for p in tally.patches) > 10
    return [
        (p.number, float(part))
        for p, part in zip(tally.patches, real, strict=True)
        if p.call == "sure" and part < 0.5
    ]


def test_nobody_is_sent_to_sown_ground_beside_the_demo_days_forgotten_tap() -> None:
    assert sure_and_sown(demo_day()) == []
