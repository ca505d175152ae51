"""The day second by second: where the bar was and how it moved, stops and gaps left out.

A tick is one second in which the rig moved. Standing and blind stretches have no ticks: they
say nothing of the lever, and 40 minutes at the truck must not outvote a run.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.clean import Track
from unsown.core.trail import Trail
from unsown.core.words import Bools, Floats, Rig

#: A stretch counts as straight for the day's working speed when it bends less over this way.
_STRAIGHT_M, _STRAIGHT_RAD = 25.0, 0.12
#: Slower than this is neither work nor a turn worth weighing, m/s.
_SLOW_M_S = 0.3


@dataclass(frozen=True)
class Ticks:
    """One row a moving second, arrays of shape (n,).

    ``x_m, y_m`` is the middle of the bar halfway between front and rear rank, ``heading_rad``
    the tool's heading, ``nose_rad`` the tractor's, ``way_m`` the forward way of the bar so far.
    ``stood`` and ``gap`` tell whether a standing or a blind stretch lies between the tick
    before and this one. ``usual_m_s`` is the day's working speed.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    nose_rad: Floats
    bend_1_m: Floats
    speed_m_s: Floats
    way_m: Floats
    backing: Bools
    stood: Bools
    gap: Bools
    usual_m_s: float

    def __len__(self) -> int:
        return len(self.t_s)


def ticks(track: Track, trail: Trail, rig: Rig) -> Ticks:
    """One tick a second from a cleaned track and the trail of its tool."""
    first, last = float(trail.t_s[0]), float(trail.t_s[-1])
    t = np.arange(first, last + 1e-6, 1.0)
    step = np.clip(np.searchsorted(trail.t_s, t, side="right") - 1, 0, len(trail) - 2)
    still, blind = trail.standing[step], trail.blind[step]
    keep = np.flatnonzero(~still & ~blind)
    stood = _between(still, keep)
    gap = _between(blind, keep)
    t, step = t[keep], step[keep]

    def at(values: Floats) -> Floats:
        return np.asarray(np.interp(t, trail.t_s, values))

    heading = at(trail.heading_rad)
    middle = (rig.tool.front_rank_m + rig.tool.rear_rank_m) / 2
    m = track.motion
    nose = np.interp(t, track.t_s, m.heading_rad)
    speed = np.abs(np.interp(t, track.t_s, m.speed_m_s))
    rate = np.interp(t, track.t_s, m.turn_rad_s)
    way = at(trail.path_m)
    return Ticks(
        t_s=t,
        x_m=at(trail.x_m) + middle * np.cos(heading),
        y_m=at(trail.y_m) + middle * np.sin(heading),
        heading_rad=heading,
        nose_rad=np.asarray(nose),
        bend_1_m=np.asarray(rate / np.maximum(speed, 0.5)),
        speed_m_s=np.asarray(speed),
        way_m=way,
        backing=trail.backing[step],
        stood=stood,
        gap=gap,
        usual_m_s=_usual(way, nose, speed),
    )


def _between(flag: Bools, keep: np.ndarray) -> Bools:
    """Whether any flagged second lies between each kept second and the kept one before."""
    count = np.r_[0, np.cumsum(flag)]
    here = count[keep]
    return np.asarray(np.diff(np.r_[0, here]) > 0)


def turned(way: Floats, nose: Floats, reach_m: float) -> Floats:
    """Largest change of heading within a way ahead (negative ``reach_m``: behind), radians."""
    out = np.zeros(len(way))
    if len(way) < 2:
        return out
    rising = way + np.arange(len(way)) * 1e-9
    for part in np.linspace(reach_m / 6, reach_m, 6):
        out = np.maximum(out, np.abs(np.interp(way + part, rising, nose) - nose))
    return out


def _usual(way: Floats, nose: Floats, speed: Floats) -> float:
    straight = (turned(way, nose, _STRAIGHT_M) < _STRAIGHT_RAD) & (
        turned(way, nose, -_STRAIGHT_M) < _STRAIGHT_RAD
    )
    moving = speed > _SLOW_M_S
    pool = speed[straight & moving]
    if len(pool) < 60:
        pool = speed[moving]
    return float(np.median(pool)) if len(pool) else 2.0
