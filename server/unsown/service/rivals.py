"""Two phones that both keep one log: one took it over, and the other went on all the same.

The phones themselves notice it only when the log of one reaches the other. Here both are: the
taking over names the log that was gone on from and its last entry, and whatever that phone logged
of its lever afterwards is a second telling of one rig.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from unsown.service.rigcards import named_in
from unsown.store import chunks, index

#: Presses on both after the taking over; fewer are a slip while the file was handed on.
_MANY = 2
#: Taking over that lies further back is no news, ms.
_SINCE_MS = 30 * 86_400_000
_EVER_MS = 2**62


@dataclass(frozen=True)
class Rivals:
    """The phone that was gone on from, the one that took over, and when both kept the log, ms."""

    earlier: str
    later: str
    since_ms: int
    until_ms: int


def rivals(conn: Connection, now_ms: int) -> list[Rivals]:
    """Phones that both kept one log within the last month, the newest first."""
    taken = _taken(conn, now_ms - _SINCE_MS)
    out = []
    for dev, seq, t_ms, says in taken:
        other, last = str(says["from_dev"]), int(says["from_seq"])
        if other == dev:
            continue
        # it may have taken the log back the same way
        back = min((t for d, _, t, s in taken if d == other and t > t_ms and s["from_dev"] == dev),
                   default=_EVER_MS)  # fmt: skip
        both = [index.levers(conn, other, last, back), index.levers(conn, dev, seq, back)]
        theirs, ours = ([t for t in some if t > t_ms] for some in both)
        if min(len(theirs), len(ours)) < _MANY or _two_rigs(conn, dev, other):
            continue
        since, until = max(theirs[0], ours[0]), min(theirs[-1], ours[-1])
        if since <= until:
            out.append(Rivals(other, dev, since, until))
    return sorted(out, key=lambda r: (-r.until_ms, r.earlier, r.later))


def rival_of(conn: Connection, dev: str, now_ms: int, lately_ms: int) -> str | None:
    """The phone that keeps the same log as this one and did so lately; None where there is none."""
    for each in rivals(conn, now_ms):
        if now_ms - each.until_ms <= lately_ms and dev in (each.earlier, each.later):
            return each.later if dev == each.earlier else each.earlier
    return None


def _taken(conn: Connection, since_ms: int) -> list[tuple[str, int, int, Mapping[str, Any]]]:
    """The takings over: writer, number, time, and what they say."""
    out = []
    for row in index.shifts(conn, since_ms):
        line = chunks.lines_between(conn, row.dev, row.seq, row.seq).get(row.seq)
        says = json.loads(line) if line else {}
        if says.get("from_dev") and isinstance(says.get("from_seq"), int):
            out.append((str(row.dev), int(row.seq), int(row.t_ms), says))
    return out


def _two_rigs(conn: Connection, *devs: str) -> bool:
    """Whether each of the phones named a rig card, and not the same one."""
    named = []
    for dev in devs:
        marks = index.rig_marks(conn, [dev], _EVER_MS)
        line = chunks.lines_between(conn, dev, marks[-1].seq, marks[-1].seq) if marks else {}
        named += [card for _, card in named_in(list(line.values()))]
    return len(named) == len(devs) and len(set(named)) > 1
