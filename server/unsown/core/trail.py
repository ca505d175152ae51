"""Where the openers were: from the cleaned track and the rig card to poses of the tool."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.clean import BLIND, STAND, Track
from unsown.core.tow import bar
from unsown.core.words import Bools, Floats, Ints, Rig

#: Sagitta that a step along an arc may have, m: decides how finely a turn is walked.
_SAGITTA_M = 0.002
#: A tool swung further than this from the tractor, going forward, cannot be: a turn tighter
#: than its drawbar is being driven, or the card is wrong. Its heading is then not known.
_FOLDED_DEG = 100.0
#: Slower than this nothing is driven that tells a direction, m/s; nor by less way than this, m.
_CREEPING_M_S, _TOLD_M = 0.3, 3.0
#: What is not known of the tool's heading at the very start, degrees (job paper 3.4).
_START_SIGMA_DEG = 60.0


@dataclass(frozen=True)
class Trail:
    """Poses of the tool at dense times on the paddock's plane, arrays of shape (n,).

    ``x_m, y_m`` is the middle of the bar at the tool's axle (for a mounted tool at the
    tractor's rear axle), ``heading_rad`` the tool's heading. ``swing_sigma_rad`` is what is not
    known of that heading (after a start, a blind stretch or backing). ``path_m`` is the way
    the bar has gone forward, by speed, so that position noise does not lengthen it. ``backing``,
    ``blind`` and ``standing`` mark steps, shape (n - 1,). ``fix`` is the index of the cleaned
    fix at or before the pose.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    swing_sigma_rad: Floats
    path_m: Floats
    speed_m_s: Floats
    backing: Bools
    blind: Bools
    standing: Bools
    fix: Ints

    def __len__(self) -> int:
        return len(self.t_s)


def trail(track: Track, rig: Rig) -> Trail:
    """Tow the rig's tool along a cleaned track.

    A standing stretch is a jump of the picture, not of the machine: the chain is towed on the
    path with such jumps taken out and put back afterwards, so a parked phone that wanders
    seven metres does not swing the tool. Where the log begins standing, or a blind stretch ends so,
    the tool lies straight behind the first step that is driven: what a standing phone shows before
    it is noise, whose direction is any.
    """
    m, step = track.motion, track.step
    jump = step == STAND
    jx = np.r_[0.0, np.cumsum(np.where(jump, np.diff(m.x_m), 0.0))]
    jy = np.r_[0.0, np.cumsum(np.where(jump, np.diff(m.y_m), 0.0))]
    fix, part, x, y, course = _dense(track, m.x_m - jx, m.y_m - jy)
    nxt = np.minimum(fix + 1, len(track) - 1)
    t = track.t_s[fix] + part * (track.t_s[nxt] - track.t_s[fix])
    backing_step = (track.backing[:-1] & track.backing[1:])[fix[:-1]]
    blind_step = (step == BLIND)[fix[:-1]]
    untold = _untold(track)[fix[:-1]]
    bx, by, heading, tractor = bar(rig, x, y, course, backing=backing_step, fresh=untold)
    folded = np.cos(tractor - heading)[1:] < np.cos(np.radians(_FOLDED_DEG))
    settle_m = max(rig.tool.pin_to_axle_m, 0.1) if rig.kind != "mounted" else 0.1
    advance = np.hypot(np.diff(bx), np.diff(by)) * _by_speed(track, fix, x, y)
    gone = np.where(blind_step | backing_step, 0.0, advance)
    speed = m.speed_m_s[fix] + part * (m.speed_m_s[nxt] - m.speed_m_s[fix])
    return Trail(
        t_s=t,
        x_m=bx + jx[fix],
        y_m=by + jy[fix],
        heading_rad=heading,
        swing_sigma_rad=_swing(gone, blind_step | backing_step | folded, settle_m),
        path_m=np.r_[0.0, np.cumsum(gone)],
        speed_m_s=speed,
        backing=backing_step,
        blind=blind_step,
        standing=jump[fix[:-1]],
        fix=fix,
    )


