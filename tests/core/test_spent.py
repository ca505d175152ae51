"""Hours by what was done, on drives whose hours are plain."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core.capacity import Hours
from unsown.core.spent import spent


def drive(*legs: tuple[float, float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Legs of (seconds, m/s) along a line, a position a second."""
    speed = np.concatenate([np.full(int(s), v) for s, v in legs])
    t = np.arange(len(speed) + 1, dtype=float)
    return t, np.r_[0.0, np.cumsum(speed)], np.zeros(len(t))


def test_an_hour_of_each_is_an_hour_of_each() -> None:
    # sowing 1 h, filling 1 h, sowing 0 … turning 1 h, sowing 1 h, standing 1 h, sowing 1 h
    t, x, y = drive((3600, 2.0), (3600, 0.0), (3600, 2.0), (3600, 2.0), (3600, 0.0), (3600, 2.0))
    runs = [(0.0, 3600.0), (3 * 3600.0, 4 * 3600.0), (5 * 3600.0, 6 * 3600.0)]
    found = spent(t, x, y, runs, [5400.0], [(0.0, 6 * 3600.0)])
    assert found.sowing_h == pytest.approx(3.0, abs=0.01)
    assert found.filling_h == pytest.approx(1.0, abs=0.01)
    assert found.turning_h == pytest.approx(1.0, abs=0.01)
    assert found.standing_h == pytest.approx(1.0, abs=0.01)
    assert found.field_h == pytest.approx(6.0, abs=1e-6)


def test_a_phone_that_wanders_while_it_stands_is_standing() -> None:
    t, x, y = drive((600, 2.0), (1800, 0.0), (600, 2.0))
    noise = np.random.default_rng(1).normal(0, 0.5, (2, len(t)))
    runs = [(0.0, 600.0), (2400.0, 3000.0)]
    found = spent(t, x + noise[0], y + noise[1], runs, [], [(0.0, 3000.0)])
    assert found.standing_h == pytest.approx(0.5, abs=0.02)
    assert found.turning_h < 0.02


def test_stopping_with_the_tool_down_is_not_sowing() -> None:
    t, x, y = drive((600, 2.0), (600, 0.0), (600, 2.0))
    found = spent(t, x, y, [(0.0, 1800.0)], [], [(0.0, 1800.0)])
    assert found.sowing_h == pytest.approx(1200 / 3600, abs=0.01)
    assert found.standing_h == pytest.approx(600 / 3600, abs=0.01)


def test_the_night_between_two_days_is_not_time_in_the_paddock() -> None:
    t, x, y = drive((600, 2.0), (40_000, 0.0), (600, 2.0))
    runs = [(0.0, 600.0), (40_600.0, 41_200.0)]
    found = spent(t, x, y, runs, [20_000.0], runs)
    assert found.field_h == pytest.approx(1200 / 3600, abs=1e-6)
    assert found.filling_h < 0.01


def test_a_fill_is_of_the_stand_beside_it_and_of_no_other() -> None:
    t, x, y = drive((600, 2.0), (600, 0.0), (600, 2.0), (600, 0.0), (600, 2.0))
    runs = [(0.0, 600.0), (1200.0, 1800.0), (2400.0, 3000.0)]
    found = spent(t, x, y, runs, [1300.0], [(0.0, 3000.0)])  # noted 100 s after it went on
    assert found.filling_h == pytest.approx(600 / 3600, abs=0.01)
    assert found.standing_h == pytest.approx(600 / 3600, abs=0.01)


def test_no_position_is_no_hour() -> None:
    none = np.zeros(0)
    assert spent(none, none, none, [], [], []) == Hours(0.0, 0.0, 0.0, 0.0)
