"""Strips between consecutive bar positions; sown, part, twice, bare, doubt.

A strip is the ring along the bar's left ends and back along its right ends, cut into short
pieces that share their end edges: never one rectangle per fix (those leave slivers between
them). Where the inner end runs backwards in a tight turn the piece is the union of its
quadrilaterals, bow-ties split at their crossing.

Ground is *sown* where the front and the rear rank both passed while seeding, *part* where only
one did, *twice* where any rank seeded in two visits. Two passes belong to one visit unless both
more than 20 s and more than two widths of travel lie between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import GeometryCollection, LineString, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.trail import Trail
from unsown.core.words import Floats, Ground, Ints

#: A piece of strip: at most so many poses, so much turn and so much way.
_PIECE_POSES, _PIECE_TURN_RAD, _PIECE_M = 80, 1.0, 150.0
#: Poses that the others stand for within this are not used, m; none further apart than this, m.
_POSE_M, _POSE_STEP_M = 0.001, 20.0
#: Rings are thinned to this, m.
_THIN_M = 0.01
#: Unions of many shapes that nearly share a corner are made on this grid, m: without one they
#: lose ground.
_GRID_M = 1e-6
#: Revisits of one run count as another visit beyond this time and this many widths of way.
_VISIT_S, _VISIT_WIDTHS = 20.0, 2.0

EMPTY: BaseGeometry = GeometryCollection()


@dataclass(frozen=True)
class Poses:
    """A stretch of bar positions without a break; arrays of shape (n,)."""

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    path_m: Floats

    def __len__(self) -> int:
        return len(self.t_s)


@dataclass(frozen=True)
class Strip:
    """What one run put in the ground: pieces by front rank, by rear rank, by any rank.

    The three lists have the same length; ``from_s, to_s, from_m, to_m`` are each piece's times
    and ways. ``doubt`` is ground that may or may not have been sown (blind stretches). ``begin``
    and ``end`` are the lines of the bar where its ground begins (rear rank) and ends (front).
    """

    run: int
    front: tuple[BaseGeometry, ...]
    rear: tuple[BaseGeometry, ...]
    any: tuple[BaseGeometry, ...]
    from_s: Floats
    to_s: Floats
    from_m: Floats
    to_m: Floats
    width_m: float
    way_m: float
    doubt: tuple[BaseGeometry, ...] = ()
    begin: BaseGeometry = EMPTY
    end: BaseGeometry = EMPTY


def poses_between(trail: Trail, from_s: float, to_s: float) -> list[Poses]:
    """The trail from one time to another, ends interpolated, cut at backing and blind steps."""
    if to_s <= from_s or len(trail) < 2 or to_s <= trail.t_s[0] or from_s >= trail.t_s[-1]:
        return []
    from_s, to_s = max(from_s, float(trail.t_s[0])), min(to_s, float(trail.t_s[-1]))
    t = trail.t_s
    lo = int(np.searchsorted(t, from_s, side="right"))
    hi = int(np.searchsorted(t, to_s, side="left"))
    times = np.r_[from_s, t[lo:hi], to_s]
    columns = [
        np.asarray(np.interp(times, t, a))
        for a in (trail.x_m, trail.y_m, trail.heading_rad, trail.path_m)
    ]
    bad = (trail.blind | trail.backing)[lo - 1 : hi]
    edges = np.flatnonzero(np.diff(np.r_[1, bad.astype(np.int8), 1]))
    out = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        part = slice(first, last + 1)
        inside = Poses(times[part], *(c[part] for c in columns))
        if len(inside) > 1 and inside.path_m[-1] > inside.path_m[0]:
            out.append(inside)
    return out


def blind_between(trail: Trail, from_s: float, to_s: float) -> list[tuple[int, int]]:
    """Index pairs (before, after) of the trail's blind steps that touch a time span."""
    at = np.flatnonzero(trail.blind)
    at = at[(trail.t_s[at + 1] > from_s) & (trail.t_s[at] < to_s)]
    return [(int(i), int(i) + 1) for i in at]


def bar_ends(poses: Poses, ahead_m: float, width_m: float) -> tuple[Floats, Floats]:
    """Left and right end of a rank ``ahead_m`` ahead of the axle, each of shape (n, 2)."""
    c, s = np.cos(poses.heading_rad), np.sin(poses.heading_rad)
    x, y = poses.x_m + ahead_m * c, poses.y_m + ahead_m * s
    half = width_m / 2
    return (
        np.column_stack([x - half * s, y + half * c]),
        np.column_stack([x + half * s, y - half * c]),
    )


