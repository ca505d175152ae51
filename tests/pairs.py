"""Two rigs in one paddock at once, each with its phone: logs, cards and ground."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import box

from drives import RIGID, START_MS, drive, fixes, marks, paddock
from hard import moved, noisy, rows
from unsown.core.words import Fixes, Log, Mark, Paddock, Tool

BIG = replace(RIGID, name="big", tool=Tool(8.4), phones=("a",))
SMALL = replace(RIGID, name="small", tool=Tool(6.0), phones=("b",))
ROWS, BIG_M, SMALL_M, LONG_M = 10, 8.1, 5.8, 400.0
#: Where the big rig's last row ends and the small rig's last begins, with 0.3 m of overlap.
MEET_M = (ROWS - 1) * BIG_M + 4.2
TOP_M = MEET_M - 0.3 + 3.0 + (ROWS - 1) * SMALL_M + 3.0


def together(*parts: Fixes) -> Fixes:
    """Fixes of phones a, b, c ... in one."""
    names = [n for n in parts[0].__dataclass_fields__ if n not in ("phones", "phone", "segment")]
    columns = {n: np.concatenate([getattr(p, n) for p in parts]) for n in names}
    which = np.concatenate([np.full(len(p), k) for k, p in enumerate(parts)])
    return replace(
        parts[0], **columns, phone=which, segment=which, phones=tuple("abcd"[: len(parts)])
    )


def both(
    gap_m: float = -0.3, offset_m: float = 0.0, seed: int | None = None, pegs: bool = False
) -> Log:
    """The big rig sows northwards, the small one towards it; it leaves a gap at the seam.

    With a seed, both phones drift; the small rig's is off to the north by ``offset_m``.
    """
    one = drive(rows(ROWS, LONG_M, BIG_M))
    top = MEET_M + gap_m + 3.0 + (ROWS - 1) * SMALL_M
    other = drive(rows(ROWS, LONG_M, SMALL_M), at=(LONG_M, top, np.pi))
    a, b = fixes(one), fixes(other)
    if seed is not None:
        a, b = noisy(a, seed, 0.1, 0.9), noisy(b, 100 + seed, 0.1, 0.9)
    b = moved(b, 0.0, offset_m)
    taps = (*marks(one.levers, "a"), *marks(other.levers, "b"))
    if pegs:
        taps += tuple(
            Mark(START_MS + 1000, "peg", phone, 900, {
                "name": "north peg", "lat_deg": float(f.lat_deg[0]), "lon_deg": float(f.lon_deg[0]),
            })
            for phone, f in (("a", fixes(one)), ("b", moved(fixes(one), 0.0, offset_m)))
        )  # fmt: skip
    return Log(together(a, b), taps)


def ground(fenced: bool = True) -> Paddock:
    """Just what both sow; or with so much around it that no fence tells where they are."""
    if fenced:
        return paddock(box(0.0, -4.2, LONG_M, TOP_M))
    return paddock(box(-60.0, -64.2, LONG_M + 60.0, TOP_M + 60.0))
