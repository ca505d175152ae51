"""Settling: what it finds, what it leaves alone, what it must not pull shut."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from unsown.core.cover import Poses
from unsown.core.drift import Heard, learn
from unsown.core.picture import Picture, Stretch
from unsown.core.samples import Samples, samples
from unsown.core.seams import seams
from unsown.core.settle import settle

WIDTH, SPACING, SPEED = 8.0, 7.7, 2.0


def gauss_markov(rng: np.random.Generator, n: int, sigma: float, tau: float) -> np.ndarray:
    keep = np.exp(-1 / tau)
    out = np.empty(n)
    out[0] = sigma * rng.standard_normal()
    kicks = sigma * np.sqrt(1 - keep**2) * rng.standard_normal(n)
    for i in range(1, n):
        out[i] = keep * out[i - 1] + kicks[i]
    return out


def day(
    sigma: float, tau: float, *, seed: int = 1, count: int = 24, left_out: int | None = None
) -> tuple[list[Stretch], np.ndarray]:
    """Up and back runs 600 m long at a fix a second, logged with a drift; and the drift north."""
    rng = np.random.default_rng(seed)
    whole = 330 * count
    drift = [gauss_markov(rng, whole, sigma, tau) for _ in range(2)]
    lanes = [k for k in range(count) if k != left_out]
    out, north = [], []
    for i, lane in enumerate(lanes):
        t = i * 330 + np.arange(301.0)
        way = np.arange(301.0) * SPEED
        steer = 0.15 * np.sin(way / 60 + lane)
        east, up = (d[t.astype(int)] for d in drift)
        x = way if lane % 2 == 0 else 600 - way
        heading = np.full(301, 0.0 if lane % 2 == 0 else np.pi)
        y = lane * SPACING + steer
        out.append(Stretch(i, 0, 0.0, 0.0, WIDTH, Poses(t, x + east, y + up, heading, way)))
        north.append(up)
    return out, np.array(north)


def sampled(stretches: list[Stretch]) -> Samples:
    return samples([(x.run, x.leg, x.middle_m, x.width_m, x.poses) for x in stretches])


def settled(stretches: list[Stretch], rate: float, boundary: bool = True) -> Picture:
    fence = box(-5, -4.1, 605, 23 * SPACING + 4.1) if boundary else None
    return settle(stretches, fence, white_m=0.05, rate=rate, draws=12, rng=np.random.default_rng(3))


def between_runs(picture: Picture) -> np.ndarray:
    """Sideways distance of each run's middle to the next, minus what it truly is, metres."""
    middles = [float(np.mean(x.poses.y_m[100:200])) for x in picture.stretches]
    return np.diff(middles) - SPACING


def test_gaps_without_drift_are_the_overlap_and_the_steering() -> None:
    stretches, _ = day(0.0, 60.0)
    s = sampled(stretches)
    rows = seams(s, s.x_m, s.y_m, 0.4)
    assert len(np.unique(rows.chain)) == 23
    assert_allclose(rows.gap_m.mean(), SPACING - WIDTH, atol=0.02)
    assert np.abs(rows.gap_m + 0.3).max() < 0.35


@pytest.mark.parametrize(("sigma", "tau"), [(0.65, 100.0), (1.5, 150.0)])
def test_size_and_time_of_the_drift_are_learned(sigma: float, tau: float) -> None:
    stretches, _ = day(sigma, tau)
    s = sampled(stretches)
    rows = seams(s, s.x_m, s.y_m, 0.6)
    found = learn(s, rows, Heard(0.05, sigma * np.sqrt(2 / tau)))
    assert 0.75 < found.sigma_m / sigma < 1.33
    assert 0.5 < found.tau_s / tau < 2.0


def test_settling_brings_neighbouring_runs_back_to_where_they_were() -> None:
    stretches, _ = day(1.1, 60.0)
    before = np.diff([float(np.mean(x.poses.y_m[100:200])) for x in stretches]) - SPACING
    picture = settled(stretches, 1.1 * np.sqrt(2 / 60))
    after = between_runs(picture)
    assert picture.info is not None
    assert np.std(after) < 0.35 * np.std(before)
    assert_allclose(picture.info["overlap_m"], 0.3, atol=0.1)


def test_a_survey_grade_picture_is_left_alone() -> None:
    stretches, _ = day(0.01, 100.0)
    picture = settled(stretches, 0.001)
    assert picture.info is None
    assert all(a is b for a, b in zip(picture.stretches, stretches, strict=True))


@pytest.mark.parametrize("seed", range(3))
def test_a_run_left_out_is_not_pulled_shut(seed: int) -> None:
    stretches, _ = day(1.1, 60.0, seed=seed, left_out=11)
    picture = settled(stretches, 1.1 * np.sqrt(2 / 60))
    gaps = between_runs(picture)
    assert int(np.argmax(gaps)) == 10
    assert_allclose(gaps[10], SPACING, atol=1.5)


def test_draws_are_those_of_the_seed_and_scatter_about_the_picture() -> None:
    stretches, _ = day(1.1, 60.0)
    a, b = (settled(stretches, 1.1 * np.sqrt(2 / 60)) for _ in range(2))
    assert_allclose(a.north_draws, b.north_draws, atol=1e-9)
    assert a.north_draws.shape == (12, len(a.samples))
    assert 0.1 < a.north_draws.std() < 1.5


def test_without_leave_to_move_the_picture_stays() -> None:
    stretches, _ = day(1.1, 60.0)
    picture = settle(
        stretches, None, white_m=0.1, rate=0.2, draws=3, rng=np.random.default_rng(1), move=False
    )
    assert picture.info is None
    assert picture.stretches == tuple(stretches)


def test_a_day_with_nothing_sown_settles_to_nothing() -> None:
    picture = settle([], None, white_m=0.1, rate=0.2, draws=3, rng=np.random.default_rng(1))
    assert picture.info is None
    assert picture.north_draws.shape == (3, 0)
