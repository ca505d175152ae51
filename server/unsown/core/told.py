"""What the driver told: taps as they were made, and answers to questions.

A tap is a ``lever`` entry; one made afterwards (``how`` is ``afterwards``) is as good as any.
An answer is a ``say`` or ``blind`` entry with ``from_ms``, ``to_ms`` and ``answer``: ``down`` or
``up`` is the state in that stretch, ``swapped`` or ``right`` what the taps in it meant,
``unsure`` leaves it doubt without asking again. A ``flow`` entry that says off is an answer too;
without ``since_ms`` it is a question as well: since when?
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from unsown.core.words import Mark

#: The same word again within this is one press, s.
AGAIN_S = 3.0
#: How far off an estimated "since" may be, as a share of the time gone by.
FLOW_SLACK = 1.0 / 3.0
#: Without an estimate seed is in doubt since the last lowering, but for no longer than this, s.
FLOW_BACK_S = 600.0
ANSWERS = ("down", "up", "swapped", "right", "unsure")
#: The word of a stretch that nobody has answered for yet.
OPEN = "open"


@dataclass(frozen=True)
class Tap:
    """The lever's new state, at lever time in seconds since the day's first fix."""

    t_s: float
    down: bool


@dataclass(frozen=True)
class Answer:
    """One answered stretch, seconds since the day's first fix; ``word`` is one of ANSWERS.

    Where flow was said to be off without since when, the stretch before it has the word OPEN.
    """

    from_s: float
    to_s: float
    word: str
    about: str = ""

    def covers(self, from_s: float, to_s: float) -> bool:
        """Whether it answers for (from_s, to_s): the larger part of either lies in both."""
        both = min(self.to_s, to_s) - max(self.from_s, from_s)
        return both >= 0.5 * min(self.to_s - self.from_s, to_s - from_s) and both >= 0


def tapped(marks: Sequence[Mark], t0_ms: int) -> tuple[list[Tap], list[str]]:
    """Every tap in order of time, doubled presses counted once, and notes on those."""
    levers = sorted((m for m in marks if m.kind == "lever"), key=lambda m: (m.t_ms, m.phone, m.seq))
    out: list[Tap] = []
    doubled = 0
    for mark in levers:
        word = str(mark.says.get("lever", ""))
        if word not in ("down", "up"):
            continue
        tap = Tap((mark.t_ms - t0_ms) / 1000.0, word == "down")
        if out and out[-1].down == tap.down and tap.t_s - out[-1].t_s < AGAIN_S:
            doubled += 1
            continue
        out.append(tap)
    notes = [f"{doubled} taps repeated within {AGAIN_S:g} s counted once"] if doubled else []
    return out, notes


def answered(marks: Sequence[Mark], t0_ms: int) -> list[Answer]:
    """Every usable answer in order of time; of two for the same stretch the later one counts.

    Entries without a stretch or with another word are not answers to these questions.
    """
    out: list[Answer] = []
    for mark in sorted(marks, key=lambda m: (m.t_ms, m.seq)):
        if mark.kind not in ("say", "blind"):
            continue
        word = str(mark.says.get("answer", "")).strip().lower()
        start, end = _ms(mark.says.get("from_ms")), _ms(mark.says.get("to_ms"))
        if word not in ANSWERS or start is None or end is None or end < start:
            continue
        about = "blind" if mark.kind == "blind" else str(mark.says.get("about", ""))
        new = Answer((start - t0_ms) / 1000.0, (end - t0_ms) / 1000.0, word, about)
        same = [a for a in out if a.about == new.about and a.from_s == new.from_s]
        out = [a for a in out if a not in same or a.to_s != new.to_s]
        out.append(new)
    since = [a for a in out if a.about == "flow"]
    others = [a for a in out if a.about != "flow"]
    return sorted([*others, *_flow(marks, t0_ms, since)], key=lambda a: a.from_s)


def _flow(marks: Sequence[Mark], t0_ms: int, given: Sequence[Answer]) -> list[Answer]:
    """Stretches in which nothing flowed: ``up`` where surely, ``unsure`` where it began.

    ``since_ms`` is an estimate made afterwards: a third of the time since then may be wrong
    either way, unless ``since_spread_ms`` says how much. It lasts until the flow is said to be on,
    else until the next lift. Without it the stretch since the last lowering is in doubt, until
    ``given`` answers for that.
    """
    rows = sorted(
        (m for m in marks if m.kind == "flow" or m.says.get("lever") in ("down", "up")),
        key=lambda m: (m.t_ms, m.seq),
    )
    out: list[Answer] = []
    for i, mark in enumerate(rows):
        if mark.kind != "flow" or str(mark.says.get("flow", "")).lower() != "off":
            continue
        said = (mark.t_ms - t0_ms) / 1000.0
        since = _ms(mark.says.get("since_ms"))
        begun = said if since is None else min(said, (since - t0_ms) / 1000.0)
        if since is None:
            start = _lowered(rows[:i], said, t0_ms)
            mine = [a.word for a in given if a.covers(start, said)]
            word = mine[-1] if mine else OPEN
            if word == "up":
                begun = start
            elif word != "down" and start < said:
                out.append(Answer(start, said, word, "flow"))
        later = [m for m in rows[i + 1 :] if m.kind == "flow" and m.says.get("flow") == "on"]
        later = later or [m for m in rows[i + 1 :] if m.says.get("lever") == "up"]
        end = (later[0].t_ms - t0_ms) / 1000.0 if later else float("inf")
        slack = 0.0 if since is None else (said - begun) * FLOW_SLACK
        spread = _ms(mark.says.get("since_spread_ms"))
        if since is not None and spread is not None:
            slack = max(spread / 1000.0, 0.0)
        if slack > 0:
            out.append(Answer(begun - slack, begun + slack, "unsure", "flow"))
        if begun + slack < end:
            out.append(Answer(begun + slack, end, "up", "flow"))
    return out


def _lowered(before: Sequence[Mark], said_s: float, t0_ms: int) -> float:
    """When the tool last went down, at most FLOW_BACK_S before ``said_s``."""
    found = said_s - FLOW_BACK_S
    state = "up"
    for mark in before:
        word = str(mark.says.get("lever", state))
        if word == "down" and state != "down":
            found = (mark.t_ms - t0_ms) / 1000.0
        state = word
    return max(found, said_s - FLOW_BACK_S)


def _ms(value: Any) -> int | None:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return round(value) if plain and math.isfinite(value) else None
