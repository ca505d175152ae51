"""Whether the speed a phone reports agrees with the way that its positions go.

Some files carry km/h or knots; some loggers write nought, or always the same, while they drive. All
is compared over some ten seconds, over which the noise of a position says little beside the way.
"""

from __future__ import annotations

import numpy as np

from unsown.core.noise import OFTEN_S
from unsown.core.words import Bools, Floats

#: Reported speeds that differ from the way by more than this factor are not used.
SPEED_FITS = 1.4
#: The way is looked at over this long, s, where no two fixes lie further apart than that, s.
_ROUND_S, _APART_S = 10.0, 6.5
#: Slower than this is driving neither by the report nor by the way, m/s; so many rounds tell.
_DRIVES_M_S, _ROUNDS = 1.0, 30
#: A way is plain where it is longer than this, m, than so many sigmas, and faster than this, m/s.
_PLAIN_M, _PLAIN_SIGMAS, _PLAIN_M_S = 3.0, 6.0, 0.6
#: A report that never changes by more than this, m/s, is wrong where the way is so much shorter.
_SAME_M_S, _STANDS = 0.01, 0.3
#: Reports slower than this say that it stands, m/s (as in ``stand``).
_STAND_M_S = 0.25
#: No stand is so short, s; both beside it report more than this, m/s, and the way is that share of
#: theirs and so many sigmas.
_SHORT_S, _BESIDE_M_S, _SHARE, _SHORT_SIGMAS = 4.0, 0.5, 0.75, 3.0
#: A phone on a stand may leap: most of the ways this long about a fix must be plain, s.
_ABOUT_S = 15.0


def fits(t: Floats, x: Floats, y: Floats, v: Floats, sigma_m: float) -> bool:
    """Whether the reported speed of a whole log agrees with the way; NaN where not given.

    ``sigma_m`` is the quick noise of a position: by 4σ² it lengthens the square of every way.
    """
    n = len(t)
    given = np.isfinite(v)
    if given.sum() < _ROUNDS:
        return True
    a = np.arange(n)
    b = np.searchsorted(t, t + _ROUND_S)
    a, b = a[b < n], b[b < n]
    far = np.r_[0, np.cumsum(np.diff(t) > _APART_S)]
    count = np.r_[0, np.cumsum(given)]
    total = np.r_[0.0, np.cumsum(np.where(given, v, 0.0))]
    heard = count[b + 1] - count[a]
    whole = (far[a] == far[b]) & (2 * heard > b - a)
    a, b, heard = a[whole], b[whole], heard[whole]
    told = (total[b + 1] - total[a]) / heard
    square = (x[b] - x[a]) ** 2 + (y[b] - y[a]) ** 2
    shown = np.sqrt(np.maximum(square - 4 * sigma_m**2, 0.0)) / (t[b] - t[a])
    plain = (shown > _DRIVES_M_S) & (square > (_PLAIN_SIGMAS * sigma_m) ** 2)
    # always the same may be right while it drives, but it stands at times
    if (
        np.abs(v[given] - v[given][0]).max() < _SAME_M_S
        and (shown < _STANDS * told).sum() >= _ROUNDS
    ):
        return False
    drives = (told > _DRIVES_M_S) | plain
    if drives.sum() < _ROUNDS:
        return True
    middle = float(np.median(shown[drives] / np.maximum(told[drives], 1e-9)))
    return 1 / SPEED_FITS < middle < SPEED_FITS


def belied(t: Floats, x: Floats, y: Floats, v: Floats, sigma_m: float) -> Bools:
    """Reports of standing by a phone that plainly goes on meanwhile, shape (n,)."""
    n = len(t)
    out = np.zeros(n, dtype=bool)
    edges = np.flatnonzero(np.diff(np.r_[0, (v < _STAND_M_S).astype(np.int8), 0]))
    for first, end in zip(edges[::2], edges[1::2], strict=True):
        low, high = max(first - 1, 0), min(end, n - 1)
        at = np.arange(first, end)
        a = np.maximum(np.searchsorted(t, t[at] - _ROUND_S / 2), low)
        b = np.minimum(np.searchsorted(t, t[at] + _ROUND_S / 2, side="right") - 1, high)
        way = np.hypot(x[b] - x[a], y[b] - y[a])
        plain = (way > max(_PLAIN_M, _PLAIN_SIGMAS * sigma_m)) & (way > _PLAIN_M_S * (t[b] - t[a]))
        span, beside = t[high] - t[low], min(v[low], v[high])
        if span <= _SHORT_S and beside > _BESIDE_M_S:
            share = _SHARE * (v[low] + v[high]) / 2 * span
            plain |= way > max(share, _SHORT_SIGMAS * sigma_m)
        count = np.r_[0, np.cumsum(plain)]
        lo = np.searchsorted(t[at], t[at] - _ABOUT_S)
        hi = np.searchsorted(t[at], t[at] + _ABOUT_S, side="right")
        out[first:end] = 2 * (count[hi] - count[lo]) > hi - lo
    return out


def dead_reckoned(
    t: Floats, x: Floats, y: Floats, v: Floats, course_rad: Floats
) -> tuple[Floats, Floats]:
    """The way by reported speed and course alone, x and y (n,), m: free of the positions' noise.

    A step is as the positions have it where either report is missing or the fixes are seldom.
    """
    told = np.diff(t) <= OFTEN_S
    half = np.diff(t) / 2
    east, north = v * np.cos(course_rad), v * np.sin(course_rad)
    told &= np.isfinite(east[:-1] + east[1:])
    dx = np.where(told, half * (east[:-1] + east[1:]), np.diff(x))
    dy = np.where(told, half * (north[:-1] + north[1:]), np.diff(y))
    return np.r_[0.0, np.cumsum(dx)], np.r_[0.0, np.cumsum(dy)]
