"""How a towed link follows its front point (tractrix), and the chain from phone to bar.

A link of length L is dragged by its front point. Along a straight step Δs in direction ψ the
link's swing φ = θ − ψ obeys tan(φ₁/2) = tan(φ₀/2)·exp(−Δs/L) exactly. Written for the half
angle vector q = (cos θ/2, sin θ/2) that is a *linear* map: turn by −ψ/2, scale by exp(±Δs/2L),
turn back. So a whole day is a product of 2 × 2 matrices and is computed as a scan of arrays
instead of a loop over fixes (``_scan``), for one track or for many draws at once.

Steady circle: hitch radius R gives axle radius √(R² − L²) (Western Highway Institute,
Offtracking Characteristics, 1970). A step along an arc is taken as its chord: second order in
the step, below 1 mm at 0.25 m steps on a 9 m turn.
"""

from __future__ import annotations

import numpy as np

from unsown.core.words import Bools, Floats, Rig

#: Phone less than this ahead of the rear axle: the tractor's heading is its course (job 3.4).
_DRAGGED_FROM_M = 0.3


def tow(
    x_m: Floats,
    y_m: Floats,
    length_m: float,
    *,
    start_rad: float | None = None,
    backing: Bools | None = None,
    fresh: Bools | None = None,
    reset_in_reverse: bool = False,
) -> Floats:
    """Heading of a link whose front point runs through the given points.

    Args:
        x_m: east of the front point, shape (n,) or (draws, n).
        y_m: north of the front point, same shape.
        length_m: front point to the link's own axle, > 0.
        start_rad: heading at the first point; None takes the direction of the first known step.
        backing: steps driven backwards, shape (n - 1,): the link is then pushed, exact as long
            as it is short; after half a link length it is held.
        fresh: steps, shape (n - 1,), over which nothing is known: after such a step the link
            starts anew, straight behind the next step.
        reset_in_reverse: take the direction of travel as heading while backing (short links,
            where pushing is hopelessly unstable).

    Returns:
        Heading at every point, radians, unwrapped, same shape as ``x_m``.
    """
    dx, dy = np.diff(x_m), np.diff(y_m)
    step = np.hypot(dx, dy)
    way = np.arctan2(dy, dx)
    moved = step > 1e-9
    signed = step / length_m
    if backing is not None and backing.any():
        way = np.where(backing, way + np.pi, way)
        gone = _since_start(np.where(backing, step, 0.0), ~np.broadcast_to(backing, step.shape))
        pushed = 0.0 if reset_in_reverse else -signed
        signed = np.where(backing, np.where(gone <= length_m / 2, pushed, 0.0), signed)
    half = way / 2
    c, s = np.cos(half), np.sin(half)
    grow, shrink = np.exp(np.minimum(signed, 60.0) / 2), np.exp(-np.minimum(signed, 60.0) / 2)
    a = grow * c * c + shrink * s * s
    b = (grow - shrink) * c * s
    d = grow * s * s + shrink * c * c
    if reset_in_reverse and backing is not None:
        a, b, d = (np.where(backing, v, w) for v, w in ((c * c, a), (c * s, b), (s * s, d)))
    a, b, d = np.where(moved, a, 1.0), np.where(moved, b, 0.0), np.where(moved, d, 1.0)
    if fresh is not None and fresh.any():
        ahead = _next_known(half, moved & ~fresh)
        c, s = np.cos(ahead), np.sin(ahead)
        a, b, d = (np.where(fresh, v, w) for v, w in ((c * c, a), (c * s, b), (s * s, d)))
    if start_rad is None:
        first = np.argmax(moved if fresh is None else moved & ~fresh, axis=-1)
        start = np.take_along_axis(np.atleast_2d(way), np.atleast_1d(first)[:, None], axis=1)[:, 0]
        start = start if x_m.ndim > 1 else start[:1].reshape(())
    else:
        start = np.full(x_m.shape[:-1], float(start_rad))
    q0 = np.stack([np.cos(start / 2), np.sin(start / 2)], axis=-1)
    qc, qs = _scan(a, b, d, q0)
    heading = 2 * np.arctan2(qs, qc)
    first_heading = np.broadcast_to(start[..., None], (*heading.shape[:-1], 1))
    return np.unwrap(np.concatenate([first_heading, heading], axis=-1), axis=-1)


