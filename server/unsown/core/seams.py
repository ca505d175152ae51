"""What a sown day says about the drift of its own picture: seams, fence, ends of runs.

The driver steers by the last furrow, the first lap lies half a width inside the fence, and runs
end at the headland's inner edge. Each such relation is observed here as a signed gap in metres
(positive: bare ground between), with the samples of the path whose drift it depends on. What
they say together is for ``settle.py`` to work out.

A seam is observed once, from the later run, on the side that was steered by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import Poses
from unsown.core.words import Bools, Floats, Ints

#: Samples lie about this far apart along a run, m.
SAMPLE_M = 12.0
#: A neighbour is parallel within this, degrees, and lies between these many widths.
_PARALLEL_DEG, _NEAREST_W, _FARTHEST_W = 10.0, 0.4, 2.4
#: Only ground sown longer ago than this is a furrow to steer by, s.
_AGO_S = 40.0
#: A chain of seam samples shorter than this says nothing about steering.
_CHAIN = 5
#: Nor does one that covers less than this part of its run, unless it has so many rows.
_PART, _WHOLE = 0.3, 25


@dataclass(frozen=True)
class Samples:
    """Points along all runs, in time order; arrays of shape (n,).

    The middle of the bar, its heading, the run's index, an index of the unbroken stretch, the
    phone's leg and the working width.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    run: Ints
    stretch: Ints
    leg: Ints
    width_m: Floats

    def __len__(self) -> int:
        return len(self.t_s)


@dataclass(frozen=True)
class Gaps:
    """Observed gaps, one row each: gap_m + Σ a·B is the true gap, B the drift at samples.

    ``who`` (n, 3) are sample indices, ``east`` and ``north`` (n, 3) the coefficients of their
    drift. ``chain`` numbers rows that follow each other along one pair of runs; ``width_m`` is
    the working width, ``first`` the time of the earlier ground.
    """

    gap_m: Floats
    who: Ints
    east: Floats
    north: Floats
    chain: Ints
    width_m: Floats

    def __len__(self) -> int:
        return len(self.gap_m)


def samples(
    stretches: Sequence[tuple[int, int, float, float, Poses]],
) -> Samples:
    """Samples of the given stretches: (run, leg, middle ahead of axle m, width m, poses)."""
    columns: list[list[Floats]] = [[] for _ in range(8)]
    for number, (run, leg, ahead, width, poses) in enumerate(stretches):
        way = poses.path_m
        count = max(2, int((way[-1] - way[0]) / SAMPLE_M) + 1)
        at = np.linspace(way[0], way[-1], count)
        t, x, y, h = (
            np.interp(at, way, a) for a in (poses.t_s, poses.x_m, poses.y_m, poses.heading_rad)
        )
        ones = np.ones(count)
        row = (t, x + ahead * np.cos(h), y + ahead * np.sin(h), h)
        for column, value in zip(
            columns, (*row, run * ones, number * ones, leg * ones, width * ones), strict=True
        ):
            column.append(value)
    if not stretches:
        none, whole = np.zeros(0), np.zeros(0, dtype=np.int64)
        return Samples(none, none, none, none, whole, whole, whole, none)
    t, x, y, h, run_, part, leg_, width_ = (np.concatenate(c) for c in columns)
    order = np.lexsort((t, leg_))
    runs, parts, legs = (a[order].astype(np.int64) for a in (run_, part, leg_))
    return Samples(t[order], x[order], y[order], h[order], runs, parts, legs, width_[order])


def seams(s: Samples, moved_x: Floats, moved_y: Floats, most_w: float) -> Gaps:
    """Gaps between neighbouring parallel runs.

    Args:
        s: samples as logged.
        moved_x: the best present guess of the samples' true east: used for pairing only.
        moved_y: the same, north.
        most_w: a chain counts as neighbours when its middle gap in that picture is below this
            part of a width. Nearer to two widths it may be a run left out, and pulls nothing.
    """
    if len(s) < 3:
        return _none()
    pairs = _neighbours(s, moved_x, moved_y)
    if len(pairs[0]) == 0:
        return _none()
    later, earlier, other, part, side = _feet(s, moved_x, moved_y, *pairs)
    n = np.column_stack([-np.sin(s.heading_rad[later]), np.cos(s.heading_rad[later])])
    px = (1 - part) * s.x_m[earlier] + part * s.x_m[other] - s.x_m[later]
    py = (1 - part) * s.y_m[earlier] + part * s.y_m[other] - s.y_m[later]
    width = (s.width_m[later] + s.width_m[earlier]) / 2
    gap = side * (n[:, 0] * px + n[:, 1] * py) - width
    who = np.column_stack([later, earlier, other])
    # true = logged − drift: the gap changes by −side·n·(B_earlier − B_later)
    share = np.column_stack([np.ones(len(part)), -(1 - part), -part])
    east = side[:, None] * n[:, :1] * share
    north = side[:, None] * n[:, 1:] * share
    chain = _chains(s, later, earlier, side)
    rows = Gaps(gap, who, east, north, chain, width)
    qx = (1 - part) * moved_x[earlier] + part * moved_x[other] - moved_x[later]
    qy = (1 - part) * moved_y[earlier] + part * moved_y[other] - moved_y[later]
    moved_gap = side * (n[:, 0] * qx + n[:, 1] * qy) - width
    return _steered_by(s, select(rows, _one_width(chain, moved_gap / width, most_w)))


