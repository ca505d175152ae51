"""Receivers err as their presets say, in size and in time."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core.errors import TrackError
from unsown.core.words import Floats
from unsown.sim.receiver import PRESETS, Preset, accuracy, errors, preset
from unsown.sim.steer import gauss_markov, waver

DRIFTING = ("rtk", "good", "typical", "poor", "slow")


def many(size: Preset, n: int = 300, length: int = 600) -> Floats:
    """Errors east of many days, (n, length), bursts left out."""
    quiet = Preset(size.white_m, size.drift_m, size.drift_s, size.bias_m)
    return np.array([errors(np.random.default_rng(i), length, 1.0, quiet)[0] for i in range(n)])


@pytest.mark.parametrize("name", DRIFTING)
def test_the_spread_over_days_is_bias_drift_and_white_together(name: str) -> None:
    size = PRESETS[name]
    want = np.sqrt(size.white_m**2 + size.drift_m**2 + size.bias_m**2)
    assert many(size)[:, ::60].std() == pytest.approx(want, rel=0.12)


@pytest.mark.parametrize("name", DRIFTING)
@pytest.mark.parametrize("lag_s", [1, 30, 200])
def test_between_two_moments_the_error_moves_as_gauss_markov_says(name: str, lag_s: int) -> None:
    size = PRESETS[name]
    all_of_it = many(size)
    moved = (all_of_it[:, lag_s:] - all_of_it[:, :-lag_s]).std()
    want = np.sqrt(2 * size.drift_m**2 * (1 - np.exp(-lag_s / size.drift_s)) + 2 * size.white_m**2)
    assert moved == pytest.approx(want, rel=0.12)


def test_without_noise_there_is_none() -> None:
    east, north = errors(np.random.default_rng(1), 100, 1.0, PRESETS["none"])
    assert not east.any()
    assert not north.any()


def test_only_poor_has_bursts_of_outliers_and_few_of_them() -> None:
    assert [name for name, size in PRESETS.items() if size.outliers] == ["poor"]
    far = []
    for i in range(20):
        size = PRESETS["poor"]
        east, north = errors(np.random.default_rng(i), 20_000, 1.0, size)
        still = errors(
            np.random.default_rng(i),
            20_000,
            1.0,
            Preset(size.white_m, size.drift_m, size.drift_s, size.bias_m),
        )
        off = np.hypot(east - still[0], north - still[1])
        assert off.max() < 2 * 75.0 + 1e-6  # two bursts may fall together
        far.append((off > 1.0).mean())
    assert 0.0005 < np.mean(far) < 0.0075


def test_the_accuracy_told_is_near_the_true_radius_of_ninety_five_in_a_hundred() -> None:
    for name in ("good", "typical", "slow"):
        size = PRESETS[name]
        told = np.median(accuracy(np.random.default_rng(3), 20_000, 1.0, size))
        assert told == pytest.approx(2.45 * np.hypot(size.drift_m, size.white_m), rel=0.15)


def test_an_unknown_preset_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(TrackError, match="typical"):
        preset("excellent")


def test_a_drift_keeps_its_time_at_any_rate_of_fixes() -> None:
    for step_s in (0.1, 1.0, 5.0):
        n = round(4000 / step_s)
        rows = np.array(
            [gauss_markov(np.random.default_rng(i), n, step_s, 60.0) for i in range(40)]
        )
        lag = round(60 / step_s)
        both = (rows[:, lag:] * rows[:, :-lag]).mean() / (rows**2).mean()
        assert both == pytest.approx(np.exp(-1), abs=0.1)


def test_steering_wavers_with_the_spread_asked_for_and_can_be_driven() -> None:
    rows = np.array([waver(np.random.default_rng(i), 800, 1.0, 0.25, 60.0) for i in range(60)])
    assert rows.std() == pytest.approx(0.25, rel=0.1)
    assert np.abs(np.diff(rows, 2, axis=1)).max() < 1 / 60  # a bend wider than 60 m
