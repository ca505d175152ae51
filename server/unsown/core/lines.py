"""Lines moved by what settling found, smoothed on straights; ends shifted by their taps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from scipy.linalg import solveh_banded

from unsown.core.cover import Poses
from unsown.core.picture import Stretch
from unsown.core.samples import Samples
from unsown.core.words import Floats

#: Lines are smoothed below this wavelength on straights, m, at points this far apart, m.
_WAVE_M, _POINT_M = 30.0, 2.0
#: Curvature above which a stretch is not straight, 1/m.
_BEND = 0.012
#: A tap stands within this of the lever's own moment, one sigma, s.
TAP_S = 0.2


def tap_shifts(s: Samples, draws: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Displacements along the heading at the ends of stretches, (draws, n).

    A tap is a fraction of a second off its lever.
    """
    east, north = np.zeros((2, draws, len(s)))
    if len(s) == 0:
        return east, north
    change = np.flatnonzero(np.diff(s.stretch) != 0)
    firsts, lasts = np.r_[0, change + 1], np.r_[change, len(s) - 1]
    for at in (firsts, lasts):
        beside = np.where(at == firsts, at + 1, at - 1) if len(s) > 1 else at
        beside = np.clip(beside, 0, len(s) - 1)
        way = np.hypot(s.x_m[at] - s.x_m[beside], s.y_m[at] - s.y_m[beside])
        speed = np.clip(way / np.maximum(np.abs(s.t_s[at] - s.t_s[beside]), 0.5), 0.0, 4.0)
        off = rng.normal(0.0, TAP_S, (draws, len(at))) * speed
        east[:, at] += off * np.cos(s.heading_rad[at])
        north[:, at] += off * np.sin(s.heading_rad[at])
    return east, north


def along(s: Samples) -> Callable[[Floats], Floats]:
    """A function that smooths values at samples (draws, n) along each stretch."""
    change = np.flatnonzero(np.diff(s.stretch) != 0) + 1
    bounds = np.r_[0, change, len(s)]
    spacing = float(np.median(np.hypot(np.diff(s.x_m), np.diff(s.y_m)))) if len(s) > 1 else 8.0

    def smooth(values: Floats) -> Floats:
        out = values.copy()
        for a, b in zip(bounds[:-1], bounds[1:], strict=True):
            if b - a > 4:
                stiff = np.full(b - a, (_WAVE_M / (2 * np.pi * spacing)) ** 4)
                out[:, a:b] = _whittaker(values[:, a:b].T, stiff, 2).T
        return out

    return smooth


def moved(stretches: Sequence[Stretch], s: Samples, east: Floats, north: Floats) -> list[Stretch]:
    """Stretches moved by a displacement at their samples, then smoothed on straights."""
    out = []
    for number, stretch in enumerate(stretches):
        mine = np.flatnonzero(s.stretch == number)
        p = stretch.poses
        dx = np.interp(p.t_s, s.t_s[mine], east[mine])
        dy = np.interp(p.t_s, s.t_s[mine], north[mine])
        poses = replace(p, x_m=p.x_m + dx, y_m=p.y_m + dy)
        out.append(replace(stretch, poses=_straightened(poses)))
    return out


def _straightened(p: Poses) -> Poses:
    """The stretch with the roughness below _WAVE_M taken out where it runs straight."""
    way = p.path_m - p.path_m[0]
    count = int(way[-1] / _POINT_M) + 1
    if count < 8:
        return p
    at = np.linspace(0.0, way[-1], count)
    x, y, h = (np.interp(at, way, a) for a in (p.x_m, p.y_m, p.heading_rad))
    reach = max(1, round(12.0 / _POINT_M))
    ahead, behind = (
        np.minimum(np.arange(count) + reach, count - 1),
        np.maximum(np.arange(count) - reach, 0),
    )
    bend = np.abs(h[ahead] - h[behind]) / np.maximum(at[ahead] - at[behind], 1.0)
    stiff = (_WAVE_M / (2 * np.pi * _POINT_M)) ** 6 * np.clip((2 * _BEND - bend) / _BEND, 1e-4, 1.0)
    soft = _whittaker(np.column_stack([x, y]), stiff, 3)
    dx, dy = soft[:, 0] - x, soft[:, 1] - y
    return replace(p, x_m=p.x_m + np.interp(way, at, dx), y_m=p.y_m + np.interp(way, at, dy))


def _whittaker(values: Floats, stiff: Floats, order: int) -> Floats:
    """Least squares of value and of local ``stiff`` times differences of an order, per column."""
    n = len(values)
    taps = {2: (1.0, -2.0, 1.0), 3: (-1.0, 3.0, -3.0, 1.0)}[order]
    ab = np.zeros((order + 1, n))
    ab[order] = 1.0
    weight = stiff[: n - order]
    for i, ti in enumerate(taps):
        for j in range(i, len(taps)):
            ab[order - (j - i), j : j + n - order] += weight * ti * taps[j]
    return np.asarray(solveh_banded(ab, values, check_finite=False))