def piece_cuts(poses: Poses) -> Ints:
    """Indices at which a strip is cut into pieces, first and last included."""
    n = len(poses)
    turn = np.r_[0.0, np.cumsum(np.abs(np.diff(poses.heading_rad)))]
    cuts = [0]
    way = poses.path_m
    while cuts[-1] < n - 1:
        at = cuts[-1]
        by_turn = int(np.searchsorted(turn, float(turn[at]) + _PIECE_TURN_RAD, side="right")) - 1
        by_way = int(np.searchsorted(way, float(way[at]) + _PIECE_M, side="right")) - 1
        cuts.append(max(at + 1, min(n - 1, at + _PIECE_POSES, by_turn, by_way)))
    return np.asarray(cuts, dtype=np.int64)


def thinned(poses: Poses, width_m: float) -> Poses:
    """The poses that matter for the ground swept: an arc in m parts keeps a sagitta of ℓΔψ/8m².

    At ten fixes a second most say nothing new. First and last are kept.
    """
    bend = np.abs(np.diff(poses.heading_rad))
    way = np.hypot(np.diff(poses.x_m), np.diff(poses.y_m))
    parts = np.sqrt((way + width_m / 2 * bend) * bend / (8 * _POSE_M))
    need = np.r_[0.0, np.cumsum(np.maximum(np.minimum(parts, 1.0), way / _POSE_STEP_M))]
    keep = np.r_[True, np.diff(np.floor(need)) > 0]
    keep[-1] = True
    if keep.all():
        return poses
    columns = (poses.t_s, poses.x_m, poses.y_m, poses.heading_rad, poses.path_m)
    return Poses(*(c[keep] for c in columns))


def swept(poses: Poses, cuts: Ints, ahead_m: float, width_m: float) -> list[BaseGeometry]:
    """The pieces of ground that one rank passed over, one geometry for each piece."""
    left, right = bar_ends(poses, ahead_m, width_m)
    along = np.column_stack([np.cos(poses.heading_rad), np.sin(poses.heading_rad)])
    mid = (along[:-1] + along[1:]) / 2
    back = (np.diff(left, axis=0) * mid).sum(1) < -1e-9
    back |= (np.diff(right, axis=0) * mid).sum(1) < -1e-9
    pieces: list[BaseGeometry] = []
    for a, b in zip(cuts[:-1], cuts[1:], strict=True):
        ring = None
        if not back[a:b].any():
            ring = Polygon(np.concatenate([left[a : b + 1], right[a : b + 1][::-1]]))
            if not ring.is_valid:
                ring = None
        if ring is None:
            quads = _quads(left[a : b + 1], right[a : b + 1])
            ring = polygons_of(shapely.union_all(quads, grid_size=_GRID_M))
        pieces.append(ring)
    thin = shapely.simplify(np.asarray(pieces, dtype=object), _THIN_M, preserve_topology=True)
    return list(thin)


def _quads(left: Floats, right: Floats) -> npt.NDArray[np.object_]:
    """What each step sweeps, bow-ties (bars that cross) as their two triangles.

    The triangles are given one by one: a union of pairs that touch in a point loses ground.
    """
    a, b, along, over = left[:-1], left[1:], np.diff(left, axis=0), right - left
    bend = over[:-1, 0] * over[1:, 1] - over[:-1, 1] * over[1:, 0]
    safe = np.where(bend == 0.0, 1.0, bend)
    first = (along[:, 0] * over[1:, 1] - along[:, 1] * over[1:, 0]) / safe
    second = (along[:, 0] * over[:-1, 1] - along[:, 1] * over[:-1, 0]) / safe
    tied = (bend != 0.0) & (first > 0) & (first < 1) & (second > 0) & (second < 1)
    meet = a + first[:, None] * over[:-1]
    whole = np.stack([a, right[:-1], right[1:], b], axis=1)[~tied]
    outer = np.stack([meet, right[:-1], right[1:]], axis=1)[tied]
    inner = np.stack([meet, b, a], axis=1)[tied]
    kinds = [shapely.make_valid(shapely.polygons(c)) for c in (whole, outer, inner) if len(c)]
    return np.concatenate(kinds)


