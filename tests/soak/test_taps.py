"""The measuring of forgotten taps: what counts as found, as false, as falsely sown; one page."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from soak import forgotten, recall
from soak.forgotten import Ground, Seen, false_questions, missing, recorded, rows, seen, swapped
from soak.keep import BEGIN, END, cut, kept
from soak.measure import Row
from soak.recall import LINES, section
from unsown.core.ask import Asked
from unsown.core.outcome import Doubt
from unsown.core.told import Tap
from unsown.sim import day


def row(**more: object) -> Row:
    """A day of four hours on 50 ha on which every figure is what is wanted."""
    near = [{"down": True, "off_m": 2.0}] * 97
    none = {"of": 1000, "right": 980, "plain_of": 900, "plain_right": 891, "falsely_ha": 2.0}
    return {
        "engine": "abc",
        "seed": 1,
        "kind": "taps",
        "preset": "good",
        "hours": 4.0,
        "net_ha": 50.0,
        "missing": [*near, *({"down": False, "off_m": x} for x in (9.0, 16.0, 16.0))],
        "false": 1,
        "false_all_taps": 0,
        "falsely_ha": 0.1,
        "falsely_all_taps_ha": 0.05,
        "doubt_ha": 4.0,
        "swapped": {"asked": 1, "others": 0, "repaired": True},
        "none": none,
        **more,
    }


def band(low: float, high: float, doubt: float) -> Row:
    return {"true_ha": 1.0, "bare_ha": low, "low_ha": low, "high_ha": high, "doubt_ha": doubt}


def test_shares_are_counted_over_all_days() -> None:
    days = [row(), row(missing=[{"down": True, "off_m": forgotten.FAR_M}] * 100)]
    assert recall.near(days, 8.0).value == 0.485
    assert recall.near(days, 15.0).value == 0.49
    assert recall.near(days, 8.0).count == 200


def test_false_questions_are_told_per_two_hours_and_for_the_worst_day() -> None:
    days = [row(), row(false=3, hours=2.0)]
    assert_allclose(recall.asked(days, "false"), (2 * 4 / 6, 3.0))


def test_ground_is_a_share_of_each_days_paddock() -> None:
    days = [row(), row(net_ha=25.0)]
    assert_allclose(recall.ground(days, "falsely_ha"), [0.2, 0.4])
    assert_allclose(recall.ground(days, "falsely_ha", untapped=True), [4.0, 8.0])


def test_a_swapped_stretch_is_repaired_by_exactly_one_question() -> None:
    good, two = row(), row(swapped={"asked": 2, "others": 0, "repaired": True})
    not_put_right = row(swapped={"asked": 1, "others": 0, "repaired": False})
    nothing_to_swap = row(swapped={"asked": 0, "others": 0, "repaired": True})
    days = [good, two, not_put_right, good, nothing_to_swap]
    assert (recall.repaired(days).value, recall.repaired(days).count) == (0.5, 4)


def test_truth_is_looked_for_up_to_the_upper_end_with_the_doubt() -> None:
    days = [row(band=band(*b)) for b in ((0.5, 0.7, 0.4), (0.5, 0.7, 0.2), (1.1, 2.0, 0.0))]
    figure, below, above = recall.holds([*days, row()])
    assert (figure.count, below, above) == (3, 1, 1)
    assert_allclose(recall.wide(days), [1.2, 0.8, 1.8])
    assert_allclose(figure.value, 1 / 3)


def test_the_section_marks_what_is_missed_and_only_that() -> None:
    every = [row(band=band(0.5, 1.5, 0.0)), row(preset="typical")]
    assert "✗**" not in section(every, "python it")
    for worse in (
        {"missing": [{"down": True, "off_m": 99.0}]},
        {"false": 9},
        {"falsely_ha": 0.2},
        {"swapped": {"asked": 0, "others": 0, "repaired": False}},
        {"none": {**row()["none"], "right": 960}},
        {"band": band(1.5, 2.0, 0.0)},
    ):
        assert "✗**" in section([row(**worse), row(preset="typical")], "python it"), worse


def test_the_section_tells_trials_failures_and_what_is_missing() -> None:
    bad = {"engine": "abc", "seed": 2, "kind": "taps", "preset": "good", "failed": "ValueError: x"}
    text = section([row(), bad], "python it", missing=3)
    assert "A trial of 1 days a preset" in text
    assert "**Days not measured yet: 3.**" in text
    assert "**Days that failed: 1.**" in text
    assert "2 at good: `ValueError: x`" in text
    assert "| no taps: truth within the band and doubt | not measured | at least 80 % |" in text
    assert all(f"| {line.what} |" in text for line in LINES)
    with pytest.raises(ValueError, match="at least one measured day"):
        section([bad], "python it")


def test_either_command_keeps_what_the_other_wrote() -> None:
    page = "# Title\n\ntext\n\n## Time\n\nlate\n"
    first = kept(page, "## Forgotten taps\n\none")
    assert first.index("one") < first.index("## Time")
    again = kept(first, "## Forgotten taps\n\ntwo")
    assert "one" not in again
    assert again.replace("two", "one") == first
    new = kept(page.replace("text", "other days"), cut(again)[1])
    assert new == again.replace("text", "other days")
    assert kept(page, "") == page
    assert kept("", "alone") == f"{BEGIN}\n\nalone\n\n{END}\n"


@pytest.fixture(scope="module")
def here() -> Seen:
    """Eight hectares with every tap there, on the moment."""
    return seen(day(30013, preset="good", area_ha=8.0, rig="six", keep_outs=0, up_runs=1))


def true_taps(here: Seen) -> list[Tap]:
    runs = here.day.truth.sowings
    return sorted(
        [Tap(r.down_s, True) for r in runs] + [Tap(r.up_s, False) for r in runs],
        key=lambda t: t.t_s,
    )


def question(from_s: float, to_s: float, kind: str = "forgotten-up") -> Asked:
    return Asked(kind, from_s, to_s, 0.0, 0.0, "", {})


def long_run(here: Seen) -> int:
    runs = here.day.truth.sowings
    return int(np.argmax([r.off_s - r.on_s for r in runs[1:-1]])) + 1


def test_a_change_without_a_tap_is_missing_and_found_by_an_end_of_a_question(here: Seen) -> None:
    every, run = true_taps(here), here.day.truth.sowings[long_run(here)]
    assert missing(here, every, []) == []
    late = [replace(t, t_s=t.t_s + 4.0) for t in every]
    assert missing(here, late, []) == []
    left = [t for t in every if t.t_s != run.up_s]
    (lost,) = missing(here, left, [])
    assert lost == {"down": False, "off_m": forgotten.FAR_M}
    two_seconds = [question(run.off_s + 2.0, run.off_s + 200.0)]
    (found,) = missing(here, left, two_seconds)
    assert 1.0 < found["off_m"] < 8.0
    (lost,) = missing(here, left, [question(run.off_s, run.off_s + 9.0, "inverted")])
    assert lost["off_m"] == forgotten.FAR_M


def test_a_question_is_false_only_where_taps_are_right_and_no_run_was_driven_up(here: Seen) -> None:
    every, run = true_taps(here), here.day.truth.sowings[long_run(here)]
    inside = [question(run.on_s + 5.0, run.off_s - 5.0)]
    assert false_questions(here, every, inside) == 1
    without = [t for t in every if t.t_s not in (run.down_s, run.up_s)]
    assert false_questions(here, without, inside) == 0
    t = here.second.t_s[here.up_run]
    assert len(t) > 20
    assert false_questions(here, every, [question(float(t[5]), float(t[15]))]) == 0


def test_taps_at_their_word_give_the_true_state(here: Seen) -> None:
    wrong = recorded(here, true_taps(here)) != here.down
    assert wrong.mean() < 0.01


def test_swapped_minutes_are_judged_by_the_runs_after_the_answer(here: Seen) -> None:
    every = true_taps(here)
    whole = here.infer(every)
    told = swapped(here, every, whole)
    assert told["asked"] == 1
    assert told["repaired"]
    assert not swapped(here, every, replace(whole, runs=whole.runs[1:]))["repaired"]


def test_a_run_driven_up_is_falsely_sown_when_called_sown_else_doubt(here: Seen) -> None:
    ground = Ground(here)
    every = replace(here.infer(true_taps(here)), doubts=())
    assert ground.falsely(every) < 0.005 * here.day.truth.net_m2 / 1e4
    t = here.second.t_s
    first, last = (float(x) for x in t[here.up_run][[0, -1]])
    # the simulator's own polygon; a cell that seed touched is sown, so the strip loses its rim
    bare = sum(m.area_m2 for m in here.day.truth.misses if m.why == "tool up") / 1e4
    extra = replace(every.runs[0], on_s=first, off_s=last)
    called = replace(every, runs=(*every.runs, extra))
    assert 0.88 * bare < ground.falsely(called) < bare
    doubted = replace(called, doubts=(Doubt(first, last, "run-without-tap"),))
    assert ground.falsely(doubted) == ground.falsely(every)
    assert 0.88 * bare < ground.doubt(doubted) < bare


def test_a_drive_that_raises_becomes_rows_that_say_so() -> None:
    def broken(seed: int, **_: object) -> None:
        raise RuntimeError(f"no room on {seed}")

    found = list(rows(7, ("good", "typical"), make=broken))  # type: ignore[arg-type]
    assert [r["failed"] for r in found] == ["RuntimeError: no room on 7"] * 2
