"""What phones write down: taps, peg stops, gaps, two phones, two days."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from unsown.sim import SimDay, day


@cache
def made() -> SimDay:
    return day(5, size="small", rig="demo", area_ha=4.0, halts=2)


def levers(of: SimDay) -> list[tuple[float, str]]:
    zero = of.logging.start_ms
    return [
        ((m.t_ms - zero) / 1000, str(m.says["lever"])) for m in of.log.marks if m.kind == "lever"
    ]


def test_taps_are_exact_to_the_millisecond_by_default() -> None:
    true = [t for s in made().truth.sowings for t in (s.down_s, s.up_s)]
    assert [t for t, _ in levers(made())] == pytest.approx(true, abs=0.0006)


def test_late_taps_come_after_the_truth_and_never_before() -> None:
    late = levers(made().logged(late_s=4.0))
    true = levers(made())
    by = np.array([a[0] - b[0] for a, b in zip(late, true, strict=True)])
    assert (by >= 0).all()
    assert 1.0 < by.mean() < 3.0


def test_taps_can_be_missing_doubled_swapped_or_all_gone() -> None:
    n = len(levers(made()))
    assert len(levers(made().logged(missing=0.3))) < n
    assert len(levers(made().logged(doubled=0.5))) > n
    assert levers(made().logged(no_taps=True)) == []
    swapped = levers(made().logged(inverted_s=600.0))
    wrong = [t for (t, a), (_, b) in zip(swapped, levers(made()), strict=True) if a != b]
    assert wrong
    assert max(wrong) - min(wrong) < 600.0


def test_the_rate_of_fixes_is_as_asked() -> None:
    for hz in (0.2, 0.5, 2.0, 10.0):
        t = made().logged(hz=hz).log.fixes.t_ms
        assert np.median(np.diff(t)) == pytest.approx(1000 / hz, abs=1)


def test_a_blind_stretch_has_no_fixes() -> None:
    seen = made().logged(gaps=2).log.fixes.t_ms
    assert (np.diff(seen) > 15_000).sum() in (1, 2)


def test_speed_course_and_accuracy_can_be_left_out() -> None:
    fixes = made().logged(speed=False, course=False, accuracy=False).log.fixes
    for column in (fixes.speed_m_s, fixes.course_deg, fixes.acc_m):
        assert np.isnan(column).all()


def test_a_standing_phone_reports_no_course() -> None:
    fixes = made().log.fixes
    still = fixes.speed_m_s < 0.1
    assert still.sum() > 20
    assert np.isnan(fixes.course_deg[still]).all()
    assert np.isfinite(fixes.course_deg[fixes.speed_m_s > 1.0]).all()


def test_the_course_told_is_clockwise_from_north() -> None:
    of = made()
    x, y = of.error.x_m, of.error.y_m
    fixes = of.log.fixes
    # From the fix before to the fix after, where the way is nearly straight and quick.
    way = np.degrees(np.arctan2(x[2:] - x[:-2], y[2:] - y[:-2])) % 360
    off = (fixes.course_deg[1:-1] - way + 180) % 360 - 180
    quick = (fixes.speed_m_s[1:-1] > 1.5) & of.lever_down(of.error.t_s[1:-1])
    assert np.median(np.abs(off[quick])) < 0.2


def test_the_speed_told_is_the_true_one_and_a_few_centimetres_a_second() -> None:
    off = made().logged("typical").log.fixes.speed_m_s - made().log.fixes.speed_m_s
    moving = made().log.fixes.speed_m_s > 1.0
    assert off[moving].std() == pytest.approx(0.07, rel=0.1)


def test_a_peg_stop_stands_half_a_minute_and_is_off_by_bias_and_drift() -> None:
    of = made().logged("typical", pegs=True)
    pegs = [m for m in of.log.marks if m.kind == "peg"]
    assert [m.says["name"] for m in pegs] == ["morning peg", "evening peg"]
    first = pegs[0].says
    assert first["n"] >= 30
    lon = np.array([first["lon_deg"], first["true_lon_deg"]])
    lat = np.array([first["lat_deg"], first["true_lat_deg"]])
    x, y = of.plane.to_xy(lon, lat)
    away = float(np.hypot(*np.diff([x, y])[:, 0]))
    assert 0.05 < away < 8.0


def test_two_days_have_a_night_between_and_each_its_own_bias() -> None:
    of = made().logged("typical", two_days=0.5, two_phones=True, pegs=True)
    t = of.log.fixes.t_ms
    assert np.diff(t).max() > 10 * 3_600_000
    night = [m for m in of.log.marks if m.says.get("name") == "night peg"]
    assert len(night) == 2
    assert {m.phone for m in night} == set(of.log.fixes.phones)
    x, y = of.plane.to_xy(
        np.array([m.says["lon_deg"] for m in night]), np.array([m.says["lat_deg"] for m in night])
    )
    assert np.hypot(*np.diff([x, y])[:, 0]) > 0.1
    changes = [s for s in made().truth.sowings if s.down_s < of.logging.two_days * t[-1]]
    assert len(levers(of)) == len(levers(made()))
    assert changes


def test_two_phones_at_once_log_the_same_drive_on_clocks_apart() -> None:
    of = made().logged("good", two_phones=True, clock_off_s=240.0)
    fixes = of.log.fixes
    first, second = fixes.t_ms[fixes.phone == 0], fixes.t_ms[fixes.phone == 1]
    assert len(first) == len(second)
    assert (second - first == 240_000).all()
    assert (np.diff(fixes.t_ms) >= 0).all()
