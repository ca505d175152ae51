"""Forgotten, doubled, late and inverted taps; blind stretches; days without any tap."""

from __future__ import annotations

import numpy as np
import pytest

from drives import RIGID, drive, straight
from levers import (
    doubt_share,
    driven,
    found,
    longest,
    made,
    sown_share,
    taps_of,
    without_taps,
)
from unsown.core.clean import BLIND, Track, clean
from unsown.core.infer import Inferred, as_runs, infer
from unsown.core.lever import runs_from_taps, start_delay, stop_delay
from unsown.core.told import Answer, Tap, answered, tapped
from unsown.core.trail import Trail, trail
from unsown.core.walk import walks
from unsown.core.words import Mark


@pytest.mark.parametrize("late_s", [0.0, 4.0])
@pytest.mark.parametrize("seed", [5001, 5002, 5003])
def test_a_day_with_all_its_taps_is_left_exactly_as_tapped(seed: int, late_s: float) -> None:
    here = made(seed).logged(late_s=late_s, doubled=0.2)
    taps = taps_of(here)
    result = found(seed, taps)
    words = [
        (here.logging.start_ms + round(t.t_s * 1000), "down" if t.down else "up") for t in taps
    ]
    end = here.logging.start_ms + round(driven(seed)[1].t_s[-1] * 1000)
    plain = runs_from_taps(words, [here.rig], here.logging.start_ms, end)
    assert as_runs(result, [here.rig], here.logging.start_ms) == plain
    assert not result.questions
    assert not result.doubts


