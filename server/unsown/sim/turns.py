"""Shortest turns between two poses with a tightest radius: two arcs and a line, or three arcs.

The six words and their closed forms: L. E. Dubins, American Journal of Mathematics 79 (1957),
pages 497-516.
"""

from __future__ import annotations

from math import acos, atan2, cos, hypot, pi, sin, sqrt

import numpy as np

from unsown.core.words import Floats

Pose = tuple[float, float, float]
_TURN = {"L": 1.0, "S": 0.0, "R": -1.0}


def _mod(angle: float) -> float:
    out = angle % (2 * pi)
    return 0.0 if 2 * pi - out < 1e-9 else out


def words(start: Pose, end: Pose, radius_m: float) -> list[tuple[float, str, Floats]]:
    """Every possible turn as (length in metres, word such as "LSL", three lengths in radii)."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    d = hypot(dx, dy) / radius_m
    along = atan2(dy, dx)
    a, b = _mod(start[2] - along), _mod(end[2] - along)
    sa, ca, sb, cb, cab = sin(a), cos(a), sin(b), cos(b), cos(a - b)
    found: list[tuple[str, float, float, float]] = []
    q = 2 + d * d - 2 * cab + 2 * d * (sa - sb)
    if q >= 0:
        c = atan2(cb - ca, d + sa - sb)
        found.append(("LSL", _mod(c - a), sqrt(q), _mod(b - c)))
    q = 2 + d * d - 2 * cab + 2 * d * (sb - sa)
    if q >= 0:
        c = atan2(ca - cb, d - sa + sb)
        found.append(("RSR", _mod(a - c), sqrt(q), _mod(c - b)))
    q = -2 + d * d + 2 * cab + 2 * d * (sa + sb)
    if q >= 0:
        p = sqrt(q)
        c = atan2(-ca - cb, d + sa + sb) - atan2(-2.0, p)
        found.append(("LSR", _mod(c - a), p, _mod(c - b)))
    q = -2 + d * d + 2 * cab - 2 * d * (sa + sb)
    if q >= 0:
        p = sqrt(q)
        c = atan2(ca + cb, d - sa - sb) - atan2(2.0, p)
        found.append(("RSL", _mod(a - c), p, _mod(b - c)))
    q = (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8
    if abs(q) <= 1:
        p = _mod(2 * pi - acos(q))
        t = _mod(a - atan2(ca - cb, d - sa + sb) + p / 2)
        found.append(("RLR", t, p, _mod(a - b - t + p)))
    q = (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8
    if abs(q) <= 1:
        p = _mod(2 * pi - acos(q))
        t = _mod(-a - atan2(ca - cb, d + sa - sb) + p / 2)
        found.append(("LRL", t, p, _mod(b - a - t + p)))
    return [(radius_m * (t + p + q), w, np.array([t, p, q])) for w, t, p, q in found]


def draw(start: Pose, word: str, lengths: Floats, radius_m: float, step_m: float) -> Floats:
    """Points (n, 2) along a turn, the start left out, the end in."""
    x, y, psi = start
    out = []
    for letter, part in zip(word, lengths, strict=True):
        n = max(1, int(np.ceil(part * radius_m / step_m)))
        s = np.linspace(0, part, n + 1)[1:]
        k = _TURN[letter]
        if k == 0.0:
            xs = x + radius_m * s * cos(psi)
            ys = y + radius_m * s * sin(psi)
        else:
            xs = x + k * radius_m * (np.sin(psi + k * s) - sin(psi))
            ys = y - k * radius_m * (np.cos(psi + k * s) - cos(psi))
        out.append(np.column_stack([xs, ys]))
        x, y, psi = float(xs[-1]), float(ys[-1]), psi + k * float(part)
    return np.vstack(out)


def half_loop_depth(radius_m: float, spacing_m: float) -> float:
    """How far beyond its start a loop to the neighbouring run reaches, metres."""
    if spacing_m >= 2 * radius_m:
        return radius_m
    return radius_m + sqrt(4 * radius_m**2 - (radius_m + spacing_m / 2) ** 2)
