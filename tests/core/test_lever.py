"""When seed was landing: the job paper's 3.6, worked by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drives import RIGID, START_MS, drive, fixes, marks, picked, straight
from unsown.core.lever import rig_at, runs_from_segments, runs_from_taps, taps, time_runs
from unsown.core.words import Rig, Run, Times


def carded(**times: float | None) -> Rig:
    return replace(RIGID, times=Times(**times))


def one(rig: Rig, down_s: float = 100.0, up_s: float = 200.0) -> Run:
    (run,) = time_runs([(round(down_s * 1000), round(up_s * 1000))], [rig], 0)
    return run


def test_without_times_seed_lands_from_tap_to_tap() -> None:
    run = one(RIGID)
    assert (run.on_s, run.off_s) == (100.0, 200.0)


def test_seed_comes_when_the_slower_of_lowering_and_filling_is_done() -> None:
    # t_on = t_d + max(t_lower, t_meter + t_fill)
    assert one(carded(lower_s=1.8, meter_s=0.9, fill_s=5.0)).on_s == pytest.approx(105.9)
    assert one(carded(lower_s=7.0, meter_s=0.9, fill_s=5.0)).on_s == pytest.approx(107.0)


def test_seed_ends_with_the_lift_or_when_the_first_opener_starves() -> None:
    # t_off = min(t_u + t_raise, t_u + first_starve), first_starve = 0.7 t_drain if not measured
    assert one(carded(raise_s=0.6, drain_s=4.6)).off_s == pytest.approx(200.6)
    assert one(carded(raise_s=6.0, drain_s=4.0)).off_s == pytest.approx(202.8)
    assert one(carded(raise_s=6.0, drain_s=4.0, first_starve_s=1.0)).off_s == pytest.approx(201.0)


def test_a_drain_never_measured_does_not_shorten_the_end() -> None:
    assert one(carded(raise_s=2.0)).off_s == pytest.approx(202.0)
    assert one(carded(raise_s=2.0, drain_s=0.0)).off_s == pytest.approx(200.0)


@pytest.mark.parametrize(
    ("pause", "fill"), [(0.5, 5 * 1.5 / 4), (2.0, 5 * 3 / 4), (3.0, 5.0), (60.0, 5.0)]
)
def test_hoses_still_charged_fill_sooner(pause: float, fill: float) -> None:
    # fill · min(1, (t_d + t_meter − t_stop)/t_drain), t_meter = 1, t_drain = 4
    rig = carded(meter_s=1.0, fill_s=5.0, drain_s=4.0)
    again = round((200 + pause) * 1000)
    runs = time_runs([(100_000, 200_000), (again, 300_000)], [rig], 0)
    assert runs[1].on_s == pytest.approx(200 + pause + 1.0 + fill)


def test_the_first_run_of_a_day_fills_whole_hoses() -> None:
    assert one(carded(fill_s=5.0, drain_s=100.0), 0.0, 50.0).on_s == pytest.approx(5.0)


def test_a_run_shorter_than_its_filling_seeds_nothing() -> None:
    run = one(carded(fill_s=5.0), 100.0, 103.0)
    assert run.off_s == run.on_s


def test_taps_that_repeat_the_state_change_nothing_and_are_said() -> None:
    levers = [(1, "down"), (2, "down"), (50, "up"), (51, "up"), (60, "down")]
    changes, notes = taps(marks(levers))
    assert [state for _, state in changes] == ["down", "up", "down"]
    assert [t - START_MS for t, _ in changes] == [1000, 50_000, 60_000]
    assert notes == ["2 lever taps repeated the state before them: no change made"]


def test_taps_are_taken_in_time_order_and_other_words_are_no_taps() -> None:
    levers = [(50, "up"), (1, "down"), (30, "sideways")]
    changes, notes = taps(marks(levers))
    assert [(t - START_MS, s) for t, s in changes] == [(1000, "down"), (50_000, "up")]
    assert not notes


def test_an_up_before_any_down_is_no_change() -> None:
    assert taps(marks([(5, "up"), (9, "down")]))[0] == [(START_MS + 9000, "down")]


def test_a_tool_still_down_at_the_end_sows_to_the_last_fix() -> None:
    runs = runs_from_taps([(10_000, "down")], [RIGID], 0, 90_000)
    assert [(r.down_s, r.up_s) for r in runs] == [(10.0, 90.0)]


def test_a_down_after_the_last_fix_makes_no_run() -> None:
    assert runs_from_taps([(95_000, "down")], [RIGID], 0, 90_000) == []


def test_each_segment_is_a_run_and_a_lone_fix_is_none() -> None:
    f = fixes(drive(straight(60)))
    segment = f.segment.copy()
    segment[10:20], segment[20], segment[21:] = 3, 4, 9
    runs = runs_from_segments(replace(f, segment=segment), [RIGID], START_MS)
    assert [(r.down_s, r.up_s) for r in runs] == [(0.0, 9.0), (10.0, 19.0), (21.0, 30.0)]
    assert [r.number for r in runs] == [1, 2, 3]


def test_segments_in_another_order_are_runs_in_time_order() -> None:
    f = fixes(drive(straight(60)))
    segment = f.segment.copy()
    segment[:15], segment[15:] = 7, 2
    runs = runs_from_segments(replace(f, segment=segment), [RIGID], START_MS)
    assert [r.down_s for r in runs] == [0.0, 15.0]
    assert len(runs_from_segments(picked(f, f.segment[:0]), [RIGID], START_MS)) == 0


def test_the_newest_card_that_has_begun_holds() -> None:
    early, late = RIGID, replace(RIGID, from_ms=5000)
    assert rig_at([early, late], 4999) == 0
    assert rig_at([early, late], 5000) == 1
    assert rig_at([late, early], 9000) == 0


def test_a_run_is_cut_where_a_new_card_begins_and_goes_on_sowing() -> None:
    slow = carded(fill_s=5.0, raise_s=2.0)
    wide = replace(slow, from_ms=60_000)
    a, b = time_runs([(10_000, 100_000)], [slow, wide], 0)
    assert (a.rig, a.on_s, a.off_s) == (0, 15.0, 60.0)
    assert (b.rig, b.on_s, b.off_s) == (1, 60.0, 102.0)
