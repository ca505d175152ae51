"""Hard situations of the receiver: gaps, halts, bursts, and a phone that slows down."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import (
    PLAIN,
    RIGID,
    Drive,
    down,
    drive,
    fixes,
    log,
    marks,
    paddock,
    picked,
    stand,
    straight,
    sums,
    turn,
    up,
)
from hard import metres2, moved, noisy, told
from unsown.core.day import find
from unsown.core.words import Log, Settings, Tally
from unsown.formats.track import join
from unsown.sim.day import SimDay, day

W = 8.0
LANE = paddock(box(0, -W / 2, 800, W / 2))
SURE = Settings(draws=30)


def found(given: Log, where=LANE) -> Tally:
    t, _ = find(given, where, [RIGID], PLAIN)
    assert abs(sums(t)) < 1.0
    return t


def computed(made: SimDay, given: Log | None = None) -> Tally:
    t, _ = find(given or made.log, made.paddock, [made.rig], SURE)
    assert abs(sums(t)) < 1.0
    return t


def band(t: Tally) -> float:
    return t.bare_high_ha - t.bare_low_ha


# a phone call in mid-run

CALL = drive([*down(), *straight(800), *up()], speed=2.083)


def call(d: Drive = CALL, from_s: float = 120.0, lasts_s: float = 160.0) -> Log:
    seen = np.flatnonzero((d.t_s < from_s) | (d.t_s > from_s + lasts_s))
    return Log(picked(noisy(fixes(d), 2), seen), marks(d.levers))


def test_situation_04_a_call_of_2_min_40_s_is_not_bridged_but_asked_about() -> None:
    t = found(call())
    (asked,) = t.questions
    assert asked.kind == "blind"
    assert_allclose((asked.to_ms - asked.from_ms) / 1000, 161, atol=2)
    assert_allclose(metres2(t.doubt_ha), 161 * 2.083 * W, rtol=0.02)
    # the state is kept: on the other side of the gap it is still down
    assert_allclose(metres2(t.sown_ha), (800 - 161 * 2.083) * W, rtol=0.02)
    assert t.bare_ha < 0.005


@pytest.mark.parametrize(
    ("word", "sown", "doubt", "bare"),
    [("down", 800, 0, 0), ("up", 800 - 335, 0, 335), ("unsure", 800 - 335, 335, 0)],
)
def test_situation_04_each_answer_to_it(word: str, sown: float, doubt: float, bare: float) -> None:
    given = call()
    t = found(told(given, found(given).questions, word))
    assert t.questions == ()
    for said, metres in ((t.sown_ha, sown), (t.doubt_ha, doubt), (t.bare_ha, bare)):
        assert_allclose(metres2(said), metres * W, atol=12 * W)


@pytest.mark.parametrize(
    "parts",
    [
        [*straight(380), *stand(24), *straight(400)],
        [*straight(270), *turn(20, 90), *straight(30), *turn(20, -90), *straight(400)],
    ],
    ids=["it stood a while", "it went round something"],
)
def test_situation_04_down_all_the_way_needs_the_length_that_was_driven(parts: list) -> None:
    # 333 m within 10 % is the straight line that speed and time allow
    d = drive([*down(), *parts, *up()], speed=2.083)
    given, where = call(d), paddock(box(0, -30, 800, 110))
    t = found(given, where)
    said = found(told(given, t.questions, "down"), where)
    assert t.doubt_ha > 0.2
    assert_allclose(said.doubt_ha, t.doubt_ha, rtol=0.02)
    assert any("stays doubt" in note for note in said.notes)


# standing


@pytest.mark.parametrize("reported", [True, False], ids=["speed reported", "no speed"])
@pytest.mark.parametrize("lifted", [True, False], ids=["lifted", "lever left down"])
def test_situation_05_standing_45_minutes_adds_nothing(reported: bool, lifted: bool) -> None:
    lift, lower = (up(), down()) if lifted else ([], [])
    rest = [*lift, *stand(2700), *lower]
    stood = drive([*down(), *straight(400), *rest, *straight(400), *up()])
    through = drive([*down(), *straight(800), *up()])
    still = (stood.t_s > 202) & (stood.t_s < 2898)
    for seed in range(3):
        rng = np.random.default_rng(seed)
        # it wanders over 7 m and comes back to where it began
        at = np.linspace(0, 1, still.sum())
        east, north = np.zeros((2, len(stood.t_s)))
        east[still] = 3.5 * np.sin(2 * np.pi * at * (1 + seed))
        north[still] = 3.5 * np.sin(2 * np.pi * at + rng.uniform(0, 0.3)) - 0.5 * at
        north[still] -= np.linspace(north[still][0], north[still][-1], still.sum())
        wandering = moved(noisy(fixes(stood, told=reported), seed), east, north)
        t = found(Log(wandering, marks(stood.levers)))
        plain = found(Log(noisy(fixes(through, told=reported), seed), marks(through.levers)))
        assert metres2(t.sown_ha) <= metres2(plain.sown_ha) + 3 * W
        assert_allclose(t.sown_ha, plain.sown_ha, atol=25e-4)
        assert_allclose(1000 * t.down_km, 800, atol=3.0)
        assert t.twice_ha < 0.003
        assert t.dropped["standing still"] > 2600


# bursts


def test_a_burst_of_five_seconds_sixty_metres_off_leaves_no_mark() -> None:
    d = drive([*down(), *straight(800), *up()])
    clean = noisy(fixes(d), 4)
    off = np.where((d.t_s >= 200) & (d.t_s < 205), 60.0, 0.0)
    for east, north in ((off, 0 * off), (0 * off, off), (-0.7 * off, 0.7 * off)):
        t = found(Log(moved(clean, east, north), marks(d.levers)))
        usual = found(Log(clean, marks(d.levers)))
        assert t.dropped["jumped away and back"] == 5
        assert t.ground.sown.symmetric_difference(usual.ground.sown).area < 4.0
        assert t.doubt_ha == 0.0
        assert t.questions == ()


# fixes that come seldom


@pytest.fixture(scope="module")
def slowly() -> tuple[SimDay, Tally]:
    made = day(15, preset="typical", size="small", area_ha=6.0, rig="demo")
    return made, computed(made)


def every(made: SimDay, seconds: int, from_part: float = 0.0) -> Log:
    """One fix in so many seconds from a part of the day on."""
    f = made.log.fixes
    n = np.arange(len(f))
    return replace(made.log, fixes=picked(f, n[(n < from_part * len(f)) | (n % seconds == 0)]))


@pytest.mark.parametrize("seconds", [2, 5])
def test_a_fix_every_two_or_five_seconds_still_works_and_is_less_sure(
    slowly: tuple[SimDay, Tally], seconds: int
) -> None:
    made, usual = slowly
    t = computed(made, every(made, seconds))
    assert_allclose(t.sown_ha, usual.sown_ha, rtol=0.01)
    assert_allclose(t.swept_ha, usual.swept_ha, rtol=0.005)
    assert t.questions == ()
    # 30 draws tell a band's width to about a tenth
    assert band(t) > 0.9 * band(usual)
    truth = made.truth.bare_m2 / 1e4
    assert t.bare_low_ha <= 1.1 * truth
    assert t.bare_high_ha >= 0.9 * truth


def test_situation_15_an_old_phone_that_slows_to_a_fix_in_six_seconds(
    slowly: tuple[SimDay, Tally],
) -> None:
    made, usual = slowly
    t = computed(made, every(made, 6, from_part=0.5))
    # gaps of 6 s are walked like any step: nothing is lost, and no question is asked for nothing
    assert_allclose(t.sown_ha, usual.sown_ha, rtol=0.01)
    assert t.doubt_ha <= 0.02 * usual.sown_ha
    lost = usual.ground.sown.difference(t.ground.sown.union(t.ground.doubt)).area
    assert lost < 0.02 * usual.ground.sown.area
    assert band(t) > 0.9 * band(usual)


def test_situation_15_straights_at_a_fix_in_six_seconds_count_within_one_percent() -> None:
    # the first and the last step have nothing before or after that would let them be bridged
    d = drive([*straight(40), *down(), *straight(800), *up(), *straight(40)], at=(-40.0, 0.0, 0.0))
    seldom = picked(noisy(fixes(d), 3), np.arange(0, len(d.t_s), 6))
    t = found(Log(seldom, marks(d.levers)))
    assert_allclose(metres2(t.sown_ha), 800 * W, rtol=0.01)
    assert_allclose(t.down_km, 0.8, rtol=0.01)
    assert t.questions == ()


# files


def test_the_same_file_three_times_is_the_file() -> None:
    given = log(drive([*down(), *straight(200), *up(), *turn(8, 180), *down(), *straight(200)]))
    once, thrice = (found(join([given] * n), paddock(box(0, -4, 200, 20))) for n in (1, 3))
    assert replace(thrice, ground=once.ground, ways=once.ways) == once
    for a, b in zip(thrice.ways, once.ways, strict=True):
        assert_allclose(a.x_m, b.x_m, atol=1e-9)
    assert thrice.ground.sown.equals(once.ground.sown)
