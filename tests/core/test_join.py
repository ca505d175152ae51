"""Two phones in one cab: one clock, one strip, and each minute the phone that strays less."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import (
    PLAIN,
    PLANE,
    RIGID,
    START_MS,
    Step,
    down,
    drive,
    fixes,
    marks,
    paddock,
    picked,
    runs,
    stand,
    straight,
    turn,
    up,
)
from unsown.core.day import find
from unsown.core.errors import DayError
from unsown.core.join import one_clock
from unsown.core.legs import legs_of
from unsown.core.plane import Plane
from unsown.core.words import Fixes, Log, Mark
from unsown.sim.day import day

#: Halts and rows of unlike length: a drive that is like itself at no other time.
UNLIKE = [
    *runs(3, 300, 8),
    *turn(8, 180),
    *down(),
    *straight(200),
    *stand(40),
    *straight(60),
    *up(),
    *turn(10, 180),
    *runs(3, 150, 6),
]


def noisy(one: Fixes, seed: int, metres: float = 0.3) -> Fixes:
    rng = np.random.default_rng(seed)
    east, north = metres * rng.standard_normal((2, len(one)))
    return replace(one, lat_deg=one.lat_deg + north / 111_200, lon_deg=one.lon_deg + east / 72_000)


def pair(first: Fixes, second: Fixes, ahead_s: float = 0.0) -> Fixes:
    """Fixes of two phones, the second's clock ahead."""
    names = ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg", "phone", "segment")
    late = replace(
        second,
        t_ms=second.t_ms + round(1000 * ahead_s),
        phone=second.phone + 1,
        segment=second.segment + 1,
    )
    both = {n: np.concatenate([getattr(first, n), getattr(late, n)]) for n in names}
    return Fixes(**both, phones=("a", "b"))


def cab(parts: list[Step] = UNLIKE, ahead_s: float = 240.0, plane: Plane = PLANE, hz: float = 1.0):
    """One drive logged by two noisy phones, the second a metre beside the first."""
    d = drive(parts, hz=hz)
    beside = replace(d, y_m=d.y_m + 1.0)
    both = pair(noisy(fixes(d, plane), 1), noisy(fixes(beside, plane), 2), ahead_s)
    return Log(both, marks(d.levers, "a"))


def moved_s(given: Log) -> float:
    """By how much the second phone's times were put back, seconds; the first's never are."""
    got, _ = one_clock(given)
    by = given.fixes.t_ms - got.fixes.t_ms
    assert set(by[given.fixes.phone == 0]) == {0}
    (second,) = set(by[given.fixes.phone == 1])
    return float(second) / 1000


@pytest.mark.parametrize("ahead_s", [240.0, -600.0, 880.0, 3.5])
def test_a_clock_that_is_off_is_found_to_a_quarter_second(ahead_s: float) -> None:
    parts = [*UNLIKE, *turn(20, 180), *UNLIKE, *turn(30, 90), *UNLIKE]
    assert_allclose(moved_s(cab(parts, ahead_s)), ahead_s, atol=0.25)


@pytest.mark.parametrize("preset", ["rtk", "good", "typical", "poor", "slow"])
def test_a_clock_that_is_off_is_found_on_every_receiver(preset: str) -> None:
    made = day(31, preset=preset, size="small", area_ha=5, two_phones=True, clock_off_s=-157.0)
    assert_allclose(moved_s(made.log), -157.0, atol=0.3)


@pytest.mark.parametrize("hz", [0.5, 0.2])
def test_seldom_fixes_are_enough_for_it(hz: float) -> None:
    assert_allclose(moved_s(cab(hz=hz)), 240.0, atol=0.7)


def test_the_paddock_may_lie_across_180_degrees() -> None:
    assert_allclose(moved_s(cab(plane=Plane(-44.0, 180.0))), 240.0, atol=0.25)


def test_clocks_that_agree_are_left_alone() -> None:
    given = cab(ahead_s=0.4)
    got, notes = one_clock(given)
    assert got is given
    assert notes == ()


def test_rows_of_one_length_are_told_apart_by_their_place() -> None:
    # two rows on, the velocities are the same again, but 32 m away
    given = cab(runs(8, 250, 8))
    assert_allclose(moved_s(given), 240.0, atol=0.25)


def test_a_straight_at_one_speed_tells_nothing_and_is_left_as_stamped() -> None:
    given = cab(straight(3000))
    assert one_clock(given)[0] is given


def test_two_rigs_at_work_at_once_are_not_taken_for_one() -> None:
    one = drive(UNLIKE)
    other = drive(runs(5, 280, 9), at=(0.0, 300.0, 0.0))
    far = drive(UNLIKE, at=(0.0, 300.0, 0.0))
    for second in (other, far):
        given = Log(pair(fixes(one), fixes(second)), marks(one.levers, "a"))
        assert one_clock(given)[0] is given


def test_a_phone_that_takes_over_keeps_its_clock() -> None:
    d = drive([*UNLIKE, *turn(20, 180), *UNLIKE])
    half = len(d.t_s) // 2
    a, b = np.arange(half), np.arange(half + 20, len(d.t_s))
    given = Log(pair(picked(fixes(d), a), picked(fixes(d), b)), marks(d.levers, "a"))
    assert one_clock(given)[0] is given


