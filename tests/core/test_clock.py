"""A clock set while a log was being written: the order of writing rules, not the times."""

from __future__ import annotations

import json
from collections.abc import Callable

import numpy as np
import pytest

from unsown.core.clock import steady
from unsown.core.words import Log, Mark
from unsown.formats import log as logs
from unsown.formats.track import join, read_track

START_MS = 1_777_636_800_000
SPEED_M_S = 2.0
M_PER_DEG = 111_195.0
Off = Callable[[int], float]


def entries(n: int, off: Off, gap_s: int = 0, gap_at: int = -1) -> list[dict[str, object]]:
    """A phone driven north, a fix a second, a tap each 100 s; ``off``: its clock's error, s."""
    out: list[dict[str, object]] = []
    for k in range(n):
        second = k + (gap_s if 0 <= gap_at <= k else 0)
        t_ms = START_MS + round(1000 * (second + off(k)))
        lat = 49.0 + SPEED_M_S * second / M_PER_DEG
        fix = {"lat_deg": lat, "lon_deg": -106.0, "acc_m": 2.0, "speed_m_s": SPEED_M_S}
        out.append({"t_ms": t_ms, "kind": "fix", **fix})
        if k % 100 == 50:
            word = "down" if k % 200 == 50 else "up"
            out.append({"t_ms": t_ms + 400, "kind": "lever", "lever": word, "how": "pad"})
    return out


def text(some: list[dict[str, object]], *, numbered: bool = True) -> bytes:
    lines = [
        {"v": 1, "dev": "cab", **({"seq": k} if numbered else {}), **each}
        for k, each in enumerate(some, 1)
    ]
    return "".join(json.dumps(line) + "\n" for line in lines).encode()


def seconds(log: Log) -> list[float]:
    return ((log.fixes.t_ms - START_MS) / 1000.0).tolist()


def taps(log: Log) -> list[float]:
    return [(mark.t_ms - START_MS) / 1000.0 for mark in log.marks if mark.kind == "lever"]


TRUE = [float(k) for k in range(1000)]
TAPS = [k + 0.4 for k in range(50, 1000, 100)]


@pytest.mark.parametrize("set_s", [-41.0, -3600.0, -5.0])
@pytest.mark.parametrize("numbered", [True, False])
def test_a_clock_set_back_leaves_fixes_and_taps_in_the_order_written(set_s, numbered):
    made = entries(1000, lambda k: set_s if k >= 500 else 0.0)
    found = join([read_track(text(made, numbered=numbered), "day.jsonl")])
    assert seconds(found) == TRUE
    assert taps(found) == pytest.approx(TAPS)
    (note,) = found.notes
    assert "the clock of cab was set back by" in note
    assert "8 min into its log" in note


def test_a_clock_that_ran_ahead_and_came_back_is_put_back_for_that_while():
    made = entries(1000, lambda k: 3600.0 if 300 <= k < 700 else 0.0)
    found = join([read_track(text(made), "day.jsonl")])
    assert seconds(found) == TRUE
    assert taps(found) == pytest.approx(TAPS)
    assert ["forward" in note for note in found.notes] == [True, False]


def test_a_clock_set_back_and_right_again_is_on_its_first_clock_all_day():
    made = entries(1000, lambda k: -600.0 if 300 <= k < 700 else 0.0)
    assert seconds(join([read_track(text(made), "day.jsonl")])) == TRUE


def test_numbers_rule_over_the_order_of_lines():
    made = text(entries(1000, lambda k: -41.0 if k >= 500 else 0.0)).splitlines(keepends=True)
    np.random.default_rng(1).shuffle(made)
    found = join([read_track(b"".join(made), "day.jsonl")])
    assert seconds(found) == TRUE
    assert taps(found) == pytest.approx(TAPS)


def test_shuffled_lines_without_numbers_are_sorted_by_time():
    made = text(entries(1000, lambda _: 0.0), numbered=False).splitlines(keepends=True)
    np.random.default_rng(1).shuffle(made)
    found = join([read_track(b"".join(made), "day.jsonl")])
    assert seconds(found) == TRUE
    assert any("put in order of time" in note for note in found.notes)


def test_two_days_put_together_in_the_wrong_order_are_sorted_by_time():
    made = entries(1000, lambda _: 0.0)
    found = join([read_track(text(made[505:] + made[:505], numbered=False), "day.jsonl")])
    assert seconds(found) == TRUE


