"""Answers to a day's questions, as the log entries they are.

A ``blind`` entry for a stretch without positions, a ``say`` entry with ``about`` for any other;
both with the stretch's ``from_ms`` and ``to_ms`` and the ``answer`` (docs/reference/log.md).
"""

from __future__ import annotations

from collections.abc import Sequence

from unsown.core.errors import UnsownError
from unsown.core.words import Mark, Question

DESK = "desk"


def split(given: Sequence[str]) -> dict[int, str]:
    """``["1=down", "2=up"]`` as numbers and words.

    Raises:
        UnsownError: not NUMBER=WORD, or a number twice.
    """
    found: dict[int, str] = {}
    for text in given:
        number, sign, word = text.partition("=")
        if not sign or not number.strip().isdecimal() or not word.strip():
            raise UnsownError(
                "answer-form",
                f"--answer {text!r}: NUMBER=WORD was expected.",
                hint="Such as --answer 1=down.",
            )
        if int(number) in found:
            raise UnsownError(
                "answer-twice",
                f"Question {int(number)} is answered twice.",
                hint="Give one answer to each.",
            )
        found[int(number)] = word.strip().lower()
    return found


def to_marks(
    answers: dict[int, str], questions: Sequence[Question], after: Sequence[Mark] = ()
) -> list[Mark]:
    """One log entry an answer, numbered after the entries in ``after`` that the desk wrote.

    Raises:
        UnsownError: no such question, or a word that is none of its answers.
    """
    asked = {question.number: question for question in questions}
    seq = max((mark.seq for mark in after if mark.phone == DESK), default=0)
    marks = []
    for number, word in sorted(answers.items()):
        question = asked.get(number)
        if question is None:
            have = f"1 to {len(asked)}" if asked else "none at all"
            raise UnsownError(
                "answer-number",
                f"There is no question {number}; this day has {have}.",
                hint="Numbers are those of the list printed without --answer.",
            )
        if word not in question.answers:
            words = ", ".join(question.answers)
            raise UnsownError(
                "answer-word",
                f"Question {number} was answered {word!r}; it takes: {words}.",
            )
        seq += 1
        marks.append(_entry(question, word, seq))
    return marks


def _entry(question: Question, word: str, seq: int) -> Mark:
    kind = "blind" if question.kind == "blind" else "say"
    says: dict[str, object] = {
        "from_ms": question.from_ms,
        "to_ms": question.to_ms,
        "answer": word,
    }
    if question.phone:
        says["of_dev"] = question.phone
    if kind == "say":
        says |= {"about": question.kind, "prompt": question.text}
    return Mark(question.to_ms, kind, DESK, seq, says)
