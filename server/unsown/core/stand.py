"""When the vehicle stands: a parked phone wanders by metres, and that is no travel.

Two things show it. Over a few seconds the phone hardly moves (by its reported speed, or by its
positions where it reports none). Or all positions of a whole minute lie within a few metres:
a satellite picture wanders faster than a vehicle creeps, but it does not get anywhere. The
second needs no speed and hears no noise; the first finds where the stand begins and ends.
"""

from __future__ import annotations

import numpy as np

from unsown.core.words import Bools, Floats

#: Slower than this for at least this long is standing, m/s and s.
STAND_M_S, STAND_S = 0.25, 4.0
#: All positions of this many seconds within this box (diagonal) is standing too, s and m.
PARKED_S, PARKED_M = 60.0, 10.0
#: The diagonal of a minute of white noise alone is six to seven sigmas.
PARKED_SIGMAS = 8.0
_BIN_S = 10.0


def standing(
    t_s: Floats, x_m: Floats, y_m: Floats, speed_m_s: Floats, sigma_m: float = 0.0
) -> Bools:
    """Fixes of stretches in which the vehicle does not move, shape (n,).

    Args:
        t_s: increasing times, seconds, shape (n,).
        x_m: east, m.
        y_m: north, m.
        speed_m_s: reported speed, NaN where not given.
        sigma_m: quick noise of a position, m: it fills a box too.
    """
    slow = _slow(t_s, x_m, y_m, speed_m_s)
    mask = np.zeros(len(t_s), dtype=bool)
    for first, last in stretches(slow):
        if t_s[last] - t_s[first] >= STAND_S:
            mask[first : last + 1] = True
    for first, last in stretches(_parked(t_s, x_m, y_m, max(PARKED_M, PARKED_SIGMAS * sigma_m))):
        inside = np.flatnonzero(slow[first : last + 1]) + first
        if len(inside) and t_s[inside[-1]] - t_s[inside[0]] >= PARKED_S / 2:
            mask[inside[0] : inside[-1] + 1] = True
    return mask


def held(x_m: Floats, y_m: Floats, stands: Bools) -> tuple[Floats, Floats]:
    """Ends of standing stretches put at the mean of their first and of their last few fixes."""
    x, y = x_m.copy(), y_m.copy()
    for first, last in stretches(stands):
        few = min(3, last - first + 1)
        for a in (x, y):
            head, tail = a[first : first + few].mean(), a[last + 1 - few : last + 1].mean()
            a[first], a[last] = head, tail
    return x, y


def stretches(mask: Bools) -> list[tuple[int, int]]:
    """First and last index of every unbroken stretch of True."""
    edges = np.flatnonzero(np.diff(np.r_[0, mask.astype(np.int8), 0]))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _slow(t: Floats, x: Floats, y: Floats, v: Floats) -> Bools:
    n = len(t)
    half = STAND_S / 2
    ahead = np.minimum(np.searchsorted(t, t + half), n - 1)
    behind = np.maximum(np.searchsorted(t, t - half, side="right") - 1, 0)
    shown = np.hypot(x[ahead] - x[behind], y[ahead] - y[behind]) / np.maximum(
        t[ahead] - t[behind], 1.0
    )
    return np.asarray(np.where(np.isfinite(v), v < STAND_M_S, shown < STAND_M_S))


def _parked(t: Floats, x: Floats, y: Floats, within_m: float) -> Bools:
    """Fixes inside some span of PARKED_S whose positions all lie that near together."""
    span = round(PARKED_S / _BIN_S)
    place = ((t - t[0]) // _BIN_S).astype(np.int64)
    first = np.flatnonzero(np.r_[True, np.diff(place) > 0])
    bins = place[first]
    low = [np.minimum.reduceat(a, first) for a in (x, y)]
    high = [np.maximum.reduceat(a, first) for a in (x, y)]
    wide = np.zeros(max(len(bins) - span + 1, 0))
    for a, b in zip(low, high, strict=True):
        if len(wide):
            view = np.lib.stride_tricks.sliding_window_view
            wide = np.hypot(wide, view(b, span).max(axis=1) - view(a, span).min(axis=1))
    # only whole minutes count: a gap inside would hide a drive out and back
    whole = bins[span - 1 :] - bins[: len(wide)] == span - 1
    starts = np.flatnonzero(whole & (wide < within_m))
    parked = np.zeros(len(bins), dtype=bool)
    for k in range(span):
        parked[starts + k] = True
    return np.asarray(np.repeat(parked, np.diff(np.r_[first, len(t)])))
