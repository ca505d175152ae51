"""Presses that Oops took back: asked at the desk as on the phone, until somebody answers."""

from __future__ import annotations

from typing import Any

import pytest

from unsown.core.told import tapped
from unsown.core.words import Mark
from unsown.formats.log import hide
from unsown.service.taken import taken_back

T0, DEV, DESK = 1_778_774_400_000, "cab", "desk-abc123"


def logged(*rows: tuple[Any, ...]) -> list[Mark]:
    """Lever presses, ``(seconds, word)``, with Oops as ``(seconds, number taken back, edge)``."""
    out = []
    for seq, (s, what, *edge) in enumerate(rows, 1):
        says: dict[str, Any] = {"lever": what, "how": "pad"}
        if not isinstance(what, str):
            says = {
                "of": what,
                "about": "oops",
                **({"edge_ms": T0 + edge[0] * 1000} if edge else {}),
            }
        kind = "lever" if isinstance(what, str) else "undo"
        out.append(Mark(T0 + s * 1000, kind, DEV, seq, says))
    return out


def answered(marks: list[Mark], word: str) -> list[Mark]:
    """With the entries that the desk writes for an answer (``desk/time/changes.ts``)."""
    (question,) = taken_back(hide(marks))
    at = question["answers"][word]
    made: list[tuple[int, str, dict[str, Any]]] = [
        (question["to_ms"], "say", {"about": "oops", "of": question["seq"], "answer": word})
    ]
    if at is not None:
        made.append((at, "lever", {"lever": question["lever"], "how": "afterwards"}))
        if question["again_seq"] is not None:
            made.append((question["to_ms"], "undo", {"of": question["again_seq"]}))
    return [
        *marks,
        *(
            Mark(t, kind, DESK, n, {**says, "of_dev": DEV})
            for n, (t, kind, says) in enumerate(made, 1)
        ),
    ]


def taps(marks: list[Mark]) -> list[tuple[float, bool]]:
    return [(tap.t_s, tap.down) for tap in tapped(hide(marks), T0)[0]]


LATE = logged((10, "down"), (100, "up"), (103, 2, 88))
AGAIN = logged((10, "down"), (100, "up"), (103, 2, 88), (105, "up"), (150, "down"))


def test_it_is_asked_once_with_the_moments_that_fit_between_its_neighbours() -> None:
    (question,) = taken_back(hide(LATE))
    assert (question["dev"], question["seq"], question["lever"]) == (DEV, 2, "up")
    assert (question["from_ms"], question["to_ms"]) == (T0 + 100_000, T0 + 103_000)
    assert question["answers"] == {
        **{"leave": None, "oops": T0 + 103_000},
        **{"edge": T0 + 88_000, "before": T0 + 90_000},
    }
    soon = logged((95, "down"), (100, "up"), (103, 2, 88))
    assert list(taken_back(hide(soon))[0]["answers"]) == ["leave", "oops"]
    assert taken_back(hide(logged((10, "down"), (100, "up")))) == []


@pytest.mark.parametrize(("word", "s"), [("oops", 103), ("edge", 88), ("before", 90)])
def test_it_counts_as_made_at_the_moment_that_was_answered(word: str, s: int) -> None:
    after = answered(LATE, word)
    assert taps(after) == [(10, True), (s, False)]
    assert taken_back(hide(after)) == []


def test_it_stays_away_where_that_was_the_answer() -> None:
    after = answered(LATE, "leave")
    assert taps(after) == [(10, True)]
    assert taken_back(hide(after)) == []


def test_it_gives_way_where_it_was_pressed_again_and_stands_where_that_was_right() -> None:
    assert list(taken_back(hide(AGAIN))[0]["answers"]) == ["again", "edge", "before"]
    assert taps(answered(AGAIN, "again")) == [(10, True), (105, False), (150, True)]
    assert taps(answered(AGAIN, "edge")) == [(10, True), (88, False), (150, True)]


def test_an_answer_given_on_the_phone_ends_the_asking_and_another_phone_s_does_not() -> None:
    said = {"about": "oops", "of": 2, "answer": "leave"}
    mine = Mark(T0 + 200_000, "say", DEV, 9, said)
    assert taken_back(hide([*LATE, mine])) == []
    other = Mark(T0 + 200_000, "say", "another", 9, said)
    assert len(taken_back(hide([*LATE, other]))) == 1


def test_an_oops_that_was_itself_taken_back_is_not_asked_about() -> None:
    undone = Mark(T0 + 104_000, "undo", DEV, 4, {"of": 3})
    assert taken_back(hide([*LATE, undone])) == []
