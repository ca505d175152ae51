"""Fixes -> a smooth track of the phone with its uncertainty, and what was dropped and why.

Nothing is corrected in place: fixes that cannot be true are left out and counted by reason,
standing stretches are held (a parked phone wanders by metres; that is no travel), and gaps are
sorted into joined, bridged and blind (job paper 3.2, 3.3). Where fixes come many times a second a
few are taken together first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter1d, median_filter, minimum_filter1d

from unsown.core.gather import gather
from unsown.core.noise import QUIET_M, drift_rate, quick_noise, turned
from unsown.core.smooth import Motion, smooth
from unsown.core.speed import belied, dead_reckoned, fits
from unsown.core.stand import held, standing
from unsown.core.words import Bools, Floats, Ints

#: A fix whose 95 % radius is larger than this is left out, m.
ACC_LIMIT_M = 15.0
#: Nothing in a paddock moves faster, m/s.
SPEED_LIMIT_M_S = 25.0
#: Longest gap that is simply interpolated, and longest that may be bridged straight, s.
JOIN_S, BRIDGE_S = 6.5, 30.0
#: Bridging conditions: heading change, and change of mean speed.
BRIDGE_TURN_DEG, BRIDGE_SPEED = 15.0, 0.25
#: A gap with less movement than this is standing too, m.
STAND_GAP_M = 6.0
#: Backing is a short stretch between two reversals of course, m.
BACKING_M = 60.0
#: Reported faster than this at both its ends, no step turns back, m/s.
BACKING_M_S = 0.5
#: An excursion that returns within this time is an outlier burst, s.
BURST_S = 30.0

#: A step may depart from the motion round it by this, m, and by what 2 m/s² do in its time. The
#: motion is the running median of the steps over this long, s; slower fixes show no such jumps.
JUMP_M, JUMP_A_M_S2, JUMP_ROUND_S, JUMP_STEP_S = 4.0, 2.0, 9.0, 2.5
#: Where the fixes are noisier than that leaves room for, by so many sigmas.
JUMP_SIGMAS = 6.0

#: In more quick noise than this, m, reported speed and course tell reversals, where given.
REPORT_M = 0.2
#: In more quick noise than this, m, the wander is not heard.
RATE_M = 1.0

#: Kinds of step between one kept fix and the next.
JOIN, BRIDGE, STAND, BLIND = 0, 1, 2, 3


@dataclass(frozen=True)
class Track:
    """The cleaned path of one phone; arrays of shape (n,), steps of shape (n - 1,).

    ``heading_rad`` is where the phone is carried nose first: it does not flip when backing.
    ``step`` holds JOIN, BRIDGE, STAND or BLIND. ``row`` is the fix each came from.
    ``sigma_m`` is the quick noise the smoother was given, ``rate`` the drift's rate in m/√s
    across the path on straights (NaN where the track does not tell), ``rate_error`` one sigma of
    its square, m²/s.
    """

    t_s: Floats
    motion: Motion
    backing: Bools
    step: Ints
    row: Ints
    sigma_m: float
    dropped: Mapping[str, int]
    rate: float = float("nan")
    rate_error: float = float("nan")

    def __len__(self) -> int:
        return len(self.t_s)


def clean(
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    *,
    acc_m: Floats,
    speed_m_s: Floats,
    course_rad: Floats,
) -> Track:
    """Clean one phone's fixes.

    Args:
        t_s: seconds since the day's first fix, as they came (may repeat or step back).
        x_m: east on the paddock's plane, shape (n,).
        y_m: north.
        acc_m: reported accuracy radius, NaN where not given.
        speed_m_s: reported speed, NaN where not given.
        course_rad: reported course, radians anticlockwise from east, NaN where not given.

    Returns:
        The track; empty (length 0) where fewer than two fixes can be used.
    """
    dropped: dict[str, int] = {}
    keep = np.arange(len(t_s))

    def drop(bad: Bools, reason: str) -> None:
        nonlocal keep
        if bad.any():
            dropped[reason] = dropped.get(reason, 0) + int(bad.sum())
            keep = keep[~bad]

    drop(~np.isfinite(x_m[keep]) | ~np.isfinite(y_m[keep]), "no position")
    drop(acc_m[keep] > ACC_LIMIT_M, f"accuracy worse than {ACC_LIMIT_M:g} m")
    if len(keep):
        ahead = np.maximum.accumulate(t_s[keep])
        drop(np.r_[False, t_s[keep][1:] <= ahead[:-1]], "time not increasing")
    told = np.where((speed_m_s >= 0) & np.isfinite(speed_m_s), speed_m_s, np.nan)
    quick = quick_noise(t_s[keep], x_m[keep], y_m[keep], np.diff(t_s[keep]) <= JOIN_S)
    leap = max(JUMP_M, JUMP_SIGMAS * quick)
    if not fits(t_s[keep], x_m[keep], y_m[keep], told[keep], quick):
        dropped["reported speed not used: it does not fit the way"] = len(keep)
        told = np.full(len(t_s), np.nan)
    untrue = belied(t_s[keep], x_m[keep], y_m[keep], told[keep], quick)
    if untrue.any():
        dropped["reported standing not used: it drove on"] = int(untrue.sum())
        told[keep[untrue]] = np.nan
    drop(_bursts(t_s[keep], x_m[keep], y_m[keep], told[keep], leap), "jumped away and back")
    if len(keep) < 2:
        return _nothing(dropped)

    t, x, y, v = t_s[keep], x_m[keep], y_m[keep], told[keep]
    stands = standing(t, x, y, v, quick)
    inner = stands & np.r_[False, stands[:-1]] & np.r_[stands[1:], False]
    x, y = held(x, y, stands)
    if inner.any():
        dropped["standing still"] = int(inner.sum())
        keep, t, x, y, v = (a[~inner] for a in (keep, t, x, y, v))
        stands = stands[~inner]
    if len(keep) < 2:
        return _nothing(dropped)
    keep, t, x, y, v, course, stands = gather(keep, t, x, y, v, course_rad[keep], stands)
    step = _gaps(t, x, y, v, stands, leap)
    # a few metres back and forth drown in the positions' noise, not in what the phone reports
    way = dead_reckoned(t, x, y, v, course) if quick > REPORT_M else (x, y)
    backing = _backing(t, *way, step, v if quick > QUIET_M else np.full(len(v), np.nan))
    start = _first_guess(t, x, y, v, backing, step)
    joined = (step == JOIN) | (step == BRIDGE)
    sigma = quick_noise(t, x, y, joined)
    motion = smooth(
        t,
        x,
        y,
        start=start,
        joined=joined,
        sigma_m=sigma,
        speed_m_s=np.where(stands & np.isnan(v), 0.0, np.where(backing, -v, v)),
        course_rad=np.where(backing | ~(v > 0.8), np.nan, course),
    )
    step = _bridges(t, motion, step)
    told_rate = (float("nan"), float("nan"))
    if sigma <= RATE_M:
        told_rate = drift_rate(t, x, y, motion, joined)
    return Track(t, motion, backing, step, keep, sigma, dropped, *told_rate)


def _nothing(dropped: Mapping[str, int]) -> Track:
    none = np.zeros(0)
    motion = Motion(none, none, none, none, none)
    whole = np.zeros(0, dtype=np.int64)
    return Track(none, motion, np.zeros(0, dtype=bool), whole, whole, 0.1, dropped)


def _bursts(t: Floats, x: Floats, y: Floats, v: Floats, leap_m: float) -> Bools:
    """Fixes of excursions: entered and left by steps no vehicle makes, and soon over.

    A leap is such a step by its length alone; a jump by its departure from the motion round it,
    and then the way back has to undo the way out.
    """
    bad = np.zeros(len(t), dtype=bool)
    if len(t) < 3:
        return bad
    usual = _usual_speed(t, x, y, v)
    stray, jumps = _jumps(t, x, y, leap_m)
    far = _leaps(t, x, y, usual, leap_m)
    leaps = np.flatnonzero(far | jumps)
    gone = np.r_[[[0.0, 0.0]], np.cumsum(stray, axis=0)]
    at = 0
    while at < len(leaps):
        out = leaps[at]  # the step out -> out + 1 leaves the path
        for back in leaps[at + 1 : at + 6]:  # the step back -> back + 1 returns to it
            gap = t[back + 1] - t[out]
            if gap > BURST_S:
                break
            home = np.hypot(x[back + 1] - x[out], y[back + 1] - y[out])
            undone = far[out] or np.hypot(*(gone[back + 1] - gone[out])) <= leap_m
            if undone and home <= usual[out] * gap + leap_m:
                bad[out + 1 : back + 1] = True
                at = int(np.searchsorted(leaps, back))
                break
        at += 1
    if far[-1] and not bad[-1]:
        bad[-1] = True
    if far[0] and not bad[1:3].any():
        bad[0] = True
    return bad


def _jumps(t: Floats, x: Floats, y: Floats, leap_m: float = JUMP_M) -> tuple[Floats, Bools]:
    """By how much each step departs from the motion round it, (n - 1, 2) m, and which jump."""
    dt = np.diff(t)
    step = np.column_stack([np.diff(x), np.diff(y)])
    reach = max(2, round(JUMP_ROUND_S / 2 / max(float(np.median(dt)), 1e-3)))
    speed = step / dt[:, None]
    # a median lies between the least and the most round it: mostly that alone rules jumps out
    most, least = (f(speed, 2 * reach + 1, axis=0) for f in (maximum_filter1d, minimum_filter1d))
    wide = np.maximum(most - speed, speed - least) * dt[:, None]
    if not (np.hypot(*wide.T)[dt <= JUMP_STEP_S] > leap_m).any():
        return np.zeros_like(step), np.zeros(len(dt), dtype=np.bool_)
    usual = median_filter(speed, (2 * reach + 1, 1), mode="nearest")
    stray = np.where(dt[:, None] <= JUMP_STEP_S, step - usual * dt[:, None], 0.0)
    return stray, np.hypot(*stray.T) > leap_m + JUMP_A_M_S2 / 2 * dt**2


def _usual_speed(t: Floats, x: Floats, y: Floats, v: Floats) -> Floats:
    """A generous speed for each step, m/s: reported, or the running median of the steps."""
    told = np.fmax(v[1:], v[:-1])
    if np.isfinite(told).all():
        return np.asarray(told * 1.5 + 1.0)
    shown = median_filter(np.hypot(np.diff(x), np.diff(y)) / np.diff(t), 31, mode="nearest")
    return np.asarray(np.where(np.isfinite(told), told, shown) * 1.5 + 1.0)


def _leaps(t: Floats, x: Floats, y: Floats, usual: Floats, leap_m: float) -> Bools:
    """Steps that the vehicle did not make: far beyond its speed."""
    dt, dist = np.diff(t), np.hypot(np.diff(x), np.diff(y))
    far = (dist > usual * dt + leap_m) & (dt <= BURST_S)
    return np.asarray(far | (dist > SPEED_LIMIT_M_S * dt + leap_m - JUMP_M))


def _gaps(t: Floats, x: Floats, y: Floats, v: Floats, stands: Bools, leap_m: float) -> Ints:
    dt, dist = np.diff(t), np.hypot(np.diff(x), np.diff(y))
    step = np.where(dt <= JOIN_S, JOIN, np.where(dt <= BRIDGE_S, BRIDGE, BLIND))
    step[(dt > JOIN_S) & (dist < STAND_GAP_M) & (dist < 0.5 * dt)] = STAND
    step[stands[:-1] & stands[1:]] = STAND
    step[_leaps(t, x, y, _usual_speed(t, x, y, v), leap_m) & (step != STAND)] = BLIND
    return step.astype(np.int64)


def _bridges(t: Floats, m: Motion, step: Ints) -> Ints:
    """Keep a bridge only where heading and speed before and after agree with it."""
    at = np.flatnonzero(step == BRIDGE)
    if len(at) == 0:
        return step
    x, y, dt = m.x_m, m.y_m, np.diff(t)[at]
    way = np.arctan2(y[at + 1] - y[at], x[at + 1] - x[at])
    mean = np.hypot(x[at + 1] - x[at], y[at + 1] - y[at]) / dt
    lo, hi = np.maximum(at - 3, 0), np.minimum(at + 4, len(t) - 1)
    before = np.hypot(x[at] - x[lo], y[at] - y[lo]) / np.maximum(t[at] - t[lo], 1e-9)
    after = np.hypot(x[hi] - x[at + 1], y[hi] - y[at + 1]) / np.maximum(t[hi] - t[at + 1], 1e-9)
    in_way = np.arctan2(y[at] - y[lo], x[at] - x[lo])
    out_way = np.arctan2(y[hi] - y[at + 1], x[hi] - x[at + 1])
    bend = np.maximum.reduce([turned(way, in_way), turned(out_way, way), turned(out_way, in_way)])
    usual = (before + after) / 2
    fine = (bend < np.radians(BRIDGE_TURN_DEG)) & (np.abs(mean - usual) < BRIDGE_SPEED * usual)
    step = step.copy()
    step[at[~fine]] = BLIND
    return step


def _backing(t: Floats, x: Floats, y: Floats, step: Ints, v: Floats) -> Bools:
    """Fixes driven backwards: a short stretch between two reversals of course (job 3.4)."""
    n = len(t)
    backing = np.zeros(n, dtype=bool)
    moves = np.where((step == STAND) | (step == BLIND), 0.0, np.hypot(np.diff(x), np.diff(y)))
    way = np.r_[0.0, np.cumsum(moves)]
    dt = np.diff(t)
    # where noise can undo a step too: nobody turns back without slowing down
    fast = (np.minimum(v[1:], v[:-1]) > BACKING_M_S) & (dt <= JUMP_STEP_S)
    slow = np.flatnonzero(((moves / dt < 0.6) & ~fast) | (step == STAND))
    if len(slow) == 0:
        return backing
    groups = np.split(slow, np.flatnonzero(np.diff(slow) > 1) + 1)
    flips: list[tuple[int, float]] = []
    for group in groups:
        first, last = int(group[0]), int(group[-1]) + 1
        before = int(np.searchsorted(way, way[first] - 3.0, side="right")) - 1
        after = int(np.searchsorted(way, way[last] + 3.0))
        if before < 0 or after >= n or t[first] - t[before] > 20 or t[after] - t[last] > 20:
            continue
        came = np.arctan2(y[first] - y[before], x[first] - x[before])
        goes = np.arctan2(y[after] - y[last], x[after] - x[last])
        if turned(came, goes) > np.radians(120.0):
            middle = first + int(np.argmin(moves[first:last])) + 1
            flips.append((middle, float(way[middle])))
    at = 0
    while at + 1 < len(flips):
        (i, a), (j, b) = flips[at], flips[at + 1]
        if b - a <= BACKING_M:
            backing[i:j] = True
            at += 2
        else:
            at += 1
    return backing


def _first_guess(t: Floats, x: Floats, y: Floats, v: Floats, backing: Bools, step: Ints) -> Motion:
    """Speed and heading from differences over a few seconds, headings filled through stops."""
    n = len(t)
    chain = np.r_[0, np.cumsum((step == STAND) | (step == BLIND))]
    lo, hi = np.arange(n), np.arange(n)
    for reach in (1, 2):
        a, b = np.maximum(np.arange(n) - reach, 0), np.minimum(np.arange(n) + reach, n - 1)
        fits_a = (chain[a] == chain) & (t - t[a] <= 3.0) & (backing[a] == backing)
        fits_b = (chain[b] == chain) & (t[b] - t <= 3.0) & (backing[b] == backing)
        lo, hi = np.where(fits_a, a, lo), np.where(fits_b, b, hi)
    a, b = np.maximum(np.arange(n) - 1, 0), np.minimum(np.arange(n) + 1, n - 1)
    alone = lo == hi
    lo = np.where(alone & (chain[a] == chain), a, lo)
    hi = np.where(alone & (chain[b] == chain), b, hi)
    dx, dy = x[hi] - x[lo], y[hi] - y[lo]
    span = np.maximum(t[hi] - t[lo], 1e-3)
    dist = np.hypot(dx, dy)
    sign = np.where(backing, -1.0, 1.0)
    speed = np.where(np.isfinite(v), v, dist / span) * sign
    heading = np.arctan2(dy * sign, dx * sign)
    known = dist > 0.4
    if known.any():
        source = np.maximum.accumulate(np.where(known, np.arange(n), -1))
        source = np.where(source < 0, np.argmax(known), source)
        heading = heading[source]
    heading = np.unwrap(heading)
    return Motion(x.copy(), y.copy(), speed, heading, np.zeros(n))
