"""Standing: a parked phone wanders by metres, and nothing is sown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from drives import (
    PLAIN,
    PLANE,
    WHOLE,
    Drive,
    cleaned,
    down,
    drive,
    fixes,
    marks,
    paddock,
    stand,
    straight,
    untold,
    up,
)
from unsown.core.clean import STAND
from unsown.core.day import find
from unsown.core.words import Log, Tally


def wandering(
    minutes: float, *, sigma_m: float, tau_s: float, white_m: float, seed: int, lowered: bool
) -> tuple[Drive, Drive]:
    """A run with a stand of many minutes whose picture wanders, and the same with a short one."""
    rng = np.random.default_rng(seed)
    lift, drop = ([], []) if lowered else (up(), down())
    before, after = down() + straight(200) + lift, drop + straight(200) + up()
    d = drive(before + stand(minutes * 60) + after)
    away = np.zeros((2, len(d.t_s)))
    pull = np.exp(-1 / tau_s)
    for k in range(1, len(d.t_s)):
        kick = sigma_m * np.sqrt(1 - pull**2) * rng.standard_normal(2)
        away[:, k] = pull * away[:, k - 1] + kick
    ends = [100, 160, 40 + minutes * 60, 100 + minutes * 60]
    away *= np.interp(d.t_s, ends, [0, 1, 1, 0])
    away += white_m * rng.standard_normal(away.shape) * (np.abs(away) > 0)
    moved = replace(d, x_m=d.x_m + away[0], y_m=d.y_m + away[1])
    return moved, drive(before + stand(30) + after)


def tally(d: Drive, told: bool, noise: float = 0.0) -> Tally:
    f = fixes(d, PLANE, told=told)
    if told:
        rng = np.random.default_rng(2)
        f = replace(f, speed_m_s=np.abs(f.speed_m_s + noise * rng.standard_normal(len(f))))
    ground = paddock(box(-100, -60, 500, 60))
    return find(Log(f, marks(d.levers)), ground, [WHOLE], PLAIN)[0]


@pytest.mark.parametrize("lowered", [True, False])
@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize(("sigma", "tau"), [(2.5, 300.0), (2.5, 60.0), (3.0, 900.0)])
def test_standing_45_minutes_with_a_wander_of_7_m_adds_nothing(
    lowered: bool, told: bool, sigma: float, tau: float
) -> None:
    d, short = wandering(45, sigma_m=sigma, tau_s=tau, white_m=0.1, seed=11, lowered=lowered)
    assert np.hypot(d.x_m - np.clip(d.x_m, 0, 200), d.y_m).max() > 4.0
    long, ref = tally(d, told), tally(short, told)
    assert long.dropped["standing still"] > 2600
    # lifted and without speeds, the place of the next start hangs on one noisy fix: 0.3 m
    assert (long.sown_ha - ref.sown_ha) * 1e4 < (1.0 if lowered or told else 2.5)
    assert abs(long.down_km - ref.down_km) * 1e3 < 3.0
    assert long.twice_ha * 1e4 < 0.1


def test_a_speed_that_flickers_while_parked_is_no_travel() -> None:
    d, short = wandering(45, sigma_m=2.5, tau_s=60.0, white_m=0.1, seed=3, lowered=True)
    long, ref = tally(d, True, noise=0.3), tally(short, True)
    assert abs(long.down_km - ref.down_km) * 1e3 < 4.0
    assert (long.sown_ha - ref.sown_ha) * 1e4 < 1.0


@pytest.mark.parametrize("told", [True, False])
def test_creeping_is_not_standing(told: bool) -> None:
    d = drive(straight(100.0), speed=0.35)
    track = cleaned(d) if told else untold(d)
    assert STAND not in track.step


@pytest.mark.parametrize("told", [True, False])
def test_the_stop_is_found_where_it_is(told: bool) -> None:
    d = drive(straight(100) + stand(300) + straight(100))
    track = cleaned(d) if told else untold(d)
    at = np.flatnonzero(track.step == STAND)
    assert track.t_s[at[0]] == pytest.approx(50.0, abs=2.5)
    assert track.t_s[at[-1] + 1] == pytest.approx(350.0, abs=2.5)
