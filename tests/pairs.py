"""Two rigs in one paddock at once, each with its phone: logs, cards and ground."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import box

from drives import RIGID, START_MS, Drive, drive, fixes, marks, paddock
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


def after(first: Drive, second: Drive, wait_s: float = 300.0) -> Drive:
    """Two drives, with some minutes between them in which nothing was seen."""
    by = float(first.t_s[-1]) + wait_s
    names = ("x_m", "y_m", "heading_rad", "speed_m_s")
    columns = [np.concatenate([getattr(first, n), getattr(second, n)]) for n in names]
    levers = (*first.levers, *((t + by, word) for t, word in second.levers))
    return Drive(np.r_[first.t_s, second.t_s + by], *columns, levers)


def interleaved(across: bool) -> Log:
    """Two rigs of 8 m in one land, every other row each; and ``across``, in a second one too.

    The second rig's phone is 2.0 m north and 1.5 m east of where it is.
    """
    drives = []
    for k in (0, 1):
        d = drive(rows(6, 300.0, 15.6), at=(0.0, 7.8 * k, 0.0))
        if across:
            d = after(d, drive(rows(6, 300.0, 15.6), at=(420.0 - 7.8 * k, 0.0, np.pi / 2)))
        drives.append(d)
    # the other one begins a while later, so that they do not drive side by side
    late = replace(
        drives[1], t_s=drives[1].t_s + 400.0,
        levers=tuple((t + 400.0, word) for t, word in drives[1].levers),
    )  # fmt: skip
    a, b = noisy(fixes(drives[0]), 1, 0.05, 0.6), noisy(fixes(late), 2, 0.05, 0.6)
    taps = (*marks(drives[0].levers, "a"), *marks(late.levers, "b"))
    return Log(together(a, moved(b, 1.5, 2.0)), taps)


TWINS = [replace(RIGID, name=f"twin {p}", phones=(p,)) for p in "ab"]
