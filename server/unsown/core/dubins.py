"""Shortest ways between two poses for a vehicle that only goes forward and turns no tighter.

Dubins 1957; the six words in the closed form of Shkel and Lumelsky 2001, "Classification of the
Dubins set" (lengths in units of the turning radius, start at the origin of the chord).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, pi, sin, sqrt

import numpy as np
import shapely
from numpy.typing import NDArray

from unsown.core.words import Floats

Pose = tuple[float, float, float]
"""East and north, m; heading, radians."""

_TURN = 2 * pi
_SIGN = {"L": 1.0, "S": 0.0, "R": -1.0}


@dataclass(frozen=True)
class Dubins:
    """One shortest way: its word, and the length of each of the three parts, m."""

    start: Pose
    radius_m: float
    word: str
    parts_m: tuple[float, float, float]

    @property
    def length_m(self) -> float:
        """Length of the whole way, m."""
        return sum(self.parts_m)

    def poses(self, step_m: float) -> Floats:
        """Poses along the way, (n, 3), first and last included, about ``step_m`` apart."""
        rows = [np.asarray([self.start])]
        for letter, length in zip(self.word, self.parts_m, strict=True):
            if length <= 0:
                continue
            x, y, h = rows[-1][-1]
            s = np.linspace(0.0, length, max(int(np.ceil(length / step_m)), 1) + 1)[1:]
            bend = _SIGN[letter] / self.radius_m
            if bend == 0.0:
                rows.append(np.column_stack([x + s * cos(h), y + s * sin(h), np.full(len(s), h)]))
            else:
                turned = h + bend * s
                east = x + (np.sin(turned) - sin(h)) / bend
                north = y - (np.cos(turned) - cos(h)) / bend
                rows.append(np.column_stack([east, north, turned]))
        return np.concatenate(rows)


def dubins(start: Pose, end: Pose, radius_m: float) -> Dubins:
    """The shortest way from one pose to another.

    Args:
        start: where it begins.
        end: where it ends.
        radius_m: tightest turn, above zero.

    Raises:
        ValueError: a radius that is not above zero.
    """
    return ways(start, end, radius_m)[0]


def ways(start: Pose, end: Pose, radius_m: float) -> list[Dubins]:
    """The way of every word that joins the two poses, the shortest first.

    Raises:
        ValueError: a radius that is not above zero.
    """
    if not radius_m > 0:
        raise ValueError(f"a turning radius above 0 m was expected, {radius_m} came")
    dx, dy = end[0] - start[0], end[1] - start[1]
    d = hypot(dx, dy) / radius_m
    way = atan2(dy, dx) if d > 0 else 0.0
    found = words(d, (start[2] - way) % _TURN, (end[2] - way) % _TURN)
    out = [
        Dubins(start, radius_m, word, (p * radius_m, q * radius_m, r * radius_m))
        for word, (p, q, r) in found.items()
    ]
    return sorted(out, key=lambda each: each.length_m)


def lines(some: Sequence[Dubins], step_m: float) -> NDArray[np.object_]:
    """Each way as a line: bends as chords of about ``step_m``, straight parts by their ends."""
    every = np.arange(len(some))
    x, y, h = np.asarray([way.start for way in some], dtype=np.float64).reshape(-1, 3).T
    rows = [np.column_stack([every, x, y])]
    for part in range(3):
        length = np.asarray([way.parts_m[part] for way in some])
        bend = np.asarray([_SIGN[way.word[part]] / way.radius_m for way in some])
        count = np.where(bend == 0, 1, np.maximum(np.ceil(length / step_m), 1)).astype(np.int64)
        at = np.repeat(every, np.where(length > 0, count, 0))
        nth = np.arange(len(at)) - np.searchsorted(at, at) + 1
        gone = length[at] * nth / count[at]
        rows.append(np.column_stack([at, *_after(x[at], y[at], h[at], bend[at], gone)]))
        x, y = _after(x, y, h, bend, length)
        h = h + bend * length
    points = np.concatenate([*rows, np.column_stack([every, x, y])])
    points = points[np.argsort(points[:, 0], kind="stable")]
    return np.asarray(shapely.linestrings(points[:, 1:], indices=points[:, 0].astype(np.int64)))


def _after(x: Floats, y: Floats, h: Floats, bend: Floats, gone: Floats) -> tuple[Floats, Floats]:
    """Where one is after so far along bends; straight where a bend is nought."""
    turned, round_ = h + bend * gone, np.where(bend == 0, 1.0, bend)
    east = np.where(bend == 0, np.cos(h) * gone, (np.sin(turned) - np.sin(h)) / round_)
    north = np.where(bend == 0, np.sin(h) * gone, (np.cos(h) - np.cos(turned)) / round_)
    return x + east, y + north


def words(d: float, a: float, b: float) -> dict[str, tuple[float, float, float]]:
    """Parts of every word that joins the two poses, in radii.

    Args:
        d: length of the chord in radii.
        a: heading at its beginning, from the chord's direction, radians.
        b: heading at its end.
    """
    sa, sb, ca, cb, cab = sin(a), sin(b), cos(a), cos(b), cos(a - b)
    out: dict[str, tuple[float, float, float]] = {}
    p2 = 2 + d * d - 2 * cab + 2 * d * (sa - sb)
    if p2 >= 0:
        t = atan2(cb - ca, d + sa - sb)
        out["LSL"] = (_round(t - a), sqrt(p2), _round(b - t))
    p2 = 2 + d * d - 2 * cab + 2 * d * (sb - sa)
    if p2 >= 0:
        t = atan2(ca - cb, d - sa + sb)
        out["RSR"] = (_round(a - t), sqrt(p2), _round(t - b))
    p2 = -2 + d * d + 2 * cab + 2 * d * (sa + sb)
    if p2 >= 0:
        p = sqrt(p2)
        t = atan2(-ca - cb, d + sa + sb) - atan2(-2.0, p)
        out["LSR"] = (_round(t - a), p, _round(t - b))
    p2 = -2 + d * d + 2 * cab - 2 * d * (sa + sb)
    if p2 >= 0:
        p = sqrt(p2)
        t = atan2(ca + cb, d - sa - sb) - atan2(2.0, p)
        out["RSL"] = (_round(a - t), p, _round(b - t))
    c = (6 - d * d + 2 * cab + 2 * d * (sa - sb)) / 8
    if abs(c) <= 1:
        p = _TURN - acos(c)
        t = _round(a - atan2(ca - cb, d - sa + sb) + p / 2)
        out["RLR"] = (t, p, _round(a - b - t + p))
    c = (6 - d * d + 2 * cab + 2 * d * (sb - sa)) / 8
    if abs(c) <= 1:
        p = _TURN - acos(c)
        t = _round(-a + atan2(cb - ca, d + sa - sb) + p / 2)
        out["LRL"] = (t, p, _round(b - a - t + p))
    return out


def _round(angle: float) -> float:
    """An angle in [0, 2π), where a rounding error below zero is zero."""
    turned = angle % _TURN
    return 0.0 if _TURN - turned < 1e-9 else turned
