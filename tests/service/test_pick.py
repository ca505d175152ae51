"""Which fixes and marks make a work: by place and season, by visit, by name."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import farms
import smallday
from unsown.core.words import Log
from unsown.service.calendar import Calendar
from unsown.service.fence import fence_around
from unsown.service.pick import pick
from unsown.service.task import Lines, Task
from unsown.service.things import to_paddock

T = smallday.START_MS


def picked(*logs: Sequence[dict[str, Any]], paddock: str = "p", season: int = 2025) -> Log | None:
    lines = tuple(Lines(log[0]["dev"], farms.body(log)) for log in logs)
    calendar = Calendar("UTC", "04:00")
    task = Task(paddock, season, "", farms.paddock(), lines, (), (), calendar)
    return pick(task, fence_around(paddock, 1, to_paddock(farms.paddock())))


def mark(dev: str, seq: int, t_ms: int, **says: Any) -> dict[str, Any]:
    return {"v": 1, "dev": dev, "seq": seq, "t_ms": t_ms, "kind": "stop", **says}


def kinds(log: Log | None) -> list[tuple[str, int, str]]:
    assert log is not None
    return [(m.phone, m.seq, m.kind) for m in log.marks]


def test_fixes_elsewhere_or_of_another_season_are_not_of_the_work() -> None:
    here, away = farms.fixes("cab", 1, 20), farms.fixes("cab", 21, 20, north_m=900)
    year = farms.fixes("cab", 41, 20, t_ms=T - 366 * 86_400_000)
    found = picked([*here, *away, *year])
    assert found is not None
    assert found.fixes.t_ms.tolist() == [e["t_ms"] for e in here]
    assert picked(away) is None
    assert picked(here, season=2024) is None


def test_a_mark_belongs_to_the_visit_it_was_made_in() -> None:
    log = [
        *farms.fixes("cab", 1, 20, t_ms=T),
        *farms.fixes("cab", 21, 20, t_ms=T + 600_000, north_m=900),  # off to the next paddock
        *farms.fixes("cab", 41, 20, t_ms=T + 1_200_000),
        mark("cab", 61, T + 5_000),
        mark("cab", 62, T + 605_000),  # made over there
        mark("cab", 63, T + 1_205_000),
        mark("cab", 64, T - 30_000),  # just before
        mark("cab", 65, T - 90_000),
    ]
    assert kinds(picked(log)) == [("cab", 64, "stop"), ("cab", 61, "stop"), ("cab", 63, "stop")]


def test_what_was_written_after_the_clock_was_set_back_follows_what_was_before() -> None:
    back = T + 100_000 - 3_600_000
    log = [
        *farms.fixes("cab", 1, 100, t_ms=T),
        *farms.fixes("cab", 101, 100, t_ms=back),
        mark("cab", 201, back + 99_000),
    ]
    found = picked(log)
    assert found is not None
    assert (found.fixes.t_ms[1:] > found.fixes.t_ms[:-1]).all()
    assert found.fixes.t_ms[0] == T
    assert [m.t_ms - int(found.fixes.t_ms[-1]) for m in found.marks] == [0]
    assert any("was set back by 60 min" in note for note in found.notes)


def test_a_mark_in_a_gap_without_fixes_belongs_to_the_visit_around_it() -> None:
    log = [
        *farms.fixes("cab", 1, 20, t_ms=T),
        *farms.fixes("cab", 21, 20, t_ms=T + 3_600_000),
        mark("cab", 41, T + 1_800_000, kind="blind", from_ms=T + 20_000, to_ms=T + 1_800_000),
    ]
    assert kinds(picked(log)) == [("cab", 41, "blind")]


def test_a_mark_that_names_a_paddock_belongs_to_that_one_alone() -> None:
    log = farms.fixes("cab", 1, 20)
    desk = [mark("desk", 1, T + 5_000, paddock="p"), mark("desk", 2, T + 5_000, paddock="q"),
            mark("desk", 3, T + 10**9, paddock="p"), mark("desk", 4, T + 5_000)]  # fmt: skip
    assert [seq for _, seq, _ in kinds(picked(log, desk))] == [1, 4, 3]
    assert [seq for _, seq, _ in kinds(picked(log, desk, paddock="q"))] == [2, 4]


def test_an_undo_goes_with_what_it_hides_however_much_later_and_whoever_made_it() -> None:
    log = [
        *farms.fixes("cab", 1, 20),
        mark("cab", 21, T + 5_000, kind="lever", lever="down"),
        mark("cab", 22, T + 6_000, kind="lever", lever="up"),
    ]
    evening = T + 30_000_000
    desk = [
        mark("desk", 1, evening, kind="undo", of=21, of_dev="cab"),
        mark("desk", 2, evening, kind="undo", of=22, of_dev="cab"),
        mark("desk", 3, evening + 1, kind="undo", of=2),
        mark("desk", 4, evening, kind="undo", of=99, of_dev="cab"),
    ]
    assert kinds(picked(log, desk)) == [
        ("cab", 21, "hidden"),
        ("cab", 22, "lever"),
        ("desk", 1, "undo"),
        ("desk", 2, "hidden"),
        ("desk", 3, "undo"),
    ]


def test_a_phone_that_is_elsewhere_speaks_of_elsewhere() -> None:
    here = farms.fixes("a", 1, 60)
    there = [
        *farms.fixes("b", 1, 60, north_m=900),
        mark("b", 61, T + 5_000, kind="lever", lever="down"),
        mark("b", 62, T + 6_000, paddock="p"),
    ]
    assert kinds(picked(here, there)) == [("b", 62, "stop")]


def test_a_phone_without_a_position_that_day_may_speak_of_this_visit() -> None:
    here = farms.fixes("a", 1, 60)
    blind = [mark("b", 1, T + 5_000, kind="lever", lever="down")]
    assert kinds(picked(here, blind)) == [("b", 1, "lever")]


def test_two_phones_come_together_each_with_its_own_marks() -> None:
    one = [*farms.fixes("a", 1, 20), mark("a", 21, T + 1_000)]
    two = [*farms.fixes("b", 1, 20, t_ms=T + 7_200_000), mark("b", 21, T + 7_201_000)]
    found = picked(one, two)
    assert found is not None
    assert found.fixes.phones == ("a", "b")
    assert kinds(found) == [("a", 21, "stop"), ("b", 21, "stop")]
    swapped = picked(two, one)
    assert swapped is not None
    assert swapped.fixes.t_ms.tolist() == found.fixes.t_ms.tolist()
    assert swapped.marks == found.marks
