"""What the fence and the headland say of the drift: the outermost lap and the ends of runs.

The first lap lies half a width inside the fence, and runs end at the headland's inner edge.
"""

from __future__ import annotations

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from unsown.core.samples import AGO_S, CHAIN, SAMPLE_M, Gaps, Samples, no_gaps, one_width, select
from unsown.core.words import Bools, Floats, Ints

#: Runs lifted at a headland run keep a smaller middle gap to it, in widths.
_APART_W = 0.6
#: A run this much nearer to the fence, in widths, is the lap; the one inside it is the next.
_OUTSIDE_W = 0.1


def fence(s: Samples, boundary: BaseGeometry, most_w: float, reach_w: float = 1.1) -> Gaps:
    """Gaps between the outermost lap and the boundary (positive: bare along the fence).

    Rows of one stretch count when their middle gap is below ``most_w`` of a width and no other
    run lies between them and the fence. Only samples within ``reach_w`` widths are looked at;
    one logged outside the fence counts with a negative distance.
    """
    lines = [p.exterior for p in shapely.get_parts(boundary)]
    if len(s) == 0 or not lines:
        return no_gaps()
    line = shapely.union_all(np.asarray(lines, dtype=object))
    points = shapely.points(s.x_m, s.y_m)
    dist = shapely.distance(points, line)
    near = np.flatnonzero(dist < reach_w * s.width_m)
    if len(near) == 0:
        return no_gaps()
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
    one = one_width(chain, gap / rows.width_m, most_w) if len(rows) else np.zeros(0, bool)
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
        j = j[np.abs(s.t_s[j] - s.t_s[i]) > AGO_S]
        dx, dy = s.x_m[j] - s.x_m[i], s.y_m[j] - s.y_m[i]
        outward = dx * ox[k] + dy * oy[k]
        along = np.abs(dx * oy[k] - dy * ox[k])
        level = np.abs(np.sin(s.heading_rad[j] - s.heading_rad[i])) < np.sin(np.radians(20.0))
        out[k] = bool((level & (outward > _OUTSIDE_W * s.width_m[i]) & (along < SAMPLE_M)).any())
    return out


def ends(s: Samples, half_bar_m: float) -> tuple[Gaps, Bools]:
    """Gaps between the ends of runs and the crossing headland, and which are starts.

    Where most runs keep about a width away from a headland run they were lifted at another, which
    is not in the picture: in doubt, or driven with the tool up. Such rows would draw what is there
    into its place.

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
        if last - first < CHAIN:
            continue
        for at, sign in ((first, -1.0), (last, 1.0)):
            found = _crossing(s, tree, int(at), sign, half_bar_m)
            if found is not None:
                rows.append(found)
                starts.append(sign < 0)
    if not rows:
        return no_gaps(), np.zeros(0, dtype=bool)
    gap, at_, other, ex, ny, width = (np.asarray(c) for c in zip(*rows, strict=True))
    at_, other = at_.astype(np.int64), other.astype(np.int64)
    zero = np.zeros(len(gap))
    every = Gaps(
        gap,
        np.column_stack([at_, other, other]),
        np.column_stack([ex, -ex, zero]),
        np.column_stack([ny, -ny, zero]),
        s.stretch[other],
        width,
    )
    beside = one_width(every.chain, gap / width, _APART_W)
    return select(every, beside), np.asarray(starts)[beside]


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
    near = near[(s.run[near] != s.run[at]) & (np.abs(s.t_s[near] - s.t_s[at]) > AGO_S)]
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