def _untold(track: Track) -> Bools:
    """Steps that tell no direction: until one is driven after the start or a blind step.

    What moved less than a little before it stood was noise too.
    """
    m, step, at = track.motion, track.step, np.arange(len(track.step))
    fast, moved = np.abs(m.speed_m_s), np.hypot(np.diff(m.x_m), np.diff(m.y_m))
    walked = (step != STAND) & (step != BLIND)
    driven = walked & (np.maximum(fast[:-1], fast[1:]) >= _CREEPING_M_S)
    way = np.cumsum(np.where(walked, moved, 0.0))
    gone = way - np.maximum.accumulate(np.where(step == BLIND, way, 0.0))
    lost = (step == BLIND) | ((step == STAND) & (gone < _TOLD_M))
    last = [np.maximum.accumulate(np.where(which, at, -1)) for which in (driven, lost)]
    return np.asarray(last[0] <= last[1])


def _dense(track: Track, x: Floats, y: Floats) -> tuple[Ints, Floats, Floats, Floats, Floats]:
    """Cubic Hermite points along the track, finer in turns: fix, part of step, x, y, course."""
    m, step = track.motion, track.step
    dt = np.diff(track.t_s)
    bend = np.abs(np.diff(m.heading_rad))
    length = np.hypot(np.diff(x), np.diff(y))
    pieces = np.ceil(np.sqrt(length * bend / (8 * _SAGITTA_M)))
    walked = (step != STAND) & (step != BLIND)
    pieces = np.where(walked, np.clip(pieces, 1, 40), 1).astype(np.int64)
    last = len(track) - 1
    fix = np.r_[np.repeat(np.arange(last), pieces), last]
    first = np.r_[0, np.cumsum(pieces)]
    part = np.r_[(np.arange(first[-1]) - first[fix[:-1]]) / pieces[fix[:-1]], 0.0]
    nxt = np.minimum(fix + 1, last)
    u, h = part, np.r_[dt, 1.0][fix]
    h00, h10 = (1 + 2 * u) * (1 - u) ** 2, u * (1 - u) ** 2
    h01, h11 = u * u * (3 - 2 * u), u * u * (u - 1)
    vx, vy = m.speed_m_s * np.cos(m.heading_rad), m.speed_m_s * np.sin(m.heading_rad)
    px = h00 * x[fix] + h10 * h * vx[fix] + h01 * x[nxt] + h11 * h * vx[nxt]
    py = h00 * y[fix] + h10 * h * vy[fix] + h01 * y[nxt] + h11 * h * vy[nxt]
    still = ~np.r_[walked, True][fix]
    px, py = np.where(still, x[fix], px), np.where(still, y[fix], py)
    course = m.heading_rad[fix] + u * (m.heading_rad[nxt] - m.heading_rad[fix])
    return fix, part, px, py, course


def _by_speed(track: Track, fix: Ints, x: Floats, y: Floats) -> Floats:
    """Ratio of the way by speed to the way by positions, per dense step."""
    m = track.motion
    length = np.hypot(np.diff(x), np.diff(y))
    total = np.bincount(fix[:-1], weights=length, minlength=len(track))[:-1]
    by_speed = np.abs(m.speed_m_s[:-1] + m.speed_m_s[1:]) / 2 * np.diff(track.t_s)
    ratio = np.where(total > 0.2, by_speed / np.maximum(total, 0.2), 1.0)
    return np.asarray(np.clip(ratio, 0.5, 1.5)[fix[:-1]])


def _swing(gone: Floats, lost: Bools, settle_m: float) -> Floats:
    """What is not known of the tool's heading, radians, at every pose."""
    way = np.r_[0.0, np.cumsum(gone)]
    since = np.maximum.accumulate(np.where(np.r_[True, lost], way, 0.0))
    return np.asarray(np.radians(_START_SIGMA_DEG) * np.exp(-(way - since) / settle_m))
