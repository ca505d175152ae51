"""Two phones on the phone's engine: one clock for one cab; two rigs counted and their seam told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import Polygon, box

import pairs
from drives import PLAIN, drive, fixes, marks, paddock, runs
from hard import noisy
from unsown.core.day import find
from unsown.core.words import Log, Paddock, Rig, Settings, Tally
from unsown.sim.day import day
from web import days

SURE = Settings(draws=40)
CARDS = (pairs.BIG, pairs.SMALL)
#: What two neighbours leave of a strip where one sows on both sides of a seam.
SUMS = ("net_ha", "sown_ha", "part_ha", "bare_ha", "twice_ha", "doubt_ha", "swept_ha", "down_km")

Counted = Callable[..., days.Row]


@pytest.fixture(scope="module")
def counted(tmp_path_factory: pytest.TempPathFactory) -> Counted:
    """Counts a log on the phone."""
    engine = days.bundle(tmp_path_factory.mktemp("engine"))

    def count(
        given: Log, where: Paddock, rigs: tuple[Rig, ...], settings: Settings = PLAIN
    ) -> days.Row:
        [row] = days.computed(engine, [days.written(given, where, *rigs)], settings)
        return row

    return count


def same(home: Tally, phone: days.Row, settings: Settings) -> None:
    """Areas, rigs and seams of both engines; what rests on draws within the spread of so many."""
    # two means of so many draws lie apart by chance: three sigmas of it, the band being 3.3 wide
    band_ha = home.bare_high_ha - home.bare_low_ha
    chance_ha = 3 * band_ha / 3.3 * (2 / settings.draws) ** 0.5 if settings.draws else 0.0
    for word in SUMS:
        by_draws = chance_ha if word in {"sown_ha", "bare_ha"} else 0.0
        assert_allclose(phone[word], getattr(home, word), rtol=0.005, atol=0.01 + by_draws)
    assert [(r["outfit"], r["number"]) for r in phone["runs"]] == [
        (r.outfit, r.number) for r in home.runs
    ]
    if len(home.rigs) > 1:
        assert [(r["name"], tuple(r["phones"])) for r in phone["rigs"]] == [
            (r.name, r.phones) for r in home.rigs
        ]
        for one, other in zip(phone["rigs"], home.rigs, strict=True):
            assert_allclose(one["sown_ha"], other.sown_ha, rtol=0.005)
    assert len(phone["between"]) == len(home.between)
    for seam, told in zip(phone["between"], home.between, strict=True):
        assert tuple(seam["rigs"]) == told.rigs
        assert abs(seam["length_m"] - told.length_m) <= 24
        assert_allclose(seam["gap_m"], told.gap_m, atol=0.1)
        spread = 4 * told.sigma_m / (2 * settings.draws) ** 0.5 if settings.draws else 0
        assert_allclose(seam["sigma_m"], told.sigma_m, atol=2 * spread + 0.05)
        assert abs(seam["chance"] - told.chance) < 0.3
    assert [[q["kind"], q.get("phones", [""])[0]] for q in phone["questions"]] == [
        [q.kind, q.phone] for q in home.questions
    ]


def test_two_rigs_at_work_at_once_both_count_on_the_phone(counted: Counted) -> None:
    row = counted(pairs.both(), pairs.ground(), CARDS)
    same(find(pairs.both(), pairs.ground(), CARDS, PLAIN)[0], row, PLAIN)
    both = pairs.ROWS * pairs.LONG_M * (8.4 + 6.0) / 1e4
    assert_allclose(row["swept_ha"], both, rtol=1e-3)
    assert row["bare_ha"] < 0.001


@pytest.mark.parametrize("offset_m", [-1.5, 0.0, 2.0])
def test_situation_14_on_the_phone_a_seam_between_two_rigs_without_a_peg_is_not_known(
    counted: Counted, offset_m: float
) -> None:
    given, where = pairs.both(seed=1, offset_m=offset_m), pairs.ground(fenced=False)
    row = counted(given, where, CARDS, SURE)
    same(find(given, where, CARDS, SURE)[0], row, SURE)
    [seam] = row["between"]
    assert 0.1 < seam["chance"] < 0.9
    assert seam["sigma_m"] > 2.0
    strip = box(0, pairs.MEET_M - 6, pairs.LONG_M, pairs.MEET_M + 6)
    for patch in row["patches"]:
        rings = [list(zip(r[::2], r[1::2], strict=True)) for r in patch["outline"]]
        if Polygon(rings[0], rings[1:]).intersection(strip).area > 0.5 * patch["area_m2"]:
            assert patch["call"] == "can't tell"
    sown = pairs.LONG_M * (pairs.TOP_M + 4.2)
    assert_allclose(row["sown_ha"] * 1e4, sown, rtol=0.02)


@pytest.mark.parametrize(("gap_m", "chance"), [(-1.2, (0.0, 0.1)), (3.5, (0.9, 1.0))])
def test_a_peg_that_both_visited_tells_the_phone_how_the_seam_is(
    counted: Counted, gap_m: float, chance: tuple[float, float]
) -> None:
    given, where = (
        pairs.both(gap_m=gap_m, offset_m=2.0, seed=3, pegs=True),
        pairs.ground(fenced=False),
    )
    row = counted(given, where, CARDS, SURE)
    same(find(given, where, CARDS, SURE)[0], row, SURE)
    [seam] = row["between"]
    assert chance[0] <= seam["chance"] <= chance[1]
    assert_allclose(seam["gap_m"], gap_m, atol=2.0 * max(seam["sigma_m"], 0.4))


def test_phones_that_report_centimetres_need_no_peg_on_the_phone_either(counted: Counted) -> None:
    given = pairs.both(gap_m=1.0)
    fine = replace(given, fixes=replace(given.fixes, acc_m=np.full(len(given.fixes), 0.02)))
    row = counted(fine, pairs.ground(fenced=False), CARDS, SURE)
    same(find(fine, pairs.ground(fenced=False), CARDS, SURE)[0], row, SURE)
    assert_allclose(row["between"][0]["gap_m"], 1.0, atol=0.05)
    assert row["between"][0]["chance"] >= 0.9


@pytest.mark.parametrize("across", [True, False])
def test_rigs_that_take_turns_are_laid_together_where_their_seams_run_both_ways(
    counted: Counted, across: bool
) -> None:
    given, where = pairs.interleaved(across=across), paddock(box(-50, -50, 480, 350))
    row = counted(given, where, tuple(pairs.TWINS), SURE)
    same(find(given, where, pairs.TWINS, SURE)[0], row, SURE)
    [seam] = row["between"]
    assert (seam["sigma_m"] < 1.0) == across


def test_phones_of_one_cab_are_one_rig_on_the_phone_whatever_card_the_second_has(
    counted: Counted,
) -> None:
    d = drive(runs(6, 400, 8))
    beside = replace(d, y_m=d.y_m + 1.0)
    given = Log(
        pairs.together(noisy(fixes(d), 1), noisy(fixes(beside), 2)),
        (*marks(d.levers, "a"), *marks(d.levers, "b")),
    )
    where = paddock(box(0, -10, 400, 100))
    row = counted(given, where, CARDS)
    same(find(given, where, CARDS, PLAIN)[0], row, PLAIN)
    assert row["rigs"] == []
    assert_allclose(row["swept_ha"] * 1e4, 6 * 400 * 8.4, rtol=0.01)


def test_a_rig_whose_lever_was_never_tapped_is_guessed_on_the_phone_too(counted: Counted) -> None:
    given = pairs.both()
    given = replace(given, marks=tuple(m for m in given.marks if m.phone == "a"))
    row = counted(given, pairs.ground(), CARDS)
    same(find(given, pairs.ground(), CARDS, PLAIN)[0], row, PLAIN)
    assert {r["how"] for r in row["runs"] if r["outfit"] == 1 and r["sure"]} == {"guessed"}


@pytest.mark.parametrize("preset", ["rtk", "typical", "poor", "slow"])
def test_situation_13_on_the_phone_two_phones_4_min_apart_are_one_strip(
    counted: Counted, preset: str
) -> None:
    made = day(13, two_phones=True, clock_off_s=240.0, preset=preset, area_ha=6.0, rig="demo")
    other = "second phone"
    # only the second phone's lever was used, on its own clock
    taps = tuple(replace(m, phone=other, t_ms=m.t_ms + 240_000) for m in made.log.marks)
    given = replace(made.log, marks=taps)
    row = counted(given, made.paddock, (made.rig,))
    [clock] = row["clocks"]
    assert (clock["phone"], clock["other"]) == (other, "phone")
    assert_allclose(clock["ahead_s"], 240.0, atol=0.3)
    same(find(given, made.paddock, [made.rig], PLAIN)[0], row, PLAIN)
    assert_allclose(row["swept_ha"] * 1e4, made.truth.swept_m2, rtol=0.02)
    assert len(row["questions"]) <= 1


def test_situation_13_on_the_phone_taps_on_both_phones_are_one_lever(counted: Counted) -> None:
    made = day(13, two_phones=True, clock_off_s=240.0, area_ha=6.0, rig="demo")
    late = 1000 * np.random.default_rng(1).uniform(0, 8.0, len(made.log.marks))
    also = tuple(
        replace(m, phone="second phone", t_ms=m.t_ms + 240_000 + int(by))
        for m, by in list(zip(made.log.marks, late, strict=True))[2:]
    )
    given = replace(made.log, marks=tuple(sorted(made.log.marks + also, key=lambda m: m.t_ms)))
    row = counted(given, made.paddock, (made.rig,))
    usual = counted(made.log, made.paddock, (made.rig,))
    assert_allclose(row["sown_ha"], usual["sown_ha"], rtol=1e-3)
    assert row["questions"] == []


def test_a_second_phone_on_another_rig_keeps_its_clock_on_the_phone(counted: Counted) -> None:
    assert counted(pairs.both(seed=2), pairs.ground(), CARDS)["clocks"] == []