def test_the_next_day_of_another_phone_keeps_its_clock() -> None:
    d = drive(UNLIKE)
    given = Log(pair(fixes(d), fixes(d), ahead_s=86_400.0), marks(d.levers, "a"))
    assert one_clock(given)[0] is given


def test_what_the_second_phone_wrote_moves_with_it_and_nothing_else() -> None:
    given = cab()
    at = START_MS + 400_000
    says = {"from_ms": at, "to_ms": at + 9000, "answer": "down"}
    theirs, desk = Mark(at, "blind", "b", 1, says), Mark(at, "say", "desk", 1, says)
    got, notes = one_clock(replace(given, marks=(*given.marks, theirs, desk)))
    (moved,) = (m for m in got.marks if m.phone == "b")
    assert_allclose(moved.t_ms, at - 240_000, atol=300)
    assert moved.says["from_ms"] - moved.t_ms == 0
    assert moved.says["to_ms"] - moved.t_ms == 9000
    assert desk in got.marks
    assert theirs.says["from_ms"] == at
    assert [m for m in got.marks if m.phone == "a"] == list(given.marks)
    assert "4 min 0 s ahead" in notes[0]


def test_a_fix_from_another_year_does_no_harm() -> None:
    given = cab()
    t_ms = given.fixes.t_ms.copy()
    t_ms[[0, -1]] = 5_000, 6_000
    one_clock(replace(given, fixes=replace(given.fixes, t_ms=t_ms)))


# what becomes of it in the day


def test_two_phones_with_clocks_apart_make_one_strip_each() -> None:
    given = cab()
    where = paddock(box(-20, -20, 320, 140))
    alone = Log(picked(given.fixes, np.flatnonzero(given.fixes.phone == 0)), given.marks)
    alone = replace(alone, fixes=replace(alone.fixes, phones=("a",)))
    both, single = (find(each, where, [RIGID], PLAIN)[0] for each in (given, alone))
    assert_allclose(both.sown_ha, single.sown_ha, rtol=0.01)
    assert_allclose(both.again_ha, single.again_ha, atol=0.01)
    assert any("clock" in note for note in both.notes)


def test_the_steadier_phone_is_believed_and_the_other_fills_its_gaps() -> None:
    d = drive(straight(2400))
    blind = np.flatnonzero((d.t_s < 400) | (d.t_s > 700))
    both = pair(noisy(picked(fixes(d), blind), 1, 0.05), noisy(fixes(d), 2, 0.5))
    legs, _ = legs_of(both, PLANE, [RIGID], START_MS)
    steady, rough = (dict(zip("ab", legs, strict=True))[k].windows for k in "ab")
    assert len(rough) == 1
    (a, b) = rough[0]
    assert (a, b) == pytest.approx((400, 700), abs=1.5)
    assert sum(y - x for x, y in steady) == pytest.approx(1200 - (b - a), abs=1.5)


def test_a_phone_that_ends_in_a_run_hands_it_on_where_it_ends() -> None:
    d = drive(straight(1200))
    first = picked(fixes(d), np.flatnonzero(d.t_s <= 333))
    second = picked(fixes(d), np.flatnonzero(d.t_s >= 200))
    legs, _ = legs_of(pair(noisy(first, 1, 0.05), noisy(second, 2, 0.5)), PLANE, [RIGID], START_MS)
    (one,), (other,) = (leg.windows for leg in legs)
    assert one == pytest.approx((0, 333), abs=1.5)
    assert other == pytest.approx((333, float(d.t_s[-1])), abs=1.5)


def test_minutes_that_neither_phone_saw_are_doubt_not_bare() -> None:
    d = drive([*down(), *straight(2400), *up()])
    seen = np.flatnonzero((d.t_s < 400) | (d.t_s > 700))
    a, b = noisy(picked(fixes(d), seen), 1, 0.05), noisy(picked(fixes(d), seen), 2, 0.1)
    given = Log(pair(a, b), marks(d.levers, "a"))
    t, _ = find(given, paddock(box(0, -4, 2400, 4)), [RIGID], PLAIN)
    assert_allclose(t.doubt_ha, 300 * 2 * 8 / 1e4, rtol=0.05)
    assert t.bare_ha < 0.02


def test_two_rigs_at_work_at_once_are_refused_not_mixed() -> None:
    one, other = drive(UNLIKE), drive(UNLIKE, at=(0.0, 300.0, 0.0))
    given = Log(pair(fixes(one), fixes(other)), marks(one.levers, "a"))
    with pytest.raises(DayError) as refused:
        find(given, paddock(box(-20, -20, 320, 440)), [RIGID], PLAIN)
    assert refused.value.code == "two-rigs"
    assert "300 m apart" in refused.value.message


def test_a_phone_that_stays_in_the_truck_hides_nothing() -> None:
    d = drive(UNLIKE)
    still = replace(d, x_m=0 * d.x_m - 100, y_m=0 * d.y_m + 500, speed_m_s=0 * d.speed_m_s)
    both = pair(noisy(fixes(d), 1, 0.3), noisy(fixes(still), 2, 0.05))
    where = paddock(box(-20, -20, 320, 140))
    taps = marks(d.levers, "a")
    t, _ = find(Log(both, taps), where, [RIGID], PLAIN)
    usual, _ = find(Log(noisy(fixes(d), 1, 0.3), taps), where, [RIGID], PLAIN)
    assert_allclose(t.sown_ha, usual.sown_ha, rtol=1e-3)
