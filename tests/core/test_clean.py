"""Cleaning: what is left out, where the vehicle stands, which gaps are bridged."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drives import (
    Drive,
    Step,
    back,
    cleaned,
    drive,
    log,
    stand,
    straight,
    turn,
    untold,
)
from unsown.core.clean import BLIND, BRIDGE, JOIN, STAND, Track, _jumps, clean, quick_noise

NAN = np.nan


def without(d: Drive, from_s: float, to_s: float) -> Drive:
    """The drive with no fixes between two times."""
    keep = (d.t_s <= from_s) | (d.t_s >= to_s)
    names = ("t_s", "x_m", "y_m", "heading_rad", "speed_m_s")
    return replace(d, **{name: getattr(d, name)[keep] for name in names})


def steps_between(track: Track, from_s: float, to_s: float) -> set[int]:
    inside = (track.t_s[1:] > from_s) & (track.t_s[:-1] < to_s)
    return set(track.step[inside].tolist())


RUN = straight(400.0)


def test_a_clean_line_is_left_as_it_is() -> None:
    d = drive(RUN)
    track = cleaned(d)
    assert not track.dropped
    np.testing.assert_allclose(track.motion.x_m, d.x_m, atol=1e-6)
    np.testing.assert_allclose(track.motion.y_m, 0.0, atol=1e-6)
    np.testing.assert_allclose(track.motion.speed_m_s, 2.0, atol=1e-6)
    assert set(track.step.tolist()) == {JOIN}


@pytest.mark.parametrize("told", [True, False])
def test_a_turn_keeps_its_radius(told: bool) -> None:
    d = drive(straight(60) + turn(9.0, 180) + straight(60))
    track = cleaned(d) if told else untold(d)
    off = np.hypot(track.motion.x_m - d.x_m, track.motion.y_m - d.y_m)
    assert off.max() < 0.05


def test_a_turn_in_noise_is_not_cut() -> None:
    # treating the noise as white at its drift's size would cut 0.3 to 0.8 m
    rng = np.random.default_rng(5)
    d = drive(straight(100) + turn(9.0, 180) + straight(100))
    offs = []
    for _ in range(12):
        x = d.x_m + 0.1 * rng.standard_normal(len(d.t_s))
        y = d.y_m + 0.1 * rng.standard_normal(len(d.t_s))
        track = untold(d, x_m=x, y_m=y)
        offs.append((track.motion.x_m - d.x_m, track.motion.y_m - d.y_m))
    bend = (d.t_s > 52) & (d.t_s < 62)
    mean = np.mean(offs, axis=0)[:, bend]
    assert np.hypot(*mean).max() < 0.15


@pytest.mark.parametrize("sigma", [0.05, 0.1, 0.3])
@pytest.mark.parametrize("hz", [1.0, 5.0])
def test_the_quick_noise_is_measured(sigma: float, hz: float) -> None:
    rng = np.random.default_rng(7)
    d = drive(straight(600) + turn(9, 180) + straight(600), hz=hz)
    n = len(d.t_s)
    found = quick_noise(
        d.t_s,
        d.x_m + sigma * rng.standard_normal(n),
        d.y_m + sigma * rng.standard_normal(n),
        np.ones(n - 1, dtype=bool),
    )
    assert found == pytest.approx(sigma, rel=0.15)


def test_uneven_times_do_not_look_like_noise() -> None:
    rng = np.random.default_rng(8)
    times = np.cumsum(rng.uniform(0.5, 2.0, 400))
    d = drive(straight(900), times=times[times < 445])
    found = quick_noise(d.t_s, d.x_m, d.y_m, np.ones(len(d.t_s) - 1, dtype=bool))
    assert found == 0.01


def test_late_time_stamps_look_like_noise_along_the_way() -> None:
    # 0.2 s of late stamp at 2 m/s is 0.4 m of place
    rng = np.random.default_rng(9)
    d = drive(straight(900))
    late = d.t_s + 0.2 * rng.standard_normal(len(d.t_s)).clip(-2, 2)
    found = quick_noise(late, d.x_m, d.x_m, np.ones(len(late) - 1, dtype=bool))
    assert 0.2 < found < 0.45


def test_a_fix_with_an_accuracy_of_800_m_is_left_out() -> None:
    d = drive(RUN)
    acc = np.full(len(d.t_s), 4.0)
    acc[50] = 800.0
    track = cleaned(d, acc_m=acc)
    assert track.dropped == {"accuracy worse than 15 m": 1}
    assert len(track) == len(d.t_s) - 1


def test_no_accuracy_is_not_a_bad_accuracy() -> None:
    d = drive(RUN)
    assert len(cleaned(d, acc_m=np.full(len(d.t_s), NAN))) == len(d.t_s)


def test_times_that_do_not_increase_are_left_out() -> None:
    d = drive(RUN)
    t = d.t_s.copy()
    t[40], t[80:83] = t[39], t[80:83] - 7.0
    track = cleaned(d, t_s=t)
    assert track.dropped == {"time not increasing": 4}
    assert np.all(np.diff(track.t_s) > 0)


def test_positions_that_are_none_are_left_out() -> None:
    d = drive(RUN)
    x = d.x_m.copy()
    x[[3, 90]] = NAN, np.inf
    assert cleaned(d, x_m=x).dropped == {"no position": 2}


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("seconds", [1, 5])
@pytest.mark.parametrize("way", [(60.0, 0.0), (0.0, 60.0), (-40.0, 45.0)])
def test_a_burst_of_60_m_leaves_no_mark(told: bool, seconds: int, way: tuple[float, float]) -> None:
    d = drive(RUN)
    x, y = d.x_m.copy(), d.y_m.copy()
    x[100 : 100 + seconds] += way[0]
    y[100 : 100 + seconds] += way[1]
    track = cleaned(d, x_m=x, y_m=y) if told else untold(d, x_m=x, y_m=y)
    assert track.dropped == {"jumped away and back": seconds}
    assert steps_between(track, 90, 115) <= {JOIN, BRIDGE}
    np.testing.assert_allclose(track.motion.y_m, 0.0, atol=0.02)
    np.testing.assert_allclose(np.interp(102.0, track.t_s, track.motion.x_m), 204.0, atol=0.05)


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("seconds", [1, 4, 8])
@pytest.mark.parametrize("way", [(0.0, 8.0), (-6.0, 6.0), (8.0, 0.0)])
def test_a_burst_shorter_than_a_second_of_travel_allows_leaves_no_mark(
    told: bool, seconds: int, way: tuple[float, float]
) -> None:
    # 8 m aside while driving 2 m: no longer a step than a fast vehicle makes, but no way of this
    d = drive(RUN)
    x, y = d.x_m.copy(), d.y_m.copy()
    x[100 : 100 + seconds] += way[0]
    y[100 : 100 + seconds] += way[1]
    track = cleaned(d, x_m=x, y_m=y) if told else untold(d, x_m=x, y_m=y)
    assert track.dropped == {"jumped away and back": seconds}
    np.testing.assert_allclose(track.motion.y_m, 0.0, atol=0.02)


@pytest.mark.parametrize("size", [3.0, 6.0])
def test_a_small_shift_that_stays_keeps_its_fixes_and_breaks_nothing(size: float) -> None:
    d = drive(RUN)
    y = d.y_m.copy()
    y[100:] += size
    y[115:] += size
    track = cleaned(d, y_m=y)
    assert not track.dropped
    assert set(track.step.tolist()) == {JOIN}


@pytest.mark.parametrize("every", [1, 2])
def test_tight_turns_and_hard_stops_are_no_jumps(every: int) -> None:
    d = drive(straight(60) + turn(7.0, 180) + straight(60) + stand(20), speed=3.0)
    columns = {k: getattr(d, k)[::every] for k in ("t_s", "x_m", "y_m", "speed_m_s")}
    stray, jumps = _jumps(columns["t_s"], columns["x_m"], columns["y_m"])
    assert not jumps.any()
    assert np.hypot(*stray.T).max() > 0.5


def test_a_jump_that_stays_is_not_an_outlier_but_a_break() -> None:
    d = drive(RUN)
    y = d.y_m.copy()
    y[100:] += 60.0
    track = cleaned(d, y_m=y)
    assert "jumped away and back" not in track.dropped
    assert BLIND in steps_between(track, 98, 101)
    np.testing.assert_allclose(track.motion.y_m[-1], 60.0, atol=0.01)


def test_reported_speed_in_kilometres_an_hour_is_not_believed() -> None:
    d = drive(RUN)
    wrong = cleaned(d, speed_m_s=np.full(len(d.t_s), 7.2))
    assert list(wrong.dropped) == ["reported speed not used: it does not fit the way"]
    np.testing.assert_allclose(wrong.motion.speed_m_s, 2.0, atol=0.01)


def test_a_negative_speed_means_not_given() -> None:
    d = drive(RUN)
    track = cleaned(d, speed_m_s=np.full(len(d.t_s), -1.0))
    assert not track.dropped
    assert STAND not in track.step


# gaps, by the job paper's 3.3


def test_a_gap_of_five_seconds_is_joined() -> None:
    track = cleaned(without(drive(RUN), 100, 105))
    assert set(track.step.tolist()) == {JOIN}


@pytest.mark.parametrize("seconds", [7, 15, 30])
def test_a_straight_gap_of_up_to_30_s_is_bridged(seconds: int) -> None:
    track = cleaned(without(drive(RUN), 100, 100 + seconds))
    assert steps_between(track, 100, 100 + seconds) == {BRIDGE}


def test_a_gap_of_31_s_is_blind() -> None:
    track = cleaned(without(drive(RUN), 100, 131))
    assert steps_between(track, 100, 131) == {BLIND}


def test_a_gap_with_a_turn_in_it_is_not_bridged() -> None:
    d = drive(straight(200) + turn(20.0, 30) + straight(200))
    assert steps_between(untold(without(d, 95, 110)), 95, 110) == {BLIND}


def test_a_gap_with_a_slight_bend_in_it_is_bridged() -> None:
    d = drive(straight(200) + turn(60.0, 8) + straight(200))
    assert steps_between(untold(without(d, 95, 110)), 95, 110) == {BRIDGE}


def test_a_gap_driven_at_another_speed_is_not_bridged() -> None:
    d = drive(straight(200) + stand(10) + straight(200))
    assert steps_between(cleaned(without(d, 98, 118)), 98, 118) == {BLIND}


def test_a_gap_while_standing_is_standing() -> None:
    d = drive(straight(200) + stand(600) + straight(200))
    track = untold(without(d, 105, 690))
    assert steps_between(track, 106, 689) == {STAND}
    assert BLIND not in track.step


# backing


@pytest.mark.parametrize("told", [True, False])
def test_backing_is_seen_between_two_reversals(told: bool) -> None:
    d = drive(straight(100) + stand(6) + back(12) + stand(6) + straight(100))
    track = cleaned(d) if told else untold(d)
    gone_back = track.backing & (np.abs(track.t_s - 59) < 4)
    assert gone_back.sum() >= 4
    far = (track.t_s < 48) | (track.t_s > 74)
    assert not track.backing[far].any()
    np.testing.assert_allclose(np.cos(track.motion.heading_rad), 1.0, atol=1e-3)


def over_ground(d: Drive) -> np.ndarray:
    """The course as a receiver reports it: of the way, not of the nose."""
    return np.where(d.speed_m_s < 0, d.heading_rad + np.pi, d.heading_rad)


@pytest.mark.parametrize("white_m", [0.3, 0.6, 1.0, 2.5])
def test_backing_in_noise_is_seen_by_what_the_phone_reports(white_m: float) -> None:
    rng = np.random.default_rng(3)
    d = drive(straight(150) + stand(2) + back(16) + stand(2) + straight(150))
    n = len(d.t_s)
    x, y = (a + white_m * rng.standard_normal(n) for a in (d.x_m, d.y_m))
    track = cleaned(d, x_m=x, y_m=y, course_rad=over_ground(d))
    true = np.interp(track.t_s, d.t_s, d.speed_m_s) < -0.5
    assert true.sum() >= 4
    assert track.backing[true].mean() > 0.8
    back_s = d.t_s[d.speed_m_s < 0]
    far = (track.t_s < back_s[0] - 8) | (track.t_s > back_s[-1] + 8)
    assert not track.backing[far].any()
    assert np.median(np.cos(track.motion.heading_rad[true])) > 0.9
    np.testing.assert_array_less(track.motion.speed_m_s[true & track.backing], -0.5)


def test_turns_in_noise_are_not_backing() -> None:
    rng = np.random.default_rng(4)
    d = drive((straight(60) + turn(6.0, 180) + straight(60) + turn(6.0, -180)) * 4)
    n = len(d.t_s)
    for white_m in (0.3, 1.0, 2.5):
        x, y = (a + white_m * rng.standard_normal(n) for a in (d.x_m, d.y_m))
        assert not cleaned(d, x_m=x, y_m=y, course_rad=over_ground(d)).backing.any()


def test_turning_about_and_driving_on_is_not_backing() -> None:
    d = drive(straight(100) + turn(6.0, 180) + straight(100))
    assert not cleaned(d).backing.any()


# degenerate input


@pytest.mark.parametrize("n", [0, 1])
def test_fewer_than_two_fixes_make_no_track(n: int) -> None:
    nothing = np.zeros(n)
    track = clean(nothing, nothing, nothing, acc_m=nothing, speed_m_s=nothing, course_rad=nothing)
    assert len(track) == 0


def test_all_fixes_at_one_time_make_no_track() -> None:
    d = drive(RUN)
    track = cleaned(d, t_s=np.zeros(len(d.t_s)))
    assert len(track) == 0
    assert track.dropped == {"time not increasing": len(d.t_s) - 1}


@pytest.mark.parametrize("parts", [stand(300), straight(3), straight(4)])
def test_a_day_without_travel_is_still_answered(parts: list[Step]) -> None:
    track = untold(drive(parts))
    assert np.isfinite(track.motion.x_m).all()
    assert np.isfinite(track.motion.heading_rad).all()


def test_a_log_is_cleaned_the_same_whatever_the_reported_course() -> None:
    d = drive(straight(150) + turn(12, 90) + straight(150))
    told = log(d).fixes
    assert np.isfinite(told.course_deg).all()
    a, b = cleaned(d), untold(d)
    np.testing.assert_allclose(a.motion.x_m, b.motion.x_m, atol=0.05)


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("hz", [5.0, 10.0, 20.0])
def test_dense_fixes_are_taken_together_without_cutting_turns(told: bool, hz: float) -> None:
    parts = straight(60) + turn(9.0, 180) + straight(40) + stand(20) + straight(30)
    d = drive(parts, hz=hz)
    track = cleaned(d) if told else untold(d)
    assert len(track) < len(d.t_s) / (hz / 3)
    assert track.t_s[0] == d.t_s[0]
    assert track.t_s[-1] == d.t_s[-1]
    place = [np.interp(track.t_s, d.t_s, a) for a in (d.x_m, d.y_m)]
    off = np.hypot(track.motion.x_m - place[0], track.motion.y_m - place[1])
    at_stop = (np.abs(track.t_s - 64.0) < 2.0) | (np.abs(track.t_s - 84.0) < 2.0)
    assert off[~at_stop].max() < 0.03
    assert off.max() < 0.15  # this drive stops dead, as no tractor does


def test_dense_noise_is_smaller_after_taking_together() -> None:
    rng = np.random.default_rng(12)
    d = drive(straight(300), hz=10.0)
    noise = 0.2 * rng.standard_normal((2, len(d.t_s)))
    track = untold(d, x_m=d.x_m + noise[0], y_m=d.y_m + noise[1])
    assert track.sigma_m == pytest.approx(0.2 / np.sqrt(5), rel=0.3)