def strip(
    run: int,
    stretches: Sequence[Poses],
    front_m: float,
    rear_m: float,
    width_m: float,
    doubt: Sequence[BaseGeometry] = (),
) -> Strip:
    """The strip of one run from its unbroken stretches of poses."""
    fronts: list[BaseGeometry] = []
    rears: list[BaseGeometry] = []
    spans: list[tuple[float, float, float, float]] = []
    way = 0.0
    for poses in (thinned(p, width_m) for p in stretches):
        cuts = piece_cuts(poses)
        front = swept(poses, cuts, front_m, width_m)
        fronts += front
        rears += front if rear_m == front_m else swept(poses, cuts, rear_m, width_m)
        t, s = poses.t_s, poses.path_m
        spans += [(t[a], t[b], s[a], s[b]) for a, b in zip(cuts[:-1], cuts[1:], strict=True)]
        way += float(s[-1] - s[0])
    both = fronts
    if rear_m != front_m and fronts:
        both = list(shapely.union(np.asarray(fronts), np.asarray(rears)))
    table = np.asarray(spans, dtype=np.float64).reshape(-1, 4)
    return Strip(
        run=run,
        front=tuple(fronts),
        rear=tuple(rears),
        any=tuple(both),
        from_s=table[:, 0],
        to_s=table[:, 1],
        from_m=table[:, 2],
        to_m=table[:, 3],
        width_m=width_m,
        way_m=way,
        doubt=tuple(doubt),
        begin=_bar_line(stretches[0], 0, rear_m, width_m) if stretches else EMPTY,
        end=_bar_line(stretches[-1], -1, front_m, width_m) if stretches else EMPTY,
    )


def _bar_line(poses: Poses, at: int, ahead_m: float, width_m: float) -> BaseGeometry:
    left, right = bar_ends(poses, ahead_m, width_m)
    return LineString([left[at], right[at]])


def blind_swath(trail: Trail, before: int, after: int, width_m: float) -> BaseGeometry:
    """Ground that may have been sown in a blind stretch.

    Driven straight, it is the strip between the bar before and after. Where the way at the speed
    before and after is longer than the straight line, the tool may have been anywhere that way
    reaches: an ellipse about both places, half a width wider.
    """
    i = [before, after]
    poses = Poses(trail.t_s[i], trail.x_m[i], trail.y_m[i], trail.heading_rad[i], np.zeros(2))
    left, right = bar_ends(poses, 0.0, width_m)
    straight = shapely.convex_hull(shapely.multipoints(np.concatenate([left, right])))
    dx, dy = float(np.diff(poses.x_m)[0]), float(np.diff(poses.y_m)[0])
    apart = float(np.hypot(dx, dy))
    usual = [trail.speed_m_s[max(before - 5, 0) : before + 1], trail.speed_m_s[after : after + 6]]
    speed = float(np.mean([np.abs(v).mean() for v in usual]))
    way = speed * float(np.diff(poses.t_s)[0])
    if apart >= 0.9 * way:
        return straight
    turn = np.linspace(0.0, 2 * np.pi, 33)[:-1]
    a, b = way / 2, float(np.sqrt(way**2 - apart**2)) / 2
    along = np.arctan2(dy, dx)
    u, v = a * np.cos(turn), b * np.sin(turn)
    ring = np.column_stack(
        [
            poses.x_m.mean() + u * np.cos(along) - v * np.sin(along),
            poses.y_m.mean() + u * np.sin(along) + v * np.cos(along),
        ]
    )
    return shapely.union(shapely.buffer(Polygon(ring), width_m / 2), straight)


def sown_by_all(strips: Sequence[Strip]) -> BaseGeometry:
    """Ground that front and rear rank both seeded, run by run, united."""
    runs: list[BaseGeometry] = []
    for s in strips:
        if not s.front:
            continue
        front = shapely.union_all(np.asarray(s.front))
        if s.rear is not s.front and s.rear != s.front:
            front = polygons_of(shapely.intersection(front, shapely.union_all(np.asarray(s.rear))))
        runs.append(front)
    return polygons_of(shapely.union_all(np.asarray(runs))) if runs else EMPTY


