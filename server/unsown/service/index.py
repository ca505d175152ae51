"""Sorting entries into works: by the paddock a fix lies near, and by the day of the farm."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from unsown.core.words import Bools
from unsown.service.calendar import NO_SEASON, Calendar
from unsown.service.fence import Fence
from unsown.service.words import ODD_AHEAD_MS, ODD_BEHIND_MS
from unsown.store.chunks import Chunk
from unsown.store.index import Rows

Says = Mapping[str, Any]


def rows_of(
    chunk: Chunk, entries: Sequence[Says], fences: Mapping[str, Fence], calendar: Calendar
) -> Rows:
    """The index rows of one chunk; ``entries`` are its lines, read, in order."""
    numbers = np.arange(chunk.first, chunk.last + 1)
    t_ms = np.array([e["t_ms"] for e in entries], dtype=np.int64)
    days = np.array([calendar.day(t) for t in t_ms.tolist()])
    fix = np.array([e["kind"] == "fix" for e in entries], dtype=bool)
    lat, lon = (_degrees(entries, key) for key in ("lat_deg", "lon_deg"))
    fix &= (np.abs(lat) <= 90) & (np.abs(lon) <= 180) & ~((lat == 0) & (lon == 0))
    near = {id_: fix & fence.has(lon, lat) for id_, fence in fences.items()}
    near = {id_: some for id_, some in near.items() if some.any()}
    placed = np.zeros(len(entries), dtype=bool)
    for some in near.values():
        placed |= some
    return Rows(
        spans=[_span(day, days == day, fix, placed, lon, lat) for day in np.unique(days).tolist()],
        touches=[
            {
                "paddock": id_,
                "day": day,
                "season": int(day[:4]),
                "dev": chunk.dev,
                "last": int(numbers[here].max()),
                "fixes": int(here.sum()),
                "from_ms": int(t_ms[here].min()),
                "to_ms": int(t_ms[here].max()),
            }
            for id_, some in near.items()
            for day in np.unique(days[some]).tolist()
            if int(day[:4]) != NO_SEASON
            for here in [some & (days == day)]
        ],
        marks=[
            _mark(chunk.dev, int(seq), says, day)
            for seq, says, day in zip(numbers.tolist(), entries, days.tolist(), strict=True)
            if says["kind"] != "fix"
        ],
        clock=_clock(chunk, numbers, t_ms),
    )


def _degrees(entries: Sequence[Says], key: str) -> np.ndarray:
    """A column of degrees; NaN for what is no fix."""
    found = [e.get(key) if e["kind"] == "fix" else None for e in entries]
    return np.array([np.nan if v is None else v for v in found], dtype=np.float64)


def _span(
    day: str, mine: Bools, fix: Bools, placed: Bools, lon: np.ndarray, lat: np.ndarray
) -> dict[str, Any]:
    here = mine & fix
    box = (lon[here].min(), lat[here].min(), lon[here].max(), lat[here].max()) if here.any() else ()
    sides = ("west_deg", "south_deg", "east_deg", "north_deg")
    return {
        "day": day,
        "season": int(day[:4]),
        "entries": int(mine.sum()),
        "fixes": int(here.sum()),
        "loose": int((here & ~placed).sum()),
        **dict.fromkeys(sides),
        **{side: float(value) for side, value in zip(sides, box, strict=False)},
    }


def _mark(dev: str, seq: int, says: Says, day: str) -> dict[str, Any]:
    undo = says["kind"] == "undo"
    return {
        "dev": dev,
        "seq": seq,
        "t_ms": says["t_ms"],
        "day": day,
        "season": int(day[:4]),
        "kind": says["kind"],
        "paddock": says.get("paddock"),
        "of_dev": (says.get("of_dev") or dev) if undo else None,
        "of_seq": says.get("of") if undo else None,
    }


def _clock(chunk: Chunk, numbers: np.ndarray, t_ms: np.ndarray) -> dict[str, Any] | None:
    """How many entries are stamped after they came, or long before, and the worst of them."""
    starts = np.array([n for n, _ in chunk.received])
    came = np.array([ms for _, ms in chunk.received], dtype=np.int64)
    off = t_ms - came[np.searchsorted(starts, numbers, side="right") - 1]
    odd = (off > ODD_AHEAD_MS) | (off < -ODD_BEHIND_MS)
    if not odd.any():
        return None
    worst = off[odd][np.argmax(np.abs(off[odd]))]
    return {"dev": chunk.dev, "entries": int(odd.sum()), "worst_ms": int(worst)}


def odd_notes(entries: Mapping[int, Says], received_ms: int, *, old: bool = False) -> list[str]:
    """What to say of a sending whose clock is wrong; ``old``: it may well be of long ago."""
    off = [says["t_ms"] - received_ms for says in entries.values()]
    count = Counter(
        "ahead of" if ms > ODD_AHEAD_MS else "more than 400 days behind"
        for ms in off
        if ms > ODD_AHEAD_MS or (ms < -ODD_BEHIND_MS and not old)
    )
    return [
        f"{n} entries are stamped {where} this computer's clock: kept as they came"
        for where, n in sorted(count.items())
    ]
