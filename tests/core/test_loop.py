"""How exact the area inside a driven lap is."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core import loop
from unsown.core.loop import area_sigma


def lap(speed_m_s: float = 2.083, side_m: float = 780.0) -> tuple[np.ndarray, ...]:
    """A square lap at a steady speed, a fix a second."""
    s = np.arange(0.0, 4 * side_m, speed_m_s)
    corner = np.array([0, 1, 2, 3, 4]) * side_m
    x = np.interp(s, corner, [0, side_m, side_m, 0, 0])
    y = np.interp(s, corner, [0, 0, side_m, side_m, 0])
    return s / speed_m_s, x, y


def known(t: np.ndarray, x: np.ndarray, y: np.ndarray, sigma: float, tau: float) -> float:
    """The same by another way: the area changes by the drift across the lap, added up along it."""
    dx, dy = np.gradient(x), np.gradient(y)
    dt = np.abs(t[:, None] - t[None, :])
    cover = sigma**2 * np.exp(-dt / tau)
    # dA = Σ (e · dy − n · dx): both axes drift by themselves
    return float(np.sqrt(dy @ cover @ dy + dx @ cover @ dx))


def test_the_spread_is_that_of_the_drift_across_the_lap(monkeypatch: pytest.MonkeyPatch) -> None:
    t, x, y = (a[::5] for a in lap())
    tau, sigma = 100.0, 1.5
    monkeypatch.setattr(loop, "TAU_FACTOR", 1.0)  # one correlation time, to compare with
    monkeypatch.setattr(loop, "TAU_S", tau)
    got = area_sigma(t, x, y, sigma * np.sqrt(2 / tau), draws=3000)
    assert got == pytest.approx(known(t, x, y, sigma, tau), rel=0.06)


def test_a_phone_that_wanders_twice_as_fast_is_half_as_exact() -> None:
    t, x, y = lap()
    one, two = (area_sigma(t, x, y, rate) for rate in (0.05, 0.1))
    assert two == pytest.approx(2 * one, rel=0.02)


def test_a_lap_of_sixty_hectares_by_a_usual_phone_is_known_to_less_than_a_hectare() -> None:
    sigma = area_sigma(*lap(), rate=1.0 * np.sqrt(2 / 100.0))
    assert 500 < sigma < 5_000


def test_the_same_seed_gives_the_same_answer_and_where_it_lies_does_not_matter() -> None:
    t, x, y = lap()
    assert area_sigma(t, x, y, 0.1) == area_sigma(t, x, y, 0.1)
    assert area_sigma(t + 5e5, x + 4e5, y - 3e5, 0.1) == pytest.approx(
        area_sigma(t, x, y, 0.1), rel=1e-6
    )
    assert area_sigma(t, x[::-1], y[::-1], 0.1) == pytest.approx(area_sigma(t, x, y, 0.1), rel=0.2)


def test_where_the_wander_is_not_known_it_cannot_be_told() -> None:
    assert np.isnan(area_sigma(*lap(), rate=float("nan")))
    assert np.isnan(area_sigma(np.r_[0.0, 1.0], np.r_[0.0, 1.0], np.r_[0.0, 1.0], 0.1))
