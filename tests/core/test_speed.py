"""A reported speed is believed where the way agrees, and noise is taken at its own size."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import box

from drives import (
    PLAIN,
    PLANE,
    WHOLE,
    cleaned,
    down,
    drive,
    fixes,
    marks,
    paddock,
    stand,
    straight,
    turn,
    untold,
    up,
)
from unsown.core.clean import BLIND, STAND
from unsown.core.day import find
from unsown.core.speed import belied, dead_reckoned, fits
from unsown.core.words import Floats, Log

NOT_USED = "reported speed not used: it does not fit the way"
DROVE_ON = "reported standing not used: it drove on"


def wander(n: int, white_m: float, drift_m: float, seed: int, tau_s: float = 60.0) -> Floats:
    """Error east and north of n fixes a second apart, (2, n): white, and a slow wander."""
    rng = np.random.default_rng(seed)
    out, keep = np.zeros((2, n)), np.exp(-1 / tau_s)
    for k in range(1, n):
        kick = drift_m * np.sqrt(1 - keep**2) * rng.standard_normal(2)
        out[:, k] = keep * out[:, k - 1] + kick
    return out + white_m * rng.standard_normal((2, n))


@pytest.mark.parametrize("share", [1.0, 0.5])
def test_a_logger_that_writes_nought_while_it_drives_sows_what_it_drove(share: float) -> None:
    d = drive(down() + straight(300) + up())
    f = fixes(d, PLANE)
    silent = np.random.default_rng(1).random(len(f)) < share
    f.speed_m_s[silent] = 0.0
    ground = paddock(box(-100, -60, 500, 60))
    said = find(Log(f, marks(d.levers)), ground, [WHOLE], PLAIN)[0]
    true = find(Log(fixes(d, PLANE), marks(d.levers)), ground, [WHOLE], PLAIN)[0]
    assert list(said.dropped) == [NOT_USED]
    assert said.sown_ha == pytest.approx(true.sown_ha, abs=1e-4)


def test_noughts_here_and_there_are_not_used_and_the_rest_is() -> None:
    d = drive(straight(600))
    v = d.speed_m_s.copy()
    v[[20, 50, 51, 80, 81, 82]] = 0.0
    v[120:160] = 0.0
    track = cleaned(d, speed_m_s=v)
    assert dict(track.dropped) == {DROVE_ON: 46}
    np.testing.assert_allclose(track.motion.speed_m_s, 2.0, atol=0.02)


def test_single_noughts_of_a_slow_drive_are_not_used() -> None:
    d = drive(straight(300), speed=0.7)
    v = d.speed_m_s.copy()
    v[[40, 90, 91]] = 0.0
    away = wander(len(v), 0.2, 0.5, seed=2)
    found = belied(d.t_s, d.x_m + away[0], d.y_m + away[1], v, 0.2)
    assert np.flatnonzero(found).tolist() == [40, 90, 91]


def test_turning_back_at_once_keeps_its_nought() -> None:
    t = np.arange(60.0)
    x = 0.9 * np.abs(t - 30.0)
    v = np.where(t == 30, 0.1, 0.9)
    assert not belied(t, x, np.zeros(60), v, 0.1).any()


@pytest.mark.parametrize("drift_m", [1.0, 3.0])
@pytest.mark.parametrize("white_m", [0.1, 1.0, 2.5])
def test_a_phone_that_stands_in_its_noise_still_stands(white_m: float, drift_m: float) -> None:
    d = drive(straight(300) + stand(600) + straight(300))
    away = wander(len(d.t_s), white_m, drift_m, seed=4)
    x, y = d.x_m + away[0], d.y_m + away[1]
    assert fits(d.t_s, x, y, d.speed_m_s, white_m)
    assert not belied(d.t_s, x, y, d.speed_m_s, white_m).any()


def test_a_leap_of_the_picture_on_a_stand_is_no_drive() -> None:
    d = drive(straight(100) + stand(120) + straight(100))
    x = d.x_m + np.where((d.t_s > 100) & (d.t_s < 140), 9.0, 0.0)
    assert not belied(d.t_s, x, d.y_m, d.speed_m_s, 0.1).any()


def test_a_short_stop_keeps_its_noughts() -> None:
    d = drive(straight(100) + stand(5) + straight(100))
    away = wander(len(d.t_s), 0.2, 0.5, seed=6)
    assert not belied(d.t_s, d.x_m + away[0], d.y_m + away[1], d.speed_m_s, 0.2).any()


def test_a_speed_that_never_changes_is_not_believed_on_a_stand() -> None:
    d = drive(straight(300) + stand(120) + straight(300))
    track = cleaned(d, speed_m_s=np.full(len(d.t_s), 2.0))
    assert NOT_USED in track.dropped
    assert STAND in track.step


def test_a_log_that_only_parks_keeps_its_noughts() -> None:
    away = wander(1800, 0.3, 3.0, seed=8)
    t = np.arange(1800.0)
    assert fits(t, away[0], away[1], np.zeros(1800), 0.3)
    assert not belied(t, away[0], away[1], np.zeros(1800), 0.3).any()


@pytest.mark.parametrize(("factor", "good"), [(1.0, True), (1.94, False), (3.6, False)])
@pytest.mark.parametrize("white_m", [0.3, 2.5])
def test_knots_are_told_from_metres_a_second_in_any_noise(
    factor: float, good: bool, white_m: float
) -> None:
    d = drive(straight(400) + turn(9.0, 180) + straight(400))
    away = wander(len(d.t_s), white_m, 1.0, seed=9)
    x, y = d.x_m + away[0], d.y_m + away[1]
    assert fits(d.t_s, x, y, factor * d.speed_m_s, white_m) is good


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("white_m", [1.5, 2.5])
def test_white_noise_of_metres_leaves_no_fix_out_and_nothing_blind(
    white_m: float, told: bool
) -> None:
    d = drive((straight(400) + turn(9.0, 180) + straight(400) + turn(9.0, -180)) * 3)
    away = wander(len(d.t_s), white_m, 0.0, seed=10)
    x, y = d.x_m + away[0], d.y_m + away[1]
    track = cleaned(d, x_m=x, y_m=y) if told else untold(d, x_m=x, y_m=y)
    assert sum(track.dropped.values()) <= len(d.t_s) / 500
    assert BLIND not in track.step
    assert not track.backing.any()
    assert track.sigma_m == pytest.approx(white_m, rel=0.05)
    assert np.isnan(track.rate)
    off = np.hypot(
        track.motion.x_m - np.interp(track.t_s, d.t_s, d.x_m),
        track.motion.y_m - np.interp(track.t_s, d.t_s, d.y_m),
    )
    assert np.sqrt(np.mean(off**2)) < white_m * (0.35 if told else 0.65)


def test_an_outlier_is_left_out_of_noise_that_is_large_already() -> None:
    d = drive(straight(800))
    away = wander(len(d.t_s), 1.5, 0.0, seed=12)
    x, y = d.x_m + away[0], d.y_m + away[1]
    y[200:203] += 25.0
    track = cleaned(d, x_m=x, y_m=y)
    assert dict(track.dropped) == {"jumped away and back": 3}
    assert not np.isin([200, 201, 202], track.row).any()


def test_seldom_fixes_do_not_pass_their_turns_off_as_noise() -> None:
    d = drive(turn(9.0, 3600), hz=0.25)
    assert untold(d).sigma_m <= 0.6


def test_a_way_is_reckoned_from_speed_and_course_whatever_the_positions_say() -> None:
    d = drive(straight(60) + turn(9.0, 90) + straight(40), hz=5.0)
    lost = np.zeros(len(d.t_s))
    x, y = dead_reckoned(d.t_s, lost, lost, d.speed_m_s, d.heading_rad)
    np.testing.assert_allclose(x, d.x_m - d.x_m[0], atol=0.05)
    np.testing.assert_allclose(y, d.y_m - d.y_m[0], atol=0.05)


def test_a_way_is_as_the_positions_have_it_where_no_report_tells_it() -> None:
    t = np.array([0.0, 1.0, 2.0, 5.0, 6.0, 7.0])
    x = np.array([7.0, 8.0, 10.0, 13.0, 17.0, 22.0])
    speed = np.array([2.0, 2.0, 2.0, 2.0, np.nan, 2.0])
    went, aside = dead_reckoned(t, x, 3.0 * x, speed, np.zeros(6))
    # two steps reported; then fixes 3 s apart, and two steps beside the missing speed
    np.testing.assert_allclose(went, [0.0, 2.0, 4.0, 7.0, 11.0, 16.0])
    np.testing.assert_allclose(aside, [0.0, 0.0, 0.0, 9.0, 21.0, 36.0])
