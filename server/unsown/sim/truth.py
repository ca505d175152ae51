"""What was really sown: the ground swept by the ranks while seed landed, as polygons.

Sown is what the front rank and the rear rank both seeded in one run, any what either did;
part is any less sown, bare is the net ground less any. Twice is what two runs seeded with any
rank, or one run at two moments more than 20 s and two widths of travel apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats, Ints, Rig
from unsown.sim.drive import Poses, between
from unsown.sim.levers import Sowing
from unsown.sim.pace import Clock

_SAG_M = 0.003
_GRID_M = 1e-3
OPEN_M = 0.6
LEAST_M2 = 6.0


@dataclass(frozen=True)
class Miss:
    """One truly bare patch: its outline on the plane, area, greatest width, and why."""

    outline: Polygon
    area_m2: float
    width_m: float
    why: str


@dataclass(frozen=True)
class Truth:
    """The ground's true states on the paddock's plane, square metres and true lever times.

    ``swept_m2`` is width times the way of the tool's axle while seeding; ``bare_m2`` counts
    slivers too, ``misses`` only what is left after opening by 0.6 m, from 6 m² on.
    """

    net: BaseGeometry
    sown: BaseGeometry
    part: BaseGeometry
    twice: BaseGeometry
    bare: BaseGeometry
    outside: BaseGeometry
    net_m2: float
    sown_m2: float
    part_m2: float
    twice_m2: float
    bare_m2: float
    outside_m2: float
    swept_m2: float
    misses: tuple[Miss, ...]
    sowings: tuple[Sowing, ...]


@dataclass(frozen=True)
class Bars:
    """The ends of one rank while seeding: left and right (n, 2), with the way (n,) gone."""

    left: Floats
    right: Floats
    way: Floats


def truth(
    net: BaseGeometry, poses: Poses, time: Clock, sowings: tuple[Sowing, ...], rig: Rig
) -> Truth:
    """The true ground of a day."""
    tool = rig.tool
    ranks = sorted({tool.front_rank_m, tool.rear_rank_m})
    sown, either, again, swept = [], [], [], 0.0
    for sowing in sowings:
        if sowing.off_s <= sowing.on_s:
            continue
        at = _samples(poses, time, sowing, rig)
        piece, way = _pose(poses, at)
        swept += tool.width_m * float(way[-1])
        reach = max(2 * tool.width_m, 45.0)
        cuts = np.searchsorted(way, np.arange(0, way[-1], reach)).astype(np.int64)
        swaths = [_swath(_bars(piece, way, rank, rig), cuts) for rank in ranks]
        covers = [shapely.union_all(swath) for swath in swaths]
        sown.append(_tidy(shapely.intersection(covers[0], covers[-1], grid_size=_GRID_M)))
        either.append(_tidy(shapely.union(covers[0], covers[-1], grid_size=_GRID_M)))
        again += [cut for swath in swaths for cut in _revisits(swath)]
    return _states(net, sown, either, again, swept, sowings)


def _states(
    net: BaseGeometry,
    sown_runs: list[BaseGeometry],
    either_runs: list[BaseGeometry],
    again: list[BaseGeometry],
    swept: float,
    sowings: tuple[Sowing, ...],
) -> Truth:
    every = shapely.union_all(sown_runs, grid_size=_GRID_M)
    covered = shapely.union_all([*either_runs, every], grid_size=_GRID_M)
    runs = np.array(either_runs, dtype=object)
    cuts = _overlaps(runs, np.arange(len(runs)), 1)
    twice = _ground(shapely.union_all([*cuts, *again]).intersection(net))
    sown = _ground(every.intersection(net))
    part = _ground(covered.intersection(net).difference(sown))
    bare = _ground(net.difference(covered))
    outside = _ground(covered.difference(net))
    return Truth(
        net=net,
        sown=sown,
        part=part,
        twice=twice,
        bare=bare,
        outside=outside,
        net_m2=net.area,
        sown_m2=sown.area,
        part_m2=net.area - sown.area - bare.area,
        twice_m2=twice.area,
        bare_m2=bare.area,
        outside_m2=outside.area,
        swept_m2=swept,
        misses=misses_in(bare),
        sowings=sowings,
    )


def _tidy(shape: BaseGeometry) -> BaseGeometry:
    """Drops the thousands of points where the ranks' edges run a millimetre apart."""
    return shape.simplify(_GRID_M)


def _ground(shape: BaseGeometry) -> MultiPolygon:
    """The polygons of a result, without the points and lines where edges only touched."""
    return MultiPolygon([p for p in shapely.get_parts(shape) if isinstance(p, Polygon)])