def _scan(a: Floats, b: Floats, d: Floats, q0: Floats) -> tuple[Floats, Floats]:
    """All partial products [[a, b], [b, d]]…·q0 along the last axis, two levels deep."""
    n = a.shape[-1]
    width = max(1, int(np.sqrt(n)))
    rows = -(-n // width)
    pad = rows * width - n

    def fold(v: Floats, fill: float) -> Floats:
        widths = [(0, 0)] * (v.ndim - 1) + [(0, pad)]
        return np.pad(v, widths, constant_values=fill).reshape(*v.shape[:-1], rows, width)

    a, b, d = fold(a, 1.0), fold(b, 0.0), fold(d, 1.0)
    p = np.empty((4, *a.shape))
    one, nil = np.ones(a.shape[:-1]), np.zeros(a.shape[:-1])
    pa, pb, pc, pd = one, nil, nil, one
    for j in range(width):
        ja, jb, jd = a[..., j], b[..., j], d[..., j]
        pa, pb, pc, pd = ja * pa + jb * pc, ja * pb + jb * pd, jb * pa + jd * pc, jb * pb + jd * pd
        size = np.maximum(np.maximum(abs(pa), abs(pb)), np.maximum(abs(pc), abs(pd)))
        pa, pb, pc, pd = pa / size, pb / size, pc / size, pd / size
        p[0, ..., j], p[1, ..., j], p[2, ..., j], p[3, ..., j] = pa, pb, pc, pd
    qc, qs = q0[..., 0], q0[..., 1]
    starts = np.empty((2, *a.shape[:-1]))
    for i in range(rows):
        starts[0, ..., i], starts[1, ..., i] = qc, qs
        la, lb, lc, ld = (p[k, ..., i, -1] for k in range(4))
        qc, qs = la * qc + lb * qs, lc * qc + ld * qs
        size = np.hypot(qc, qs)
        qc, qs = qc / size, qs / size
    sc, ss = starts[0][..., None], starts[1][..., None]
    out_c = (p[0] * sc + p[1] * ss).reshape(*a.shape[:-2], rows * width)[..., :n]
    out_s = (p[2] * sc + p[3] * ss).reshape(*a.shape[:-2], rows * width)[..., :n]
    return out_c, out_s


def _next_known(value: Floats, known: Bools) -> Floats:
    """At each place the value at the next place that is known (the last one at the end)."""
    n = value.shape[-1]
    index = np.where(known, np.arange(n), n - 1)
    ahead = np.minimum.accumulate(index[..., ::-1], axis=-1)[..., ::-1]
    return np.take_along_axis(value, ahead, axis=-1)


def _since_start(amount: Floats, fresh: Bools) -> Floats:
    """Running sum of ``amount`` that starts again after each True in ``fresh``."""
    total = np.cumsum(amount, axis=-1)
    base = np.maximum.accumulate(np.where(fresh, total, 0.0), axis=-1)
    return total - base


def bar(
    rig: Rig,
    x_m: Floats,
    y_m: Floats,
    course_rad: Floats,
    *,
    backing: Bools | None = None,
    fresh: Bools | None = None,
) -> tuple[Floats, Floats, Floats, Floats]:
    """From the phone's path to the tool: its axle and heading at every point.

    Args:
        rig: the rig card.
        x_m: east of the phone, shape (n,) or (draws, n).
        y_m: north of the phone.
        course_rad: direction of the tractor's nose at the phone (not flipped when backing).
        backing: steps driven backwards, shape (n - 1,).
        fresh: steps over which nothing is known, shape (n - 1,).

    Returns:
        x_m, y_m of the tool's axle (on the bar's middle line), tool heading (radians,
        unwrapped) and tractor heading.
    """
    left = rig.phone.left_of_centre_m
    ahead = rig.phone.ahead_of_axle_m
    x = x_m + left * np.sin(course_rad)
    y = y_m - left * np.cos(course_rad)
    if ahead >= _DRAGGED_FROM_M:
        tractor = tow(x, y, ahead, backing=backing, fresh=fresh, reset_in_reverse=True)
    else:
        tractor = course_rad - np.arcsin(np.clip(ahead * _curvature(x, y, course_rad), -0.7, 0.7))
    x = x - ahead * np.cos(tractor)
    y = y - ahead * np.sin(tractor)
    heading = tractor
    if rig.kind != "mounted":
        x = x - rig.axle_to_pin_m * np.cos(tractor)
        y = y - rig.axle_to_pin_m * np.sin(tractor)
        if rig.cart is not None:
            cart = tow(x, y, rig.cart.pin_to_axle_m, backing=backing, fresh=fresh)
            behind = rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
            x, y = x - behind * np.cos(cart), y - behind * np.sin(cart)
        heading = tow(x, y, rig.tool.pin_to_axle_m, backing=backing, fresh=fresh)
        x = x - rig.tool.pin_to_axle_m * np.cos(heading)
        y = y - rig.tool.pin_to_axle_m * np.sin(heading)
    x = x - rig.tool.offset_left_m * np.sin(heading)
    y = y + rig.tool.offset_left_m * np.cos(heading)
    return x, y, heading, tractor


def _curvature(x: Floats, y: Floats, course_rad: Floats) -> Floats:
    step = np.hypot(np.diff(x), np.diff(y))
    turn = np.diff(np.unwrap(course_rad, axis=-1))
    bend = np.where(step > 0.05, turn / np.maximum(step, 0.05), 0.0)
    return np.concatenate([bend, bend[..., -1:]], axis=-1)
