"""The phone that leaves the cab: out from a standing tractor and back to it (job paper 3.3)."""

from __future__ import annotations

import numpy as np

from unsown.core.clean import STAND, Track
from unsown.core.spans import Span, marked

#: Walking is no faster, lasts no longer, and ends this near to where it began.
FAST_M_S, LONG_S, BACK_M = 2.2, 900.0, 8.0
#: It goes at least this far from the tractor, and turns about at least this much.
AWAY_M, SPREAD_RAD = 3.0, np.radians(40.0)


def walks(track: Track) -> list[Span]:
    """Stretches in which the phone was walked with, seconds; both ends in a standing stretch.

    A rig that backs out of a bog and drives on over its own ground looks the same, and sows
    nothing new either.
    """
    standing = track.step == STAND
    out: list[Span] = []
    stops = marked(standing)
    m = track.motion
    for (_, left), (back, _) in zip(stops, stops[1:], strict=False):
        a, b = left, back
        if b - a < 5 or not 8.0 <= track.t_s[b] - track.t_s[a] <= LONG_S:
            continue
        x, y = m.x_m[a : b + 1], m.y_m[a : b + 1]
        away = np.hypot(x - x[0], y - y[0])
        if away[-1] > BACK_M or away.max() < max(AWAY_M, 2.0 * away[-1]):
            continue
        dt = np.diff(track.t_s[a : b + 1])
        speed = np.hypot(np.diff(x), np.diff(y)) / np.maximum(dt, 0.2)
        if float(np.quantile(speed, 0.9)) > FAST_M_S:
            continue
        moving = speed > 0.3
        way = np.arctan2(np.diff(y), np.diff(x))[moving]
        if len(way) < 4:
            continue
        together = float(np.hypot(np.cos(way).mean(), np.sin(way).mean()))
        if np.sqrt(-2 * np.log(max(together, 1e-9))) < SPREAD_RAD:
            continue
        out.append((float(track.t_s[a]), float(track.t_s[b])))
    return out
