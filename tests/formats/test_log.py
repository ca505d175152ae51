"""Our own log read and written."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formats.made import START_MS, fix_line, fixes, lever, line, same
from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Log, Mark
from unsown.formats import log


def read(*lines: str) -> Log:
    return log.read("".join(lines).encode(), "day.jsonl")


def skips(found: Log) -> dict[str, int]:
    return {s.reason: s.count for s in found.skipped}


def test_a_fix_has_its_fields_and_nan_where_there_is_none():
    found = read(fix_line(0, 1, acc_m=2.0), fix_line(1, 2, speed_m_s=1.5, course_deg=-90)).fixes
    np.testing.assert_array_equal(found.acc_m, [2.0, np.nan])
    np.testing.assert_array_equal(found.speed_m_s, [np.nan, 1.5])
    np.testing.assert_array_equal(found.course_deg, [np.nan, 270.0])
    assert found.phones == ("a",)


def test_every_kind_keeps_all_its_fields():
    entries = [
        {"kind": "lever", "lever": "down", "how": "pad"},
        {"kind": "flow", "flow": "off", "since_ms": START_MS},
        {"kind": "blind", "from_ms": 1, "to_ms": 2, "answer": "unsure"},
        {"kind": "say", "prompt": "Since when?", "answer": "edge"},
        {"kind": "never heard of", "what": [1, {"a": None}]},
    ]
    found = read(*(line(seq=i, **e) for i, e in enumerate(entries, 1)))
    assert [{"kind": m.kind, **m.says} for m in found.marks] == entries
    assert [m.seq for m in found.marks] == [1, 2, 3, 4, 5]


def test_identical_entries_count_once():
    once = [fix_line(0, 1), line(seq=2, kind="lever", lever="down"), fix_line(1, 3)]
    found = read(*once, *once)
    same(found, read(*once))
    assert skips(found) == {"the same entry again": 3}


def test_another_entry_under_the_same_number_is_noted_and_the_first_kept():
    found = read(
        line(seq=7, kind="lever", lever="down"),
        line(seq=7, kind="lever", lever="up"),
        line(seq=7, kind="lever", lever="up", dev="b"),
    )
    assert [(m.phone, m.says["lever"]) for m in found.marks] == [("a", "down"), ("b", "up")]
    assert "a 7 (line 2)" in found.notes[0]


def test_a_cut_off_last_line_is_skipped_and_said_and_the_rest_kept():
    found = read(fix_line(0, 1), fix_line(1, 2), fix_line(2, 3)[:-9])
    assert len(found.fixes) == 2
    assert skips(found) == {"last line, cut off": 1}


@pytest.mark.parametrize(
    ("bad", "reason"),
    [
        ("rubbish\n", "line that is not JSON"),
        ('{"t_ms": 1}\n', "line without a kind"),
        ('[{"kind": "fix"}]\n', "line without a kind"),
        ('{"kind": "fix", "t_ms": "noon"}\n', "entry without t_ms"),
        ('{"kind": "fix", "t_ms": true}\n', "entry without t_ms"),
        ('{"kind": "fix", "t_ms": NaN}\n', "entry without t_ms"),
        (fix_line(5, 9, lat_deg=float("nan")), "latitude or longitude is not a number"),
        (fix_line(5, 9, lat_deg=91), "latitude or longitude out of range"),
        (fix_line(5, 9, lat_deg=None), "latitude or longitude is not a number"),
        (fix_line(5, 9, t_ms=10**17), "time out of range"),
        (fix_line(5, 9, t_ms=10**30), "time out of range"),
        (line(seq=9, kind="lever", lever="sideways"), "lever entry that says neither down nor up"),
        (fix_line(5, 9, v=2), "entry of version 2, which this program does not know"),
        ("[" * 5000 + "\n", "line that is not JSON"),
        ('{"kind": "fix", "t_ms": ' + "9" * 5000 + "}\n", "line that is not JSON"),
    ],
)
def test_a_line_that_is_no_entry_is_counted_with_its_reason(bad, reason):
    found = read(fix_line(0, 1), bad, fix_line(1, 2))
    assert len(found.fixes) == 2
    assert skips(found) == {reason: 1}


def test_a_file_without_one_entry_is_refused():
    with pytest.raises(TrackError, match="No line is a log entry") as told:
        read('{"type": "x"}\n')
    assert "docs/reference/log.md" in told.value.hint


def test_undo_hides_its_entry_and_deletes_nothing():
    found = read(
        line(seq=1, kind="lever", lever="down"),
        line(seq=2, t_s=5, kind="lever", lever="up"),
        line(seq=3, t_s=6, kind="undo", of=2),
    )
    assert [m.kind for m in found.marks] == ["lever", "hidden", "undo"]
    assert found.marks[1].says == {"kind": "lever", "lever": "up"}
    same(log.read(log.write(found).encode(), "x"), found)


def test_an_undone_undo_hides_nothing():
    found = read(
        line(seq=1, kind="lever", lever="down"),
        line(seq=2, kind="undo", of=1),
        line(seq=3, kind="undo", of=2),
    )
    assert [m.kind for m in found.marks] == ["lever", "hidden", "undo"]


def test_undo_reaches_only_its_own_phone_and_only_numbers_that_exist():
    found = read(
        line(seq=1, kind="lever", lever="down"),
        line(seq=1, kind="undo", of=1, dev="b"),
        line(seq=2, kind="undo", of=99, dev="b"),
        line(seq=3, kind="undo", of=3, dev="b"),
        line(seq=4, kind="undo", of="x", dev="b"),
    )
    assert [m.kind for m in found.marks] == ["lever", "undo", "undo", "undo", "undo"]


def test_the_desk_undoes_an_entry_of_a_phone_by_naming_whose_it_is():
    found = read(
        line(seq=1, kind="lever", lever="down"),
        line(seq=1, kind="undo", of=1, of_dev="a", dev="desk"),
    )
    assert [m.kind for m in found.marks] == ["hidden", "undo"]
    again = read(
        line(seq=1, kind="lever", lever="down"),
        line(seq=1, kind="undo", of=1, of_dev="a", dev="desk"),
        line(seq=2, kind="undo", of=1, of_dev="desk"),
    )
    assert [m.kind for m in again.marks] == ["lever", "hidden", "undo"]


def test_entries_that_undo_each_other_in_a_ring_hide_nothing_in_whatever_order_they_stand():
    lines = [
        line(seq=1, kind="lever", lever="down"),
        line(seq=2, kind="undo", of=1, of_dev="b"),
        line(seq=1, kind="undo", of=2, of_dev="a", dev="b"),
    ]
    for some in (lines, lines[::-1]):
        # neither of the two holds, so each is hidden by none
        assert sorted(m.kind for m in read(*some).marks) == ["lever", "undo", "undo"]


def test_numbered_lines_have_each_a_number_and_keep_those_that_marks_have():
    made = Log(fixes(3), (lever(0.5, "down"), lever(1.5, "up", seq=2)))
    lines = [json.loads(x) for x in log.write(made, number_lines=True).splitlines()]
    assert sorted(e["seq"] for e in lines) == [1, 2, 3, 4, 5]
    assert next(e for e in lines if e.get("lever") == "up")["seq"] == 2


names = st.sampled_from(["cab", "spare", "phone"])
plain = st.one_of(st.text(max_size=8), st.integers(-99, 10**14), st.floats(-9, 9), st.booleans())


@st.composite
def logs(draw: st.DrawFn) -> Log:
    n = draw(st.integers(0, 10))
    column = lambda s: draw(st.lists(s, min_size=n, max_size=n))  # noqa: E731
    number = st.one_of(st.just(float("nan")), st.floats(0, 1e6))
    t_ms = np.sort(np.array(column(st.integers(0, 2 * 10**12)), dtype=np.int64))
    made = Fixes(
        t_ms,
        np.array(column(st.floats(0.5, 90)), dtype=np.float64),
        np.array(column(st.floats(-180, 180)), dtype=np.float64),
        np.array(column(number), dtype=np.float64),
        np.array(column(number), dtype=np.float64),
        np.array(column(st.floats(0, 359.9)), dtype=np.float64),
        np.array(column(st.integers(0, 1)), dtype=np.int64),
        np.array(column(st.integers(0, 3)), dtype=np.int64),
        ("cab", "spare"),
    )
    kinds = st.sampled_from([k for k in log.KINDS if k != "undo"])
    marks = []
    for seq in range(draw(st.integers(0, 5))):
        kind = draw(kinds)
        says = draw(st.dictionaries(st.sampled_from(["what", "kg", "note"]), plain, max_size=3))
        says |= {"lever": draw(st.sampled_from(["down", "up"]))} if kind == "lever" else {}
        at = draw(st.integers(0, 2 * 10**12))
        marks.append(Mark(at, kind, draw(names), draw(st.sampled_from([0, seq + 1])), says))
    return Log(made, tuple(sorted(marks, key=lambda m: m.t_ms)))


@given(logs())
@settings(max_examples=80, deadline=None)
def test_what_is_written_reads_back_the_same(made: Log):
    if not len(made.fixes) and not made.marks:
        return
    same(log.read(log.write(made).encode(), "x"), made)


@given(logs())
@settings(max_examples=30, deadline=None)
def test_reading_an_entry_twice_changes_nothing(made: Log):
    if not len(made.fixes) and not made.marks:
        return
    text = log.write(made, number_lines=True)
    same(log.read((text + text).encode(), "x"), log.read(text.encode(), "x"))
