"""Two rigs in one paddock at once: both count, and the seam between them is told honestly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import (
    PLAIN,
    RIGID,
    drive,
    fixes,
    headland,
    marks,
    paddock,
    runs,
    stand,
)
from hard import metres2, noisy, rows
from pairs import (
    BIG,
    BIG_M,
    LONG_M,
    MEET_M,
    ROWS,
    SMALL,
    SMALL_M,
    TOP_M,
    TWINS,
    after,
    both,
    ground,
    interleaved,
    together,
)
from unsown.core.day import find
from unsown.core.errors import DayError
from unsown.core.words import Fixes, Log, Mark, Paddock, Settings, Tally, Tool

SURE = Settings(draws=40)


def test_two_rigs_at_work_at_once_both_count() -> None:
    t, _ = find(both(), ground(), [BIG, SMALL], PLAIN)
    assert_allclose(metres2(t.swept_ha), ROWS * LONG_M * (8.4 + 6.0), rtol=1e-3)
    assert t.bare_ha < 0.001
    assert [(s.name, s.phones) for s in t.rigs] == [("big", ("a",)), ("small", ("b",))]
    big, small = t.rigs
    # each alone: rows overlap by 0.3 and 0.2 m
    assert_allclose(metres2(big.sown_ha), LONG_M * ((ROWS - 1) * BIG_M + 8.4), rtol=1e-3)
    assert_allclose(metres2(small.sown_ha), LONG_M * ((ROWS - 1) * SMALL_M + 6.0), rtol=1e-3)
    assert_allclose(big.swept_ha + small.swept_ha, t.swept_ha)
    assert_allclose(big.down_km + small.down_km, t.down_km)
    assert {w.phone: w.width_m for w in t.ways} == {"a": 8.4, "b": 6.0}


def test_one_card_may_name_both_phones_and_then_holds_for_either_rig() -> None:
    card = replace(RIGID, name="twin", tool=Tool(8.0), phones=("a", "b"))
    one, other = drive(runs(4, 300, 4)), drive(runs(4, 300, 4), at=(0.0, 300.0, 0.0))
    given = Log(
        together(fixes(one), fixes(other)), (*marks(one.levers, "a"), *marks(other.levers, "b"))
    )
    t, _ = find(given, paddock(box(-20, -20, 320, 440)), [card], PLAIN)
    assert_allclose(metres2(t.sown_ha), 2 * 4 * 300 * 8.0, rtol=0.01)
    assert [s.phones for s in t.rigs] == [("a",), ("b",)]


def test_rigs_whose_cards_name_no_phone_are_refused_when_they_drive_apart() -> None:
    with pytest.raises(DayError) as refused:
        find(both(), ground(), [replace(BIG, phones=())], PLAIN)
    assert refused.value.code == "two-rigs"
    assert "m apart at the same time" in refused.value.message


def test_a_phone_without_a_card_is_named_with_those_that_have_one() -> None:
    with pytest.raises(DayError) as refused:
        find(both(), ground(), [BIG], PLAIN)
    assert refused.value.code == "rig-of-phone"
    assert "'b'" in refused.value.message
    assert "'a'" in refused.value.message


def test_phones_of_one_cab_are_one_rig_whatever_card_the_second_has() -> None:
    d = drive(runs(6, 400, 8))
    beside = replace(d, y_m=d.y_m + 1.0)
    given = Log(
        together(noisy(fixes(d), 1), noisy(fixes(beside), 2)),
        (*marks(d.levers, "a"), *marks(d.levers, "b")),
    )
    t, _ = find(given, paddock(box(0, -10, 400, 100)), [BIG, SMALL], PLAIN)
    assert_allclose(metres2(t.swept_ha), 6 * 400 * 8.4, rtol=0.01)
    assert [s.phones for s in t.rigs] == [("a", "b")]
    assert any("another card" in note for note in t.notes)


def test_a_rig_whose_lever_was_never_tapped_is_guessed_and_said_to_be() -> None:
    given = both()
    given = replace(given, marks=tuple(m for m in given.marks if m.phone == "a"))
    t, _ = find(given, ground(), [BIG, SMALL], PLAIN)
    assert {r.how for r in t.runs if r.outfit == 0} == {"tapped"}
    assert {r.how for r in t.runs if r.outfit == 1 and r.sure} == {"guessed"}
    assert any("guessed from the movement" in note for note in t.notes)
    assert {q.phone for q in t.questions} <= {"b"}


def test_an_answer_counts_for_the_rig_that_it_names_only() -> None:
    given = both()
    (first, last) = (
        next(m.t_ms for m in given.marks if m.phone == "a" and m.says["lever"] == word)
        for word in ("down", "up")
    )
    says = {"from_ms": first, "to_ms": last, "answer": "up", "about": "run"}
    named = Mark(last, "say", "desk", 1, {**says, "of_dev": "a"})
    usual, _ = find(given, ground(), [BIG, SMALL], PLAIN)
    t, _ = find(replace(given, marks=(*given.marks, named)), ground(), [BIG, SMALL], PLAIN)
    assert t.rigs[0].sown_ha < usual.rigs[0].sown_ha - 0.25
    assert t.rigs[1] == usual.rigs[1]
    nobody = replace(named, says=says)
    t, _ = find(replace(given, marks=(*given.marks, nobody)), ground(), [BIG, SMALL], PLAIN)
    assert t.rigs == usual.rigs
    assert any("do not say which phone's rig" in note for note in t.notes)


def told(t: Tally) -> str:
    (note,) = [n for n in t.notes if n.startswith("the seam between")]
    return note


@pytest.mark.parametrize("offset_m", [-1.5, 0.0, 2.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_situation_14_two_rigs_on_both_sides_of_one_seam_at_once_no_peg(
    seed: int, offset_m: float
) -> None:
    t, _ = find(both(seed=seed, offset_m=offset_m), ground(fenced=False), [BIG, SMALL], SURE)
    (seam,) = t.between
    assert seam.rigs == (0, 1)
    assert 0.1 < seam.chance < 0.9
    assert seam.length_m > 0.7 * LONG_M
    assert seam.sigma_m > 2.0
    assert "can't tell" in told(t)
    assert "look at the furrow" in told(t)
    # nothing along the seam is called sure or likely
    strip = box(0, MEET_M - 6, LONG_M, MEET_M + 6)
    for patch in t.patches:
        if patch.outline.intersection(strip).area > 0.5 * patch.area_m2:
            assert patch.call == "can't tell"
    assert_allclose(metres2(t.swept_ha), ROWS * LONG_M * (8.4 + 6.0), rtol=0.01)
    assert_allclose(metres2(t.sown_ha), LONG_M * (TOP_M + 4.2), rtol=0.02)
    sown = [LONG_M * ((ROWS - 1) * BIG_M + 8.4), LONG_M * ((ROWS - 1) * SMALL_M + 6.0)]
    assert_allclose([metres2(s.sown_ha) for s in t.rigs], sown, rtol=0.03)


@pytest.mark.parametrize(("gap_m", "word"), [(-1.2, "is closed"), (3.5, "is open")])
def test_a_peg_that_both_visited_tells_how_the_seam_is(gap_m: float, word: str) -> None:
    given = both(gap_m=gap_m, offset_m=2.0, seed=3, pegs=True)
    t, _ = find(given, ground(fenced=False), [BIG, SMALL], SURE)
    (seam,) = t.between
    assert seam.sigma_m < 2.0
    assert word in told(t)
    assert_allclose(seam.gap_m, gap_m, atol=2.0 * max(seam.sigma_m, 0.4))


def test_phones_that_report_centimetres_need_no_peg() -> None:
    given = both(gap_m=1.0)
    fine = replace(given.fixes, acc_m=np.full(len(given.fixes), 0.02))
    t, _ = find(replace(given, fixes=fine), ground(fenced=False), [BIG, SMALL], SURE)
    (seam,) = t.between
    assert_allclose(seam.gap_m, 1.0, atol=0.05)
    assert seam.chance >= 0.9


def test_rigs_that_share_many_seams_both_ways_are_laid_together_by_them() -> None:
    t, _ = find(interleaved(across=True), paddock(box(-50, -50, 480, 350)), TWINS, SURE)
    (seam,) = t.between
    assert_allclose(seam.gap_m, -0.2, atol=0.3)
    assert seam.sigma_m < 1.0
    assert seam.chance < 0.5
    assert "can't tell" not in told(t)
    # two lands of twelve rows, without a gap worth more than a sliver: each phone wanders by
    # 0.6 m, which its own rows, two widths apart, do not tell
    land = 300.0 * (11 * 7.8 + 8.0)
    assert_allclose(metres2(t.sown_ha), 2 * land, rtol=0.05)


def test_seams_in_one_direction_only_do_not_tell_where_a_rig_was() -> None:
    t, _ = find(interleaved(across=False), paddock(box(-50, -50, 400, 350)), TWINS, SURE)
    (seam,) = t.between
    assert seam.sigma_m > 2.0
    assert "can't tell" in told(t)


@pytest.mark.parametrize("late_s", [0.0, 2.0])
def test_segments_that_two_phones_of_one_rig_saw_are_one_run_each(late_s: float) -> None:
    d = drive(runs(5, 300, 8))
    f = fixes(d)
    down_s = np.asarray([t for t, word in d.levers if word == "down"])
    up_s = np.asarray([t for t, word in d.levers if word == "up"])
    which = np.searchsorted(down_s, d.t_s, side="right") - 1
    sown = (which >= 0) & (d.t_s <= up_s[np.maximum(which, 0)])
    keep = np.flatnonzero(sown)

    def some(rows_: np.ndarray, first: int, by_ms: int) -> Fixes:
        names = [n for n in f.__dataclass_fields__ if n != "phones"]
        cut = {n: getattr(f, n)[rows_] for n in names}
        return replace(f, **{**cut, "segment": which[rows_] + first, "t_ms": cut["t_ms"] + by_ms})

    a, b = some(keep, 0, 0), some(keep[3:], 5, round(1000 * late_s))
    names = [n for n in f.__dataclass_fields__ if n not in ("phones", "phone")]
    columns = {n: np.concatenate([getattr(a, n), getattr(b, n)]) for n in names}
    phone = np.r_[np.zeros(len(a), dtype=np.int64), np.ones(len(b), dtype=np.int64)]
    given = Log(replace(f, **columns, phone=phone, phones=("a", "b")))
    t, _ = find(given, paddock(box(0, -4, 300, 68)), [RIGID], replace(PLAIN, runs="segments"))
    assert len(t.runs) == 5
    assert_allclose(metres2(t.swept_ha), 5 * 300 * 8, rtol=0.02)


def test_a_second_rig_that_sowed_nothing_takes_nothing_away() -> None:
    given = both()
    lifted = tuple(m for m in given.marks if m.phone == "a" or m.says["lever"] == "up")[:-1]
    marks_ = tuple(m for m in lifted if m.phone == "a") + lifted[-1:]
    t, _ = find(replace(given, marks=marks_), ground(), [BIG, SMALL], SURE)
    big, small = t.rigs
    assert_allclose(metres2(big.sown_ha), LONG_M * ((ROWS - 1) * BIG_M + 8.4), rtol=0.01)
    assert small.swept_ha == 0
    assert t.between == ()
    assert t.bare_ha + t.doubt_ha > 2.0  # it drove as if it sowed: doubt, and asked about


def test_the_first_lap_of_either_rig_may_be_the_boundary() -> None:
    lap = drive([*headland(420.0, 160.0), *stand(60)], at=(-10.0, -6.0, 0.0))
    one = after(lap, drive(rows(6, LONG_M, BIG_M), at=(0.0, 8.0, 0.0)))
    other = drive(rows(6, LONG_M, SMALL_M), at=(LONG_M, 140.0, np.pi))
    taps = (*marks(one.levers, "a"), *marks(other.levers, "b"))
    given = Log(together(fixes(one), fixes(other)), taps)
    lapped = Paddock("lapped", None, boundary="lap")
    t, _ = find(given, lapped, [BIG, SMALL], PLAIN)
    assert_allclose(t.net_ha, 420 * 160 / 1e4, rtol=0.15)
    assert [s.name for s in t.rigs] == ["big", "small"]
    assert all(s.sown_ha > 1.0 for s in t.rigs)
