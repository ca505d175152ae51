"""How sure: every draw of the picture is swept on a grid and counted.

Bare ground of a draw is net ground that no rank reached in it, less what is doubt or out of
reach anyway. The mean over draws is the estimate of all bare ground, the 5 and 95 % points are
its band, and a patch's chance is the share of draws in which most of it is bare.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.picture import Picture, Stretch
from unsown.core.raster import (
    Covered,
    Grid,
    cover_quads,
    fill_polygon,
    flat_cells,
    grid_over,
    polygon_cells,
)
from unsown.core.words import Bools, Floats, Ints

#: Poses are thinned for sweeping: this far apart on straights, and this much turn, m and rad.
_STEP_M, _STEP_RAD = 12.0, 0.15


#: The draws share one model of steering, fence and drift, and that model is never quite the
#: day's. On simulated days kept for tuning their 5 to 95 % band held the truth too rarely until it
#: was this much wider, and wider yet where the drift is large beside the working width (runs are
#: then easily paired wrongly).
_WIDEN, _WIDEN_MORE, _NARROW = 1.5, 2.0, 0.2
#: A patch is there in a draw when this part of it is bare. Its outline is the best picture's, in
#: which it was large enough to be seen: half of it would be kept by too many draws. On days kept
#: for tuning this part made chances agree with what was real. An exact picture needs only half.
_THERE, _THERE_EXACT = 2 / 3, 0.5
#: Doubt lies where the picture has it in every draw, but its border drifts too. In half of them it
#: is nearer by so many spreads of the drift: the middles of the upper four of eight equal chances.
_NEARER = (0.157, 0.489, 0.887, 1.534)


@dataclass(frozen=True)
class Sure:
    """What the draws say: bare area of each draw (draws,), m², and each patch's chance.

    ``picture_m2`` is the bare area of the best picture, long strips counted by their chance;
    ``drift_w`` the drift between two runs in working widths, 0 where nothing was settled.
    """

    bare_m2: Floats
    chances: Floats
    picture_m2: float
    drift_w: float

    @property
    def best_m2(self) -> float:
        """The estimate of all bare ground, m².

        The mean over draws. The best picture hides slivers: it shows every seam at its most
        likely place.
        """
        if self.drift_w == 0 or len(self.bare_m2) == 0:
            return self.picture_m2
        return float(self.bare_m2.mean())

    @property
    def band_m2(self) -> tuple[float, float]:
        """The 5 to 95 % band of bare ground about the estimate, m²."""
        if len(self.bare_m2) == 0:
            return self.best_m2, self.best_m2
        low, high = np.quantile(self.bare_m2, [0.05, 0.95])
        mean, best = float(self.bare_m2.mean()), self.best_m2
        wider = 1.0
        if self.drift_w > 0:
            wider = _WIDEN * (1 + _WIDEN_MORE * max(self.drift_w - _NARROW, 0.0))
        return max(best - wider * (mean - low), 0.0), best + wider * (high - mean)


def nearer(doubt: BaseGeometry, picture: Picture) -> list[BaseGeometry]:
    """Doubt with its border pushed out as far as the drift may have it; none where none drifts."""
    if picture.info is None or doubt.is_empty:
        return []
    return [shapely.buffer(doubt, z * picture.sigma_m, quad_segs=4) for z in _NEARER]


def count_draws(
    picture: Picture,
    net: BaseGeometry,
    aside: BaseGeometry,
    bare_m2: float,
    patches: Sequence[BaseGeometry],
    most: Floats,
    rng: np.random.Generator,
    progress: Callable[[float], None],
    vague: Sequence[BaseGeometry] = (),
) -> Sure:
    """Sweep all draws.

    Args:
        picture: the settled picture with its draws.
        net: boundary less keep-outs.
        aside: doubt and unreachable ground: not counted as bare.
        bare_m2: bare area of the picture itself by polygons: the grid's own error is taken off.
        patches: outlines whose chance is wanted.
        most: the most that may be said of each, (patches,).
        rng: source of chance: in which draws a strip is there that may not be.
        progress: called with the part done.
        vague: ``nearer`` doubt: a patch is not there in a draw where it leaves too little of it.
    """
    widths = [x.width_m for x in picture.stretches]
    settled = picture.info is not None
    drift_w = float(np.sqrt(2.0) * picture.sigma_m / max(widths, default=1.0)) if settled else 0.0
    draws = len(picture.east_draws)
    if draws == 0 or net.is_empty:
        return Sure(np.zeros(0), most, bare_m2, drift_w)
    grid = grid_over(net, _main_heading(picture.stretches))
    open_ground = fill_polygon(grid, net)
    if not aside.is_empty:
        open_ground &= ~fill_polygon(grid, aside)
    cells = [polygon_cells(grid, p) for p in patches]
    bounds = np.cumsum([0, *(len(c) for c in cells)])
    every = np.concatenate([np.zeros(0, dtype=np.int64), *cells])
    counts = np.zeros(grid.rows * (grid.columns + 1) + 1, dtype=np.int32)
    counts[flat_cells(open_ground) + 1] = 1
    counts = np.cumsum(counts, dtype=np.int32)
    u, v, owner, part = _quads(picture, grid)

    def bare_in(covered: Covered) -> float:
        sown = int((counts[covered.end] - counts[covered.first]).sum())
        return float(counts[-1] - sown) * grid.cell_m2

    off = bare_m2 - bare_in(cover_quads(grid, u, v))
    areas = np.empty(draws)
    shares, clear = np.empty((2, draws, len(patches)))
    free = [~np.isin(every, polygon_cells(grid, shape)) for shape in vague]

    def part_of(bare: Bools) -> Floats:
        total = np.r_[0, np.cumsum(bare)]
        return np.asarray((total[bounds[1:]] - total[bounds[:-1]]) / np.maximum(np.diff(bounds), 1))

    for k in range(draws):
        du, dv = grid.shift(picture.east_draws[k], picture.north_draws[k])
        mu = (1 - part) * du[owner] + part * du[owner + 1]
        mv = (1 - part) * dv[owner] + part * dv[owner + 1]
        covered = cover_quads(grid, u + mu, v + mv)
        areas[k] = max(bare_in(covered) + off, 0.0)
        bare = ~covered.holds(every)
        shares[k] = clear[k] = part_of(bare)
        if free and k % 2:
            clear[k] = part_of(bare & free[k // 2 % len(free)])
        progress((k + 1) / draws)
    there = (clear > (_THERE if settled else _THERE_EXACT)).mean(axis=0)
    size = np.diff(bounds) * grid.cell_m2
    # evenly over the draws: each strip is left out of its share of them, whatever the others are
    ranks = rng.permuted(np.tile(np.arange(draws), (len(patches), 1)), axis=1).T
    gone = (shares * size * (ranks + 0.5 >= most * draws)).sum(axis=1)
    doubted = float(((1 - most) * size).sum())
    return Sure(np.maximum(areas - gone, 0.0), np.minimum(there, most), bare_m2 - doubted, drift_w)


def _main_heading(stretches: Sequence[Stretch]) -> float:
    """The direction most way was driven in, modulo a half turn, radians."""
    double, weight = [], []
    for x in stretches:
        step = np.diff(x.poses.path_m)
        double.append(2 * x.poses.heading_rad[:-1])
        weight.append(step)
    if not double:
        return 0.0
    a, w = np.concatenate(double), np.concatenate(weight)
    bins = np.bincount(((a % (2 * np.pi)) / (2 * np.pi) * 180).astype(int) % 180, w, 180)
    return float((np.argmax(bins) + 0.5) / 180 * np.pi)


def _quads(picture: Picture, grid: Grid) -> tuple[Floats, Floats, Ints, Floats]:
    """Corners (4, n) in cells of all strips' quads, with the sample each corner moves with.

    A quad reaches from the rear rank at one pose to the front rank at the next: what any rank
    passed over between the two.
    """
    corners_u, corners_v, owners, parts = [], [], [], []
    s = picture.samples
    order = np.argsort(s.stretch, kind="stable")
    starts = np.searchsorted(s.stretch[order], np.arange(len(picture.stretches) + 1))
    for number, x in enumerate(picture.stretches):
        mine = order[starts[number] : starts[number + 1]]
        keep = _thinned(x)
        p = x.poses
        t, h = p.t_s[keep], p.heading_rad[keep]
        c, sn, half = np.cos(h), np.sin(h), x.width_m / 2
        front = p.x_m[keep] + x.front_m * c, p.y_m[keep] + x.front_m * sn
        rear = p.x_m[keep] + x.rear_m * c, p.y_m[keep] + x.rear_m * sn
        lx, ly = -half * sn, half * c
        px = _corners(front[0], rear[0], lx)
        py = _corners(front[1], rear[1], ly)
        at = np.interp(t, s.t_s[mine], np.arange(len(mine)))
        low = np.minimum(at.astype(np.int64), max(len(mine) - 2, 0))
        part = np.clip(at - low, 0.0, 1.0)
        index = mine[low]
        u, v = grid.turned(px, py)
        corners_u.append(u)
        corners_v.append(v)
        owners.append(np.stack([index[:-1], index[:-1], index[1:], index[1:]]))
        parts.append(np.stack([part[:-1], part[:-1], part[1:], part[1:]]))
    if not corners_u:
        none = np.zeros((4, 0))
        return none, none, none.astype(np.int64), none
    return tuple(np.concatenate(a, axis=1) for a in (corners_u, corners_v, owners, parts))  # type: ignore[return-value]


def _corners(front: Floats, rear: Floats, left: Floats) -> Floats:
    """Rear left, rear right at one pose, front right, front left at the next: (4, n - 1)."""
    return np.stack(
        [(rear + left)[:-1], (rear - left)[:-1], (front - left)[1:], (front + left)[1:]]
    )


def _thinned(x: Stretch) -> Ints:
    """Indices of poses no more than _STEP_M and _STEP_RAD apart, first and last included."""
    p = x.poses
    turn = np.r_[0.0, np.cumsum(np.abs(np.diff(p.heading_rad)))]
    score = np.maximum.accumulate((p.path_m - p.path_m[0]) / _STEP_M + turn / _STEP_RAD)
    keep = np.flatnonzero(np.r_[True, np.diff(np.floor(score)) > 0])
    return np.unique(np.r_[keep, len(p) - 1])