@pytest.mark.parametrize("keep", [1.0, 0.9])
def test_the_rounds_that_a_consistent_day_is_spared_would_have_changed_nothing(
    keep: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    taps = taps_of(made(5002).logged(late_s=4.0, missing=1.0 - keep))
    quick = found(5002, taps)
    monkeypatch.setattr("unsown.core.guess._SETTLED", 0.0)
    full = found(5002, taps)
    assert quick.runs == full.runs
    assert quick.doubts == full.doubts
    assert quick.questions == full.questions
    assert np.abs(quick.chance - full.chance).max() < 0.05


@pytest.mark.parametrize("seed", [5003, 5006, 5009])
def test_backing_in_mid_run_with_both_taps_forgotten_is_asked_about(seed: int) -> None:
    here = made(seed)
    back = driven(seed)[1]
    reverse_s = back.t_s[:-1][back.backing]
    pairs = zip(here.truth.sowings[:-1], here.truth.sowings[1:], strict=True)
    # a turn with backing in it takes longer than going back some metres and on again
    (bog,) = [
        (a, b)
        for a, b in pairs
        if b.on_s - a.off_s < 36 and ((reverse_s > a.off_s) & (reverse_s < b.on_s)).sum() > 3
    ]
    taps = without_taps(taps_of(here), bog[0].up_s, bog[1].down_s)
    result = found(seed, taps)
    (asked,) = result.questions
    assert asked.kind == "forgotten-up"
    assert asked.from_s == pytest.approx(bog[0].off_s, abs=8.0)
    assert asked.to_s == pytest.approx(bog[1].on_s, abs=8.0)
    assert doubt_share(result, bog[0].off_s, bog[1].on_s) > 0.9


@pytest.mark.parametrize("seed", [5001, 5002])
def test_lever_down_forgotten_for_a_whole_run_is_doubt_until_it_is_answered(seed: int) -> None:
    here = made(seed)
    run = here.truth.sowings[longest(here)]
    taps = without_taps(taps_of(here), run.down_s)
    silent = found(seed, taps)
    (asked,) = silent.questions
    assert asked.kind == "forgotten-down"
    assert abs(asked.from_s - run.on_s) * 2.1 < 15.0
    tool = driven(seed)[1]
    way = np.diff(np.interp([run.on_s, run.off_s], tool.t_s, tool.path_m))[0]
    assert asked.answers["down"] == pytest.approx(way * here.rig.tool.width_m, rel=0.1)
    assert sown_share(silent, run.on_s + 8, run.off_s) == 0.0
    assert doubt_share(silent, run.on_s + 8, run.off_s) > 0.98

    yes = found(seed, taps, [Answer(asked.from_s, asked.to_s, "down", asked.kind)])
    assert not yes.questions
    assert sown_share(yes, run.on_s + 16, run.off_s - 8) == 1.0
    assert any(r.how == "afterwards" for r in yes.runs)

    no = found(seed, taps, [Answer(asked.from_s, asked.to_s, "up", asked.kind)])
    assert not [q for q in no.questions if q.from_s < asked.to_s and q.to_s > asked.from_s]
    assert sown_share(no, run.on_s + 16, run.off_s - 8) == 0.0
    assert doubt_share(no, run.on_s + 16, run.off_s - 8) < 0.05


def test_unsure_leaves_doubt_and_is_not_asked_again() -> None:
    run = made(5001).truth.sowings[longest(made(5001))]
    taps = without_taps(taps_of(made(5001)), run.down_s)
    (asked,) = found(5001, taps).questions
    result = found(5001, taps, [Answer(asked.from_s, asked.to_s, "unsure", asked.kind)])
    assert not result.questions
    assert doubt_share(result, run.on_s + 8, run.off_s) > 0.98


@pytest.mark.parametrize("seed", [5001, 5003])
def test_lever_up_forgotten_over_a_turn_is_asked_and_the_turn_is_doubt(seed: int) -> None:
    here = made(seed)
    at = longest(here)
    run, after = here.truth.sowings[at], here.truth.sowings[at + 1]
    result = found(seed, without_taps(taps_of(here), run.up_s))
    (asked,) = result.questions
    assert asked.kind == "forgotten-up"
    assert abs(asked.from_s - run.off_s) * 2.1 < 15.0
    assert sown_share(result, run.off_s + 8, after.on_s - 1) == 0.0
    assert sown_share(result, run.on_s, run.off_s - 16) == 1.0


@pytest.mark.parametrize("seed", [5001, 5002])
def test_a_run_without_a_tap_at_either_end_is_doubt_whatever_it_looks_like(seed: int) -> None:
    here = made(seed)
    run = here.truth.sowings[longest(here)]
    result = found(seed, without_taps(taps_of(here), run.down_s, run.up_s))
    (asked,) = result.questions
    assert asked.kind == "run-without-tap"
    assert sown_share(result, run.on_s, run.off_s) == 0.0


def test_a_run_driven_with_the_tool_up_is_never_sown_by_itself() -> None:
    here = made(5004, 1)
    result = found(5004, taps_of(here), up_runs=1)
    (up,) = [w for w in here.drive.route.works if w.up]
    first, last = here.drive.track.first[up.pieces[0]], here.drive.track.last[up.pieces[1]]
    a, b = (float(here.drive.time.time_at(float(i))) for i in (first, last))
    assert sown_share(result, a + 15, b - 15) == 0.0
    assert [q.kind for q in result.questions] == ["run-without-tap"]


def test_a_run_driven_up_after_a_forgotten_up_is_doubt_although_the_record_says_down() -> None:
    here = made(5004, 1)
    (up,) = [w for w in here.drive.route.works if w.up]
    first, last = here.drive.track.first[up.pieces[0]], here.drive.track.last[up.pieces[1]]
    a, b = (float(here.drive.time.time_at(float(i))) for i in (first, last))
    before = max(t.t_s for t in taps_of(here) if t.t_s < a)
    taps = without_taps(taps_of(here), before)
    result = found(5004, taps, up_runs=1)
    assert sown_share(result, a + 15, b - 15) == 0.0
    assert doubt_share(result, a + 15, b - 15) == 1.0
    (asked,) = [q for q in result.questions if q.kind == "run-without-tap"]
    for word, sown in (("down", 1.0), ("up", 0.0)):
        said = found(5004, taps, [Answer(asked.from_s, asked.to_s, word, asked.kind)], up_runs=1)
        assert sown_share(said, a + 15, b - 15) == sown
        assert doubt_share(said, a + 15, b - 15) == 0.0
        assert not [q for q in said.questions if q.kind == "run-without-tap"]


@pytest.mark.parametrize("seed", [5001, 5002, 5003])
def test_twenty_inverted_minutes_are_repaired_by_one_question(seed: int) -> None:
    here = made(seed).logged(inverted_s=1200.0)
    result = found(seed, taps_of(here))
    (asked,) = result.questions
    assert asked.kind == "inverted"
    repaired = found(seed, taps_of(here), [Answer(asked.from_s, asked.to_s, "swapped", "inverted")])
    assert not repaired.questions
    right = found(seed, taps_of(made(seed)))
    assert [(r.down_s, r.up_s) for r in repaired.runs] == [(r.down_s, r.up_s) for r in right.runs]


def test_taps_called_right_stand_as_they_are() -> None:
    here = made(5001).logged(inverted_s=1200.0)
    (asked,) = found(5001, taps_of(here)).questions
    result = found(5001, taps_of(here), [Answer(asked.from_s, asked.to_s, "right", "inverted")])
    assert not [q for q in result.questions if q.kind == "inverted"]


@pytest.mark.parametrize("seed", [5001, 5002, 5003])
def test_without_any_tap_the_whole_split_is_guessed_and_said_to_be(seed: int) -> None:
    here = made(seed)
    result = found(seed, [])
    assert result.guessed
    assert {r.how for r in result.runs} == {"guessed"}
    assert "guessed" in result.notes[0]
    truly = np.zeros(len(result.t_s), dtype=bool)
    for s in here.truth.sowings:
        truly |= (result.t_s >= s.on_s) & (result.t_s < s.off_s)
    assert np.mean((result.chance > 0.5) == truly) > 0.93
    assert result.hidden_m2 > 0


def blind_day(gap_s: float) -> tuple[Track, Trail, float]:
    """Driving straight at 2.08 m/s; after 300 s the page sleeps for a while."""
    whole = drive(straight(2000), speed=2.08)
    seen = (whole.t_s < 300) | (whole.t_s > 300 + gap_s)
    track = clean(
        whole.t_s[seen],
        whole.x_m[seen],
        whole.y_m[seen],
        acc_m=np.full(int(seen.sum()), np.nan),
        speed_m_s=whole.speed_m_s[seen],
        course_rad=whole.heading_rad[seen],
    )
    return track, trail(track, RIGID), float(whole.t_s[-1])


def test_a_phone_call_of_160_s_is_asked_about_and_answered_down_it_is_bridged() -> None:
    track, tool, end = blind_day(158.0)
    assert (track.step == BLIND).sum() == 1
    taps = [Tap(10.0, True), Tap(end - 10, False)]
    (asked,) = infer(track, tool, RIGID, taps).questions
    assert asked.kind == "blind"
    assert "333 m" in asked.text
    down = Answer(asked.from_s, asked.to_s, "down", "blind")
    assert infer(track, tool, RIGID, taps, answers=[down]).bridged == ((asked.from_s, asked.to_s),)
    up = infer(track, tool, RIGID, taps, answers=[Answer(300.0, 458.0, "up", "blind")])
    assert not up.questions
    assert sown_share(up, 302, 456) == 0.0
    assert sown_share(up, 100, 290) == 1.0


def test_a_gap_while_the_tool_was_up_is_nobodys_question() -> None:
    track, tool, _ = blind_day(160.0)
    asked = infer(track, tool, RIGID, [Tap(10.0, True), Tap(200.0, False)]).questions
    assert "blind" not in {q.kind for q in asked}


def test_a_phone_walked_to_the_tool_and_back_leaves_no_strip() -> None:
    # drive, stand 60 s, walk 20 m out along a bow and back at 1.2 m/s, stand 60 s, drive on
    leg = np.arange(0, 200, 2.0)
    out = np.linspace(0, 1, 45)
    bow = np.column_stack([198 - 20 * np.sin(np.pi * out), 6 * np.sin(2 * np.pi * out)])
    x = np.r_[leg, np.full(60, 198.0), bow[:, 0], np.full(60, 198.0), 198 + leg]
    y = np.r_[0 * leg, np.zeros(60), bow[:, 1], np.zeros(60), 0 * leg]
    t = np.arange(len(x), dtype=float) * 1.0
    none = np.full(len(x), np.nan)
    track = clean(t, x, y, acc_m=none, speed_m_s=none, course_rad=none)
    ((a, b),) = walks(track)
    assert 145 < a < 170
    assert 195 < b < 220
    result = infer(track, trail(track, RIGID), RIGID, [Tap(2.0, True), Tap(t[-1] - 2, False)])
    assert sown_share(result, a, b) == 0.0
    assert any("left the cab" in note for note in result.notes)


def test_what_did_not_flow_is_not_sown_and_where_it_began_is_doubt() -> None:
    # said at 400 s: since about 90 s ago, give or take a third
    track, tool, end = blind_day(0.0)
    marks = [
        Mark(400_000, "flow", says={"flow": "off", "since_ms": 310_000}),
        Mark(450_000, "flow", says={"flow": "on"}),
    ]
    taps = [Tap(10.0, True), Tap(end - 10, False)]
    result = infer(track, tool, RIGID, taps, answers=answered(marks, 0))
    assert sown_share(result, 341, 449) == 0.0
    assert doubt_share(result, 281, 339) == 1.0
    assert sown_share(result, 100, 279) == 1.0
    assert sown_share(result, 451, 600) == 1.0
    assert not result.questions


def test_a_bin_that_ran_out_behind_is_doubt_within_its_own_spread_over_several_runs() -> None:
    track, tool, end = blind_day(0.0)
    spread = {"flow": "off", "since_ms": 200_000, "since_spread_ms": 20_000}
    levers = [Mark(t, "lever", says={"lever": w}) for t, w in ((300_000, "up"), (310_000, "down"))]
    marks = [
        Mark(400_000, "flow", says=spread),
        *levers,
        Mark(450_000, "flow", says={"flow": "on"}),
    ]
    taps = [Tap(10.0, True), Tap(300.0, False), Tap(310.0, True), Tap(end - 10, False)]
    result = infer(track, tool, RIGID, taps, answers=answered(marks, 0))
    assert sown_share(result, 100, 179) == 1.0
    assert doubt_share(result, 181, 219) == 1.0
    assert sown_share(result, 221, 449) == 0.0
    assert doubt_share(result, 221, 449) == 0.0
    assert sown_share(result, 455, 600) == 1.0


def test_not_flowing_without_since_when_is_doubt_back_to_the_lowering_and_a_question() -> None:
    track, tool, end = blind_day(0.0)
    off = Mark(400_000, "flow", says={"flow": "off"})
    levers = [Mark(t, "lever", says={"lever": w}) for t, w in ((100_000, "down"), (450_000, "up"))]
    taps = [Tap(100.0, True), Tap(450.0, False), Tap(460.0, True), Tap(end - 10, False)]

    def told_so(*more: Mark) -> Inferred:
        given = answered([off, *levers, *more], 0)
        return infer(track, tool, RIGID, taps, answers=given)

    silent = told_so()
    (asked,) = [q for q in silent.questions if q.kind == "flow"]
    assert (asked.from_s, asked.to_s) == (100.0, 400.0)
    assert asked.answers["down"] == pytest.approx(300 * 2.08 * 8.0, rel=0.01)
    assert doubt_share(silent, 100, 400) == 1.0
    assert sown_share(silent, 101, 449) == 0.0
    assert sown_share(silent, 462, end - 12) == 1.0
    span = {"about": "flow", "from_ms": 100_000, "to_ms": 400_000}
    flowed, none, unsure = (
        told_so(Mark(500_000, "say", says={**span, "answer": word}))
        for word in ("down", "up", "unsure")
    )
    for result in (flowed, none, unsure):
        assert "flow" not in {q.kind for q in result.questions}
    assert sown_share(flowed, 101, 399) == 1.0
    assert sown_share(flowed, 401, 449) == 0.0
    assert sown_share(none, 101, 449) == doubt_share(none, 101, 449) == 0.0
    assert doubt_share(unsure, 101, 399) == 1.0


def test_a_long_run_is_not_doubted_for_more_than_ten_minutes_before_the_alarm() -> None:
    levers = [Mark(0, "lever", says={"lever": "down"})]
    (before, after) = answered([*levers, Mark(3_000_000, "flow", says={"flow": "off"})], 0)
    assert (before.from_s, before.to_s, before.word) == (2400.0, 3000.0, "open")
    assert (after.from_s, after.word) == (3000.0, "up")


def test_doubled_presses_count_once_and_other_entries_are_no_taps() -> None:
    says = [(0, "down"), (700, "down"), (9000, "up"), (9100, "sideways")]
    taps, notes = tapped([Mark(t, "lever", says={"lever": w}) for t, w in says], 0)
    assert taps == [Tap(0.0, True), Tap(9.0, False)]
    assert notes == ["1 taps repeated within 3 s counted once"]


def test_the_later_answer_counts_and_broken_ones_do_not() -> None:
    def said(t_ms: int, answer: object, **more: object) -> Mark:
        span = {"from_ms": 1000, "to_ms": 5000, "about": "forgotten-up"}
        return Mark(t_ms, "say", says={**span, "answer": answer, **more})

    marks = [said(1, "down"), said(2, "up"), said(3, "maybe"), said(4, "up", to_ms=None)]
    assert answered(marks, 0) == [Answer(1.0, 5.0, "up", "forgotten-up")]


def test_seed_delays_are_on_the_clock_of_the_questions() -> None:
    times = made(5001).rig.times
    assert start_delay(times) == max(times.lower_s, times.meter_s + times.fill_s)
    assert stop_delay(times) <= times.raise_s
