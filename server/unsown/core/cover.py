"""Strips of runs -> the ground's states: sown, part, twice, bare, doubt.

Ground is *sown* where the front and the rear rank both passed while seeding, *part* where only
one did, *twice* where any rank seeded in two visits. Two passes belong to one visit unless both
more than 20 s and more than two widths of travel lie between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from unsown.core.sweep import (
    EMPTY,
    Poses,
    bar_ends,
    blind_between,
    blind_swath,
    piece_cuts,
    polygons_of,
    poses_between,
    swept,
    swung,
    thinned,
)
from unsown.core.words import Floats, Ground

__all__ = [
    "EMPTY",
    "Poses",
    "Strip",
    "bar_ends",
    "blind_between",
    "blind_swath",
    "ground",
    "piece_cuts",
    "polygons_of",
    "poses_between",
    "sown_by_all",
    "strip",
    "swept",
    "swung",
    "visited_again",
]

#: Revisits of one run count as another visit beyond this time and this many widths of way.
_VISIT_S, _VISIT_WIDTHS = 20.0, 2.0


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