def test_a_file_put_together_with_itself_counts_once():
    made = text(entries(1000, lambda _: 0.0), numbered=False)
    assert seconds(join([read_track(made + made, "day.jsonl")])) == TRUE


def test_two_phones_of_one_cab_without_labels_are_not_laid_end_to_end():
    made = entries(1000, lambda _: 0.0)
    other = [{**each, "t_ms": int(each["t_ms"]) + 300} for each in made if each["kind"] == "fix"]
    # the way goes on within a few metres because both end where they began: a lap
    for some in (made, other):
        for k, each in enumerate(e for e in some if e["kind"] == "fix"):
            turn = 2 * np.pi * k / 999
            each["lat_deg"] = 49.0 + 0.003 * np.sin(turn)
            each["lon_deg"] = -106.0 + 0.005 * np.cos(turn)
    found = read_track(text(made + other, numbered=False), "day.jsonl")
    assert found.fixes.t_ms.max() == START_MS + 999_300


def test_the_phone_s_own_word_says_how_long_the_gap_was():
    made = entries(1000, lambda k: -600.0 if k >= 500 else 0.0, gap_s=3, gap_at=500)
    assert seconds(join([read_track(text(made), "x")]))[500] != 503.0  # by the way alone
    at = next(i for i, each in enumerate(made) if i > 500 and each["t_ms"] < made[i - 1]["t_ms"])
    jump = {"t_ms": made[at]["t_ms"], "kind": "phone", "what": "clock", "jump_ms": -600_000}
    made.insert(at, jump)
    assert seconds(join([read_track(text(made), "x")]))[500:] == [k + 3.0 for k in TRUE[500:]]


def test_a_way_driven_unseen_while_the_clock_was_set_stays_a_gap():
    made = entries(1000, lambda k: -3600.0 if k >= 500 else 0.0, gap_s=120, gap_at=500)
    found = seconds(join([read_track(text(made), "x")]))
    assert found[500] - found[499] == pytest.approx(121.0, abs=1.0)


def test_an_answer_about_an_earlier_moment_stays_where_it_was_shown():
    made = entries(1000, lambda k: -3600.0 if k >= 500 else 0.0)
    asked = {"from_ms": START_MS + 100_000, "to_ms": START_MS + 140_000}
    about = {"t_ms": START_MS + 120_000, "kind": "say", "answer": "down", **asked}
    belt = int(made[-1]["t_ms"])
    flow = {"t_ms": belt, "kind": "flow", "flow": "off", "since_ms": belt - 86_000}
    found = read_track(text([*made, about, flow]), "x")
    said = {mark.kind: mark for mark in found.marks}
    assert said["say"].t_ms == about["t_ms"]
    assert said["say"].says["from_ms"] == asked["from_ms"]
    assert said["flow"].t_ms - said["flow"].says["since_ms"] == 86_000
    assert said["flow"].t_ms == belt + 3_600_000


def test_a_stale_position_among_others_moves_nothing():
    made = entries(1000, lambda k: -600.0 if k == 700 else 0.0)
    found = read_track(text(made), "x")
    assert found.notes == ()
    assert seconds(found)[700] == 100.0


def test_a_log_on_one_clock_is_the_very_same():
    log = logs.read(text(entries(200, lambda _: 0.0)), "x")
    assert steady(log, np.arange(1, 201), [0] * len(log.marks)) is log
    few = entries(40, lambda k: -600.0 if k >= 20 else 0.0)
    assert seconds(read_track(text(few), "x"))[-1] == 39.0 - 600.0


def test_a_waypoint_of_a_track_file_moves_with_the_fixes_of_its_time():
    made = read_track(text(entries(1000, lambda _: 0.0)), "x")
    t_ms = made.fixes.t_ms.copy()
    t_ms[500:] -= 3_600_000
    fixes = made.fixes.__class__(**{**vars(made.fixes), "t_ms": t_ms})
    late = Mark(int(t_ms[700]), "lever", "cab", says={"lever": "down"})
    early = Mark(int(t_ms[200]), "lever", "cab", says={"lever": "up"})
    found = steady(Log(fixes, (late, early)))
    assert [(m.t_ms - START_MS) / 1000 for m in found.marks] == [700.0, 200.0]


def test_entries_of_another_year_keep_their_time():
    made = entries(1000, lambda k: -366 * 86_400.0 if k >= 500 else 0.0)
    found = read_track(text(made), "x")
    assert found.notes == ()
    assert seconds(found)[500:] == [k - 366 * 86_400.0 for k in TRUE[500:]]
