"""Logs of phones that hand a log on, or do not: presses of the lever and the taking over."""

from __future__ import annotations

import json
from typing import Any

T0 = 1_777_636_800_000
MINUTE = 60_000
Entry = dict[str, Any]


def at(minute: float, kind: str, **says: Any) -> Entry:
    return {"kind": kind, "t_ms": T0 + round(minute * MINUTE), **says}


def presses(*minutes: float) -> list[Entry]:
    words = ("down", "up")
    return [at(m, "lever", lever=words[i % 2], how="pad") for i, m in enumerate(minutes)]


def taking(minute: float, dev: str, seq: int) -> list[Entry]:
    """What the phone that takes over logs first."""
    return [
        at(minute, "lever", lever="up", how="afterwards"),
        at(minute, "shift", shift="start", driver="night", from_dev=dev, from_seq=seq),
    ]


def text(dev: str, entries: list[Entry]) -> bytes:
    rows = [{"v": 1, "dev": dev, "seq": i + 1, **entry} for i, entry in enumerate(entries)]
    return "".join(json.dumps(row) + "\n" for row in rows).encode()


#: The first phone pressed twice; its log was handed on after these two.
FIRST = presses(0, 5)
