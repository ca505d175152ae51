"""Where the time in the paddock went: sowing, turning, standing, filling (job paper 3.16).

Time in a run is sowing; between runs the rig turns or stands; standing at a fill is filling. A
phone wanders by metres while it stands, so standing is told over a window, not from fix to fix.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from unsown.core.capacity import Hours
from unsown.core.words import Bools, Floats

#: Standing: moved by less than this over so much time around, m and s.
_STILL_M, _AROUND_S = 4.0, 20.0
#: A fill belongs to a stand that lies this near to it, s.
_FILL_S = 300.0

Span = tuple[float, float]


def spent(
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    runs: Sequence[Span],
    fills_s: Sequence[float],
    days: Sequence[Span],
) -> Hours:
    """Hours by what was done, over all days.

    Args:
        t_s: times of one rig's positions, rising; shape (n,).
        x_m: the same positions on the plane.
        y_m: the same.
        runs: from lever down to lever up, s.
        fills_s: when something was filled, s.
        days: from the first down to the last up of each day, s: what lies between is not counted.
    """
    if len(t_s) < 2:
        return Hours(0.0, 0.0, 0.0, 0.0)
    edges = np.unique([t for span in (*runs, *days) for t in span])
    at = np.union1d(t_s, edges[(edges > t_s[0]) & (edges < t_s[-1])])
    step, middle = np.diff(at), (at[1:] + at[:-1]) / 2
    counted, sowing = _within(middle, days), _within(middle, runs)
    still = _still(t_s, x_m, y_m, middle)
    filling = still & _at_fill(middle, still & counted, fills_s)

    def hours(which: Bools) -> float:
        return float(step[counted & which].sum()) / 3600

    return Hours(
        sowing_h=hours(sowing & ~still),
        turning_h=hours(~sowing & ~still),
        standing_h=hours(still & ~filling),
        filling_h=hours(filling),
    )


def _within(t: Floats, spans: Sequence[Span]) -> Bools:
    out = np.zeros(len(t), dtype=np.bool_)
    for begin, end in spans:
        out |= (t >= begin) & (t <= end)
    return out


def _still(t_s: Floats, x_m: Floats, y_m: Floats, at: Floats) -> Bools:
    before, after = at - _AROUND_S / 2, at + _AROUND_S / 2
    dx = np.interp(after, t_s, x_m) - np.interp(before, t_s, x_m)
    dy = np.interp(after, t_s, y_m) - np.interp(before, t_s, y_m)
    return np.asarray(np.hypot(dx, dy) < _STILL_M)


def _at_fill(t: Floats, still: Bools, fills_s: Sequence[float]) -> Bools:
    """The whole of every stand that a fill lies in or beside."""
    out = np.zeros(len(t), dtype=np.bool_)
    turns = np.flatnonzero(np.diff(np.r_[False, still, False].astype(np.int8)))
    for begin, end in zip(turns[::2], turns[1::2], strict=True):
        first, last = t[begin] - _FILL_S, t[end - 1] + _FILL_S
        if any(first <= fill <= last for fill in fills_s):
            out[begin:end] = True
    return out
