"""An answer is a log entry: who says it, about what stretch, and what."""

from __future__ import annotations

import pytest

import tallies
from unsown.commands.answers import DESK, split, to_marks
from unsown.core.errors import UnsownError
from unsown.core.words import Mark


def test_an_answer_becomes_an_entry_of_the_desk_with_the_questions_times() -> None:
    (question,) = tallies.day().questions
    (mark,) = to_marks({1: "down"}, [question])
    assert (mark.kind, mark.phone, mark.seq) == ("blind", DESK, 1)
    assert mark.says == {"from_ms": question.from_ms, "to_ms": question.to_ms, "answer": "down"}


def test_answers_are_numbered_after_those_given_before() -> None:
    before = [Mark(1, "blind", DESK, 4), Mark(2, "lever", "cab", 900)]
    (mark,) = to_marks({1: "up"}, tallies.day().questions, before)
    assert mark.seq == 5


def test_words_are_taken_in_any_case_and_with_spaces() -> None:
    assert split(["1=Down", " 2 = up "]) == {1: "down", 2: "up"}


@pytest.mark.parametrize("text", ["down", "=down", "one=down", "1=", "-1=down", ""])
def test_what_is_not_number_and_word_is_refused(text: str) -> None:
    with pytest.raises(UnsownError, match="NUMBER=WORD"):
        split([text])


def test_a_word_that_is_no_answer_names_those_that_are() -> None:
    with pytest.raises(UnsownError, match="down, up, unsure"):
        to_marks({1: "maybe"}, tallies.day().questions)