def visited_again(strips: Sequence[Strip], within: BaseGeometry) -> tuple[BaseGeometry, float]:
    """Ground seeded by more than one visit, and the area of all extra visits, m².

    The extra of a piece is what it covers again of ground that earlier visits covered, less what
    the last pieces of its own visit have counted already. So the extra is never less than the
    ground seeded twice.
    """
    strips = [s for s in strips if s.any]
    if not strips:
        return EMPTY, 0.0
    pieces = np.concatenate([np.asarray(s.any, dtype=object) for s in strips])
    order = {
        "run": np.concatenate([np.full(len(s.any), i) for i, s in enumerate(strips)]),
        "from_s": np.concatenate([s.from_s for s in strips]),
        "to_s": np.concatenate([s.to_s for s in strips]),
        "from_m": np.concatenate([s.from_m for s in strips]),
        "to_m": np.concatenate([s.to_m for s in strips]),
        "near_m": np.concatenate([np.full(len(s.any), _VISIT_WIDTHS * s.width_m) for s in strips]),
    }
    sequence = np.argsort(order["from_s"], kind="stable")
    pieces = pieces[sequence]
    order = {k: v[sequence] for k, v in order.items()}
    later, earlier = shapely.STRtree(pieces).query(pieces, predicate="intersects")
    later, earlier = later[earlier < later], earlier[earlier < later]
    if len(later) == 0:
        return EMPTY, 0.0
    same = order["run"][later] == order["run"][earlier]
    near = same & (
        (order["from_s"][later] - order["to_s"][earlier] <= _VISIT_S)
        | (order["from_m"][later] - order["to_m"][earlier] <= order["near_m"][later])
    )
    by = np.argsort(later, kind="stable")
    later, earlier, near = later[by], earlier[by], near[by]
    bounds = np.flatnonzero(np.r_[True, np.diff(later) > 0, True])
    doubles: dict[int, BaseGeometry] = {}
    extras: list[BaseGeometry] = []
    for a, b in zip(bounds[:-1], bounds[1:], strict=True):
        far = earlier[a:b][~near[a:b]]
        if len(far) == 0:
            continue
        piece = pieces[later[a]]
        again = shapely.intersection(piece, shapely.union_all(pieces[far]))
        doubles[int(later[a])] = again
        counted = [doubles[c] for c in earlier[a:b][near[a:b]].tolist() if c in doubles]
        if counted:
            again = shapely.difference(again, shapely.union_all(np.asarray(counted)))
        extras.append(again)
    if not doubles:
        return EMPTY, 0.0
    twice = polygons_of(
        shapely.intersection(shapely.union_all(np.asarray(list(doubles.values()))), within)
    )
    inside = shapely.intersection(np.asarray(extras, dtype=object), within)
    return twice, float(shapely.area(inside).sum())


def ground(
    strips: Sequence[Strip],
    boundary: BaseGeometry,
    keep_out: BaseGeometry,
    unreachable: BaseGeometry,
) -> tuple[Ground, float]:
    """The states of the paddock's ground, and the area of all extra covers, m².

    sown + part + bare + doubt + unreachable = boundary − keep-outs. Ground is doubt where only
    a blind stretch may have covered it, unreachable where nothing did and it is marked so.
    """
    net = polygons_of(shapely.difference(boundary, keep_out))
    shapely.prepare(net)
    every = sown_by_all(strips)
    flat = [p for s in strips for p in s.any]
    covered = polygons_of(shapely.union_all(np.asarray(flat, dtype=object))) if flat else EMPTY
    sown = polygons_of(shapely.intersection(every, net))
    seeded = polygons_of(shapely.intersection(covered, net))
    part = polygons_of(shapely.difference(seeded, sown))
    left = polygons_of(shapely.difference(net, shapely.union(seeded, sown)))
    unsure = [d for s in strips for d in s.doubt]
    doubt = EMPTY
    if unsure:
        doubt = polygons_of(shapely.intersection(left, shapely.union_all(np.asarray(unsure))))
        left = polygons_of(shapely.difference(left, doubt))
    out_of_reach = polygons_of(shapely.intersection(left, unreachable))
    if not out_of_reach.is_empty:
        left = polygons_of(shapely.difference(left, out_of_reach))
    twice, again = visited_again(strips, net)
    outside = polygons_of(shapely.difference(covered, boundary))
    return Ground(net, keep_out, sown, part, twice, left, doubt, out_of_reach, outside), again


def polygons_of(shape: BaseGeometry) -> BaseGeometry:
    """Only the areas of a geometry: points and lines that overlays leave behind taken out."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape
    parts = [p for p in shapely.get_parts(shape) if p.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(np.asarray(parts, dtype=object)) if parts else EMPTY
