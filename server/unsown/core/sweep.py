"""What a bar sweeps: poses of the bar -> pieces of ground.

A strip is the ring along the bar's left ends and back along its right ends, cut into short
pieces that share their end edges: never one rectangle per fix (those leave slivers between
them). Where the inner end runs backwards in a tight turn the piece is the union of its
quadrilaterals, bow-ties split at their crossing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import GeometryCollection, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.trail import Trail
from unsown.core.words import Floats, Ints, Rig

#: A piece of strip: at most so many poses, so much turn and so much way.
_PIECE_POSES, _PIECE_TURN_RAD, _PIECE_M = 80, 1.0, 150.0
#: Poses that the others stand for within this are not used, m; none further apart than this, m.
_POSE_M, _POSE_STEP_M = 0.001, 20.0
#: Rings are thinned to this, m.
_THIN_M = 0.01
#: Unions of many shapes that nearly share a corner are made on this grid, m: without one they
#: lose ground.
_GRID_M = 1e-6
#: How the tool lies is known when it was pulled so many of its lengths (60 degrees are 8 then).
_PULLED = 2.0
#: The usual speed is the median while moving for so long before and after a blind stretch, s, m/s.
_USUAL_S, _MOVING_M_S = 60.0, 0.5
#: Cosine of how far the tool may lie off a line that it was pulled along; how much longer than the
#: line the way was at least where it lay further off.
_ALONG, _LONGER = float(np.cos(np.radians(45.0))), 1.05

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


def _usual(trail: Trail, before: int, after: int) -> float:
    """Speed to reckon a blind stretch with, m/s: the faster of that at its ends and the usual one.

    Its ends alone may lie in a turn, and were then slower than what was driven between them.
    """
    ends = [trail.speed_m_s[max(before - 5, 0) : before + 1], trail.speed_m_s[after : after + 6]]
    s = np.arange(1.0, _USUAL_S + 1)
    times = np.r_[trail.t_s[before] - s, trail.t_s[after] + s]
    moving = np.abs(np.interp(times, trail.t_s, trail.speed_m_s))
    moving = moving[moving > _MOVING_M_S]
    usual = float(np.median(moving)) if len(moving) else 0.0
    return max(usual, float(np.mean([np.abs(v).mean() for v in ends])))


def blind_swath(trail: Trail, before: int, after: int, width_m: float) -> BaseGeometry:
    """Ground that may have been sown in a blind stretch.

    Driven straight, it is the strip between the bar before and after. Where the way at the usual
    speed is longer than the straight line, or the tool lay across that line before or after, it
    may have been anywhere that way reaches: an ellipse about both places, half a width wider.
    """
    i = [before, after]
    poses = Poses(trail.t_s[i], trail.x_m[i], trail.y_m[i], trail.heading_rad[i], np.zeros(2))
    left, right = bar_ends(poses, 0.0, width_m)
    straight = shapely.convex_hull(shapely.multipoints(np.concatenate([left, right])))
    dx, dy = float(np.diff(poses.x_m)[0]), float(np.diff(poses.y_m)[0])
    apart = float(np.hypot(dx, dy))
    way = _usual(trail, before, after) * float(np.diff(poses.t_s)[0])
    along = np.arctan2(dy, dx)
    if apart >= 0.9 * way and (np.cos(poses.heading_rad - along) > _ALONG).all():
        return straight
    way = max(way, _LONGER * apart)
    turn = np.linspace(0.0, 2 * np.pi, 33)[:-1]
    a, b = way / 2, float(np.sqrt(way**2 - apart**2)) / 2
    u, v = a * np.cos(turn), b * np.sin(turn)
    ring = np.column_stack(
        [
            poses.x_m.mean() + u * np.cos(along) - v * np.sin(along),
            poses.y_m.mean() + u * np.sin(along) + v * np.cos(along),
        ]
    )
    return shapely.union(shapely.buffer(Polygon(ring), width_m / 2), straight)


def swung(trail: Trail, rig: Rig, from_s: float, to_s: float) -> list[BaseGeometry]:
    """Ground that the tool may have reached while nobody knows yet how it lay behind the tractor.

    Until it has been pulled twice its length from where the track begins: what each rank passes
    over when it swings to either side by one sigma of its heading, turned about its own pin.
    """
    if rig.kind == "mounted":
        return []
    tool = rig.tool
    known_s = float(np.interp(_PULLED * tool.pin_to_axle_m, trail.path_m, trail.t_s))
    out: list[BaseGeometry] = []
    for poses in poses_between(trail, from_s, min(to_s, known_s)):
        sigma = np.interp(poses.t_s, trail.t_s, trail.swing_sigma_rad)
        for way in (sigma, -sigma):
            was, now = np.exp(1j * poses.heading_rad), np.exp(1j * (poses.heading_rad + way))
            place = (was - now) * (tool.pin_to_axle_m - 1j * tool.offset_left_m)
            x, y = poses.x_m + place.real, poses.y_m + place.imag
            to = Poses(poses.t_s, x, y, poses.heading_rad + way, poses.path_m)
            for ahead in {tool.front_rank_m, tool.rear_rank_m}:
                out += swept(to, piece_cuts(to), ahead, tool.width_m)
    return out


def polygons_of(shape: BaseGeometry) -> BaseGeometry:
    """Only the areas of a geometry: points and lines that overlays leave behind taken out."""
    if shape.geom_type in ("Polygon", "MultiPolygon"):
        return shape
    parts = [p for p in shapely.get_parts(shape) if p.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(np.asarray(parts, dtype=object)) if parts else EMPTY