def _one_width(chain: Ints, gap_in_widths: Floats, most: float) -> Bools:
    """Rows of chains whose middle gap is that of neighbours, not of runs two widths apart."""
    order = np.lexsort((gap_in_widths, chain))
    first = np.searchsorted(chain[order], np.arange(int(chain.max()) + 2))
    middle = np.zeros(len(first) - 1)
    for i, (a, b) in enumerate(zip(first[:-1], first[1:], strict=True)):
        if b > a:
            middle[i] = gap_in_widths[order[(a + b) // 2]]
    return np.asarray(np.abs(middle[chain]) < most)


def fence(s: Samples, boundary: BaseGeometry, most_w: float, reach_w: float = 1.1) -> Gaps:
    """Gaps between the outermost lap and the boundary (positive: bare along the fence).

    Rows of one stretch count when their middle gap is below ``most_w`` of a width and no other
    run lies between them and the fence. Only samples within ``reach_w`` widths are looked at;
    one logged outside the fence counts with a negative distance.
    """
    lines = [p.exterior for p in shapely.get_parts(boundary)]
    if len(s) == 0 or not lines:
        return _none()
    line = shapely.union_all(np.asarray(lines, dtype=object))
    points = shapely.points(s.x_m, s.y_m)
    dist = shapely.distance(points, line)
    near = np.flatnonzero(dist < reach_w * s.width_m)
    if len(near) == 0:
        return _none()
    shapely.prepare(boundary)
    inside = shapely.contains(boundary, points[near])
    foot = shapely.get_coordinates(shapely.get_point(shapely.shortest_line(points[near], line), 1))
    ox, oy = foot[:, 0] - s.x_m[near], foot[:, 1] - s.y_m[near]
    d = np.where(inside, dist[near], -dist[near])
    size = np.maximum(dist[near], 1e-6)
    ox, oy = np.where(inside, ox, -ox) / size, np.where(inside, oy, -oy) / size
    along = np.abs(np.cos(s.heading_rad[near]) * ox + np.sin(s.heading_rad[near]) * oy)
    fine = (along < np.sin(np.radians(12.0))) & (dist[near] > 0.3)
    fine[fine] = ~_hidden(s, near[fine], ox[fine], oy[fine])
    near, d, ox, oy = near[fine], d[fine], ox[fine], oy[fine]
    gap = d - s.width_m[near] / 2
    zero = np.zeros(len(near))
    chain = (
        np.cumsum(np.r_[True, (np.diff(near) != 1) | (np.diff(s.stretch[near]) != 0)])
        if len(near)
        else np.zeros(0, dtype=np.int64)
    )
    rows = Gaps(
        gap,
        np.column_stack([near, near, near]),
        np.column_stack([ox, zero, zero]),
        np.column_stack([oy, zero, zero]),
        chain,
        s.width_m[near],
    )
    one = _one_width(chain, gap / rows.width_m, most_w) if len(rows) else np.zeros(0, bool)
    return select(rows, one)


def _hidden(s: Samples, near: Ints, ox: Floats, oy: Floats) -> Bools:
    """Whether another run lies between each sample and the fence in direction (ox, oy)."""
    tree = cKDTree(np.column_stack([s.x_m, s.y_m]))
    out = np.zeros(len(near), dtype=bool)
    reach = 1.3 * s.width_m[near]
    beside = tree.query_ball_point(np.column_stack([s.x_m[near], s.y_m[near]]), reach)
    for k, others in enumerate(beside):
        i = near[k]
        j = np.asarray(others, dtype=np.int64)
        j = j[np.abs(s.t_s[j] - s.t_s[i]) > _AGO_S]
        dx, dy = s.x_m[j] - s.x_m[i], s.y_m[j] - s.y_m[i]
        outward = dx * ox[k] + dy * oy[k]
        along = np.abs(dx * oy[k] - dy * ox[k])
        level = np.abs(np.sin(s.heading_rad[j] - s.heading_rad[i])) < np.sin(np.radians(20.0))
        out[k] = bool((level & (outward > 0.4 * s.width_m[i]) & (along < SAMPLE_M)).any())
    return out


def unmoved(rows: Gaps, east: Floats, north: Floats) -> Gaps:
    """Rows found in a picture moved by (−east, −north), with their gaps as logged."""
    by = (rows.east * east[rows.who]).sum(1) + (rows.north * north[rows.who]).sum(1)
    return replace(rows, gap_m=rows.gap_m - by)


def ends(s: Samples, half_bar_m: float) -> tuple[Gaps, Bools]:
    """Gaps between the ends of runs and the crossing headland, and which are starts.

    Args:
        s: samples.
        half_bar_m: from the middle of the ranks to the front and to the rear rank.
    """
    rows: list[tuple[float, int, int, float, float, float]] = []
    starts: list[bool] = []
    tree = cKDTree(np.column_stack([s.x_m, s.y_m]))
    change = np.flatnonzero(np.diff(s.stretch) != 0)
    firsts, lasts = np.r_[0, change + 1], np.r_[change, len(s) - 1]
    for first, last in zip(firsts, lasts, strict=True):
        if last - first < _CHAIN:
            continue
        for at, sign in ((first, -1.0), (last, 1.0)):
            found = _crossing(s, tree, int(at), sign, half_bar_m)
            if found is not None:
                rows.append(found)
                starts.append(sign < 0)
    if not rows:
        return _none(), np.zeros(0, dtype=bool)
    gap, at_, other, ex, ny, width = (np.asarray(c) for c in zip(*rows, strict=True))
    at_, other = at_.astype(np.int64), other.astype(np.int64)
    zero = np.zeros(len(gap))
    return Gaps(
        gap,
        np.column_stack([at_, other, other]),
        np.column_stack([ex, -ex, zero]),
        np.column_stack([ny, -ny, zero]),
        np.arange(len(gap)),
        width,
    ), np.asarray(starts)


def _crossing(
    s: Samples, tree: cKDTree, at: int, sign: float, half_bar_m: float
) -> tuple[float, int, int, float, float, float] | None:
    """The innermost headland run that crosses an end of a run, and the gap to its edge.

    The innermost, not the one that fits best: laps lie a width apart, and the best fit would
    tie a drifted picture to the wrong one.
    """
    u = sign * np.array([np.cos(s.heading_rad[at]), np.sin(s.heading_rad[at])])
    here = np.array([s.x_m[at], s.y_m[at]])
    width = float(s.width_m[at])
    near = np.asarray(tree.query_ball_point(here, 3.0 * width), dtype=np.int64)
    near = near[(s.run[near] != s.run[at]) & (np.abs(s.t_s[near] - s.t_s[at]) > _AGO_S)]
    if len(near) == 0:
        return None
    h = s.heading_rad[near]
    n = np.column_stack([-np.sin(h), np.cos(h)])
    facing = n @ u
    n = n * np.sign(facing)[:, None]
    facing = np.abs(facing)
    crosses = facing > np.sin(np.radians(35.0))
    near, n, facing = near[crosses], n[crosses], facing[crosses]
    if len(near) == 0:
        return None
    rel = np.column_stack([s.x_m[near], s.y_m[near]]) - here
    ahead = (n * rel).sum(1) / facing
    beside = np.abs(rel[:, 0] * u[1] - rel[:, 1] * u[0])
    gap = ahead - s.width_m[near] / 2 / facing + half_bar_m
    fits = (beside < 1.5 * SAMPLE_M) & (ahead > -2.0 * width)
    if not fits.any():
        return None
    inner = float(ahead[fits].min())
    fits &= ahead < inner + 0.3 * width
    best = int(np.argmin(np.where(fits, beside, np.inf)))
    if abs(gap[best]) > 1.2 * width:
        return None
    e, nn = n[best] / facing[best]
    return float(gap[best]), at, int(near[best]), float(e), float(nn), width


def _neighbours(s: Samples, x: Floats, y: Floats) -> tuple[Ints, Ints, Floats]:
    """For every sample and side the nearest parallel sample, where that was sown before.

    What was sown later counts for nearness: a run with another one in between is nobody's
    neighbour. Returns (later, earlier, side).
    """
    reach = _FARTHEST_W * float(s.width_m.max()) + SAMPLE_M
    pairs = cKDTree(np.column_stack([x, y])).query_pairs(reach, output_type="ndarray")
    later, earlier = np.r_[pairs[:, 0], pairs[:, 1]], np.r_[pairs[:, 1], pairs[:, 0]]
    turn = s.heading_rad[later] - s.heading_rad[earlier]
    parallel = np.abs(np.sin(turn)) < np.sin(np.radians(_PARALLEL_DEG))
    fine = parallel & (np.abs(s.t_s[later] - s.t_s[earlier]) > _AGO_S)
    later, earlier = later[fine], earlier[fine]
    c, n = np.cos(s.heading_rad[later]), np.sin(s.heading_rad[later])
    dx, dy = x[earlier] - x[later], y[earlier] - y[later]
    along, beside = c * dx + n * dy, -n * dx + c * dy
    width = (s.width_m[later] + s.width_m[earlier]) / 2
    fine = (np.abs(along) <= 0.6 * SAMPLE_M) & (np.abs(beside) > 0.25 * width)
    later, earlier, along, beside, width = (v[fine] for v in (later, earlier, along, beside, width))
    side = np.sign(beside)
    order = np.lexsort((np.abs(beside) + 0.05 * np.abs(along), side, later))
    later, earlier, side, beside, width = (v[order] for v in (later, earlier, side, beside, width))
    nearest = np.r_[True, (np.diff(later) != 0) | (np.diff(side) != 0)]
    ratio = np.abs(beside) / width
    keep = nearest & (ratio > _NEAREST_W) & (ratio < _FARTHEST_W)
    keep &= s.t_s[later] > s.t_s[earlier]
    return later[keep], earlier[keep], side[keep]


def _feet(
    s: Samples, x: Floats, y: Floats, later: Ints, earlier: Ints, side: Floats
) -> tuple[Ints, Ints, Ints, Floats, Floats]:
    """The earlier run interpolated to the foot of the perpendicular from the later sample."""
    last = len(s) - 1
    c, n = np.cos(s.heading_rad[later]), np.sin(s.heading_rad[later])

    def along(j: Ints) -> Floats:
        return np.asarray(c * (x[j] - x[later]) + n * (y[j] - y[later]))

    here = along(earlier)
    best_other, best_part = earlier.copy(), np.zeros(len(earlier))
    for step in (-1, 1):
        j = np.clip(earlier + step, 0, last)
        there = along(j)
        fits = (s.stretch[j] == s.stretch[earlier]) & (here * there < 0)
        part = np.where(fits, here / np.where(fits, here - there, 1.0), 0.0)
        best_other, best_part = np.where(fits, j, best_other), np.where(fits, part, best_part)
    return later, earlier, best_other, best_part, side


def _chains(s: Samples, later: Ints, earlier: Ints, side: Floats) -> Ints:
    """Number rows that follow each other along the same two stretches on the same side."""
    order = np.lexsort((later, side, s.stretch[earlier], s.stretch[later]))
    a, b, c, d = s.stretch[later][order], s.stretch[earlier][order], side[order], later[order]
    new = np.r_[
        True,
        (np.diff(a) != 0) | (np.diff(b) != 0) | (np.diff(c) != 0) | (np.diff(d) > 3),
    ]
    chain = np.empty(len(later), dtype=np.int64)
    chain[order] = np.cumsum(new)
    return chain


def _steered_by(s: Samples, rows: Gaps) -> Gaps:
    """Leave out short chains, fragments, and the side that nobody steered by.

    A fragment is a chain that covers little of the later run while another chain on the same
    side covers more: there the nearest run is not the one that was followed.
    """
    later, earlier = rows.who[:, 0], rows.who[:, 1]
    count = np.bincount(rows.chain)
    size = count[rows.chain]
    length = np.bincount(s.stretch)[s.stretch[later]]
    keep = (size >= _CHAIN) & (size >= np.minimum(_PART * length, _WHOLE))
    age = np.zeros(len(count))
    np.maximum.at(age, rows.chain, s.t_s[earlier])
    freshest = np.zeros(len(s))
    np.maximum.at(freshest, later[keep], age[rows.chain[keep]])
    keep &= age[rows.chain] >= freshest[later] - 1e-9
    kept = select(rows, keep)
    order = np.lexsort((kept.who[:, 0], kept.chain))
    return select(kept, order)


def select(rows: Gaps, which: Bools | Ints) -> Gaps:
    """Some of the rows, in the order given."""
    return Gaps(
        rows.gap_m[which],
        rows.who[which],
        rows.east[which],
        rows.north[which],
        rows.chain[which],
        rows.width_m[which],
    )


def _none() -> Gaps:
    none, two = np.zeros(0), np.zeros((0, 3))
    return Gaps(none, two.astype(np.int64), two, two, np.zeros(0, dtype=np.int64), none)
