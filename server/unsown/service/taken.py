"""Presses of the pad that Oops took back and nobody has answered for: when should it have been?

The phone asks the same at its next stop, for a day (``web/src/cab/stand/taken.ts``); what is still
open when the log is home is asked at the desk, in the same words and with the same answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Any

from unsown.core.words import Mark
from unsown.formats.log import HIDDEN

ABOUT = "oops"
#: One of the answers: so long before it was pressed, ms.
BEFORE_MS = 10_000


def taken_back(marks: Sequence[Mark]) -> list[dict[str, Any]]:
    """A question for each Oops that nobody answered for, the oldest first.

    ``dev`` and ``seq`` name the press that was taken back, ``lever`` its word, ``from_ms`` and
    ``to_ms`` when it was pressed and when Oops was. ``answers`` are the moments that can be meant,
    UTC ms; None: the lever stays as it is now. ``again_seq`` is the same press made again
    meanwhile, which gives way to another answer; None where there was none.
    """
    found = [
        question
        for oops in marks
        if oops.kind == "undo" and oops.says.get("about") == ABOUT
        for question in _asked(oops, [m for m in marks if _of(m) == oops.phone])
    ]
    return sorted(found, key=lambda q: (q["to_ms"], q["dev"], q["seq"]))


def _of(mark: Mark) -> str:
    """The writer whose lever a mark is about: the desk names it."""
    return str(mark.says.get("of_dev") or mark.phone)


def _asked(oops: Mark, mine: Sequence[Mark]) -> list[dict[str, Any]]:
    of = oops.says.get("of")
    pressed = next(
        (m for m in mine if m.kind == HIDDEN and m.seq == of and m.phone == oops.phone), None
    )
    if pressed is None or any(
        m.kind == "say" and m.says.get("about") == ABOUT and m.says.get("of") == of for m in mine
    ):
        return []
    levers = sorted((m for m in mine if m.kind == "lever"), key=lambda m: (m.t_ms, m.seq))
    lever = "down" if pressed.says.get("lever") == "down" else "up"
    later = [m for m in levers if m.t_ms > pressed.t_ms]
    again = later.pop(0) if later and later[0].says.get("lever") == lever else None
    before = max((m.t_ms for m in levers if m.t_ms <= pressed.t_ms), default=-inf)
    after = later[0].t_ms if later else inf
    answers: dict[str, int | None] = {"again": None}
    if again is None:
        answers = {"leave": None, "oops": oops.t_ms}
    edge, back = oops.says.get("edge_ms"), pressed.t_ms - BEFORE_MS
    if isinstance(edge, int | float) and before < edge < after:
        answers["edge"] = round(edge)
    if before < back < after:
        answers["before"] = back
    return [
        {
            "dev": oops.phone, "seq": pressed.seq, "lever": lever,
            "from_ms": pressed.t_ms, "to_ms": oops.t_ms, "answers": answers,
            "again_seq": None if again is None else again.seq,
        }
    ]  # fmt: skip