def misses_in(bare: BaseGeometry) -> tuple[Miss, ...]:
    """Patches of bare ground after opening by 0.6 m, from 6 m² on, largest first."""
    core = bare.buffer(-OPEN_M)
    opened = core.buffer(OPEN_M, quad_segs=8).intersection(bare)
    out = []
    for part in getattr(opened, "geoms", [opened]):
        if isinstance(part, Polygon) and part.area >= LEAST_M2:
            width = 2 * shapely.maximum_inscribed_circle(part, 0.05).length
            out.append(Miss(part, part.area, width, ""))
    return tuple(sorted(out, key=lambda m: -m.area_m2))


def _revisits(swath: list[BaseGeometry]) -> list[BaseGeometry]:
    """Ground one run covers again much later: stretches of its way with one between them."""
    if len(swath) < 3:
        return []
    return _overlaps(np.array(swath, dtype=object), np.arange(len(swath)), 2)


def _overlaps(shapes: np.ndarray, place: np.ndarray, apart: int) -> list[BaseGeometry]:
    """Pairwise intersections of shapes whose places differ by at least ``apart``."""
    if len(shapes) == 0:
        return []
    a, b = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    keep = place[b] - place[a] >= apart
    cuts = shapely.intersection(shapes[a[keep]], shapes[b[keep]])
    return list(cuts[shapely.area(cuts) > 1e-4])


def _samples(poses: Poses, time: Clock, sowing: Sowing, rig: Rig) -> Floats:
    """Fractional samples from on to off, close together where the tool's ends bend."""
    i0, i1 = (float(v) for v in time.index_at(np.array([sowing.on_s, sowing.off_s])))
    inner = np.arange(int(np.floor(i0)) + 1, int(np.ceil(i1)))
    if len(inner) < 3:
        return np.unique(np.r_[i0, inner, i1])
    half = rig.tool.width_m / 2
    need = np.zeros(len(inner))
    for side in (half, -half):
        for rank in (rig.tool.front_rank_m, rig.tool.rear_rank_m):
            part = slice(int(inner[0]), int(inner[-1]) + 1)
            c, s = np.cos(poses.theta[part]), np.sin(poses.theta[part])
            left = side + rig.tool.offset_left_m
            x = poses.tool_x[part] + rank * c - left * s
            y = poses.tool_y[part] + rank * s + left * c
            dx, dy = np.gradient(x), np.gradient(y)
            way = np.unwrap(np.arctan2(dy, dx))
            length = np.maximum(np.hypot(dx, dy), 1e-3)
            bend = np.abs(np.gradient(way)) / length
            need = np.maximum(need, length * np.sqrt(bend / (8 * _SAG_M)))
    count = np.floor(np.cumsum(np.minimum(np.maximum(need, 0.4 / 25), 1.0)))
    chosen = inner[np.flatnonzero(np.diff(np.r_[-1.0, count]) > 0)]
    return np.unique(np.r_[i0, chosen, i1])


def _pose(poses: Poses, at: Floats) -> tuple[Floats, Floats]:
    x, y, theta = (between(v, at) for v in (poses.tool_x, poses.tool_y, poses.theta))
    way = np.r_[0.0, np.cumsum(np.hypot(np.diff(x), np.diff(y)))]
    return np.column_stack([x, y, theta]), way


def _bars(piece: Floats, way: Floats, ahead: float, rig: Rig) -> Bars:
    x, y, theta = piece.T
    c, s = np.cos(theta), np.sin(theta)
    ends = []
    for side in (rig.tool.width_m / 2, -rig.tool.width_m / 2):
        left = rig.tool.offset_left_m + side
        ends.append(np.column_stack([x + ahead * c - left * s, y + ahead * s + left * c]))
    return Bars(ends[0], ends[1], way)


def _swath(bars: Bars, cuts: Ints) -> list[BaseGeometry]:
    """The ground swept between cuts of the way, one shape each."""
    out: list[BaseGeometry] = []
    ends = [*cuts[1:], len(bars.way) - 1]
    for a, b in zip(cuts, ends, strict=True):
        left, right = bars.left[a : b + 1], bars.right[a : b + 1]
        if len(left) < 2:
            out.append(Polygon())
            continue
        ribbon = Polygon(np.vstack([right, left[::-1]]))
        if _goes_on(left, right) and ribbon.is_valid:
            out.append(ribbon)
        else:
            quads = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
            hulls = shapely.convex_hull(shapely.multipoints(quads))
            out.append(shapely.union_all(hulls))
    return out


def _goes_on(left: Floats, right: Floats) -> bool:
    """Whether both ends move forward all the way and the bar turns by less than 100°."""
    bar = left - right
    forward = np.column_stack([bar[:, 1], -bar[:, 0]])[:-1]
    on = (np.diff(left, axis=0) * forward).sum(1) > 0
    too = (np.diff(right, axis=0) * forward).sum(1) > 0
    angle = np.unwrap(np.arctan2(bar[:, 1], bar[:, 0]))
    return bool(on.all() and too.all() and np.ptp(angle) < 1.75)
