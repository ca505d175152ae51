"""A route: pieces of path laid end to end, and what the driver means to do on them.

Pieces are polylines on the plane. Between two that do not touch, the shortest turn with the
rig's tightest radius that stays on the paddock is put in.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import cos, hypot, sin

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats, Ints
from unsown.sim import turns
from unsown.sim.drive import STEP_M, smoothed
from unsown.sim.turns import Pose


@dataclass(frozen=True)
class Piece:
    """One stretch of path.

    ``kind`` is lap, run, turn, road or back; ``pace`` a share of the working speed;
    ``halt_s`` seconds of standing at its end.
    """

    kind: str
    xy: Floats
    pace: float = 1.0
    gear: int = 1
    halt_s: float = 0.0


@dataclass
class Work:
    """Ground the driver means to sow: between two lines across the way of the tool.

    Each line is a point and the direction of travel there. ``pieces`` are the first and last
    piece of the route it lies on. ``up`` True: driven with the tool up, whatever was meant.
    ``open_start``, ``open_end``: what was done there on purpose, such as ``backing``.
    """

    kind: str
    pieces: tuple[int, int]
    start: Pose
    end: Pose
    row: int = -1
    up: bool = False
    corners: bool = False
    tags: dict[str, object] = field(default_factory=dict)


def pose_at(xy: Floats, at_end: bool) -> Pose:
    """Place and direction at the start or the end of a polyline."""
    a, b = (xy[-2], xy[-1]) if at_end else (xy[0], xy[1])
    p = b if at_end else a
    return float(p[0]), float(p[1]), float(np.arctan2(b[1] - a[1], b[0] - a[0]))


def ahead(pose: Pose, by_m: float, left_m: float = 0.0) -> Pose:
    """The pose moved along its own direction and to its left."""
    x, y, psi = pose
    return (
        x + by_m * cos(psi) - left_m * sin(psi),
        y + by_m * sin(psi) + left_m * cos(psi),
        psi,
    )


@dataclass
class Route:
    """Pieces and works in the order driven."""

    radius_m: float
    ground: BaseGeometry
    ring: LineString | None = None
    things: list[BaseGeometry] = field(default_factory=list)
    pieces: list[Piece] = field(default_factory=list)
    works: list[Work] = field(default_factory=list)

    @property
    def pose(self) -> Pose:
        """Where the tractor's axle is now."""
        return pose_at(self.pieces[-1].xy, at_end=True)

    def add(self, kind: str, xy: Floats, *, pace: float = 1.0, gear: int = 1) -> int:
        """Appends a piece, with a turn before it where it does not join; gives its index."""
        if self.pieces and gear == 1 and self.pieces[-1].gear == 1:
            self.link(pose_at(xy, at_end=False))
        self.pieces.append(Piece(kind, xy, pace, gear))
        return len(self.pieces) - 1

    def halt(self, seconds: float) -> None:
        """Stands at the end of the last piece."""
        p = self.pieces[-1]
        self.pieces[-1] = replace(p, halt_s=p.halt_s + seconds)

    def link(self, to: Pose, *, kind: str = "turn", pace: float = 1.0) -> None:
        """Drives to a pose with the tool up; a long way rather by the headland."""
        here = self.pose
        away = hypot(to[0] - here[0], to[1] - here[1])
        if away < 0.3:
            return
        best, cost = self._turn(here, to)
        if self.ring is not None and away > 90:
            around, other = self._around(here, to, self.ring)
            if other * (0.35 if kind == "road" else 1.0) < cost:
                best, cost = around, other
        for thing in self.things:
            if LineString(best).intersects(thing.buffer(1.5)):
                past, other = self._past(here, to, thing)
                if other < cost:
                    best, cost = past, other
        self.pieces.append(Piece(kind, np.vstack([[here[:2]], best]), pace))

    def _turn(self, here: Pose, to: Pose) -> tuple[Floats, float]:
        found = sorted(turns.words(here, to, self.radius_m), key=lambda w: w[0])
        best: tuple[float, Floats] | None = None
        for length, word, parts in found:
            if best is not None and length >= best[0]:
                break
            xy = turns.draw(here, word, parts, self.radius_m, STEP_M)
            off = shapely.length(shapely.difference(LineString(xy), self.ground))
            if best is None or length + 20 * off < best[0]:
                best = (length + 20 * off, xy)
        assert best is not None
        return best[1], best[0]

    def _past(self, here: Pose, to: Pose, thing: BaseGeometry) -> tuple[Floats, float]:
        """Past one side or the other of what stands in the way."""
        way = float(np.arctan2(to[1] - here[1], to[0] - here[0]))
        middle = thing.centroid
        wide = shapely.minimum_bounding_radius(thing) + self.radius_m
        options = []
        for side in (wide, -wide):
            via = ahead((middle.x, middle.y, way), 0.0, side)
            first, c1 = self._turn(here, via)
            last, c2 = self._turn(via, to)
            options.append((c1 + c2, np.vstack([first, last])))
        cost, xy = min(options, key=lambda o: o[0])
        return xy, cost

    def _around(self, here: Pose, to: Pose, ring: LineString) -> tuple[Floats, float]:
        """Along the headland: on to the ring, round it, off it."""
        total = ring.length
        options = []
        for sense in (1.0, -1.0):
            on = ring.project(shapely.Point(*here[:2])) + sense * 2.5 * self.radius_m
            off = ring.project(shapely.Point(*to[:2])) - sense * 2.5 * self.radius_m
            way = (sense * (off - on)) % total
            at = (on + sense * np.arange(0, way, 2.0)) % total
            if len(at) < 3:
                continue
            xy = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
            first, c1 = self._turn(here, pose_at(xy, at_end=False))
            last, c2 = self._turn(pose_at(xy, at_end=True), to)
            options.append((c1 + c2 + way, np.vstack([first, xy[1:], last])))
        if not options:
            return np.empty((0, 2)), np.inf
        cost, xy = min(options, key=lambda o: o[0])
        return xy, cost


@dataclass(frozen=True)
class Track:
    """The route as one path sampled every STEP_M: (n, 2), gear, piece and pace a sample.

    ``first`` and ``last`` are the sample numbers of each piece; ``halts`` are (sample,
    seconds).
    """

    xy: Floats
    gear: Ints
    pace: Floats
    piece: Ints
    first: Ints
    last: Ints
    halts: tuple[tuple[int, float], ...]


def lay(route: Route) -> Track:
    """Samples the pieces evenly and smooths each stretch of one gear."""
    xys: list[Floats] = []
    gears: list[Ints] = []
    paces: list[Floats] = []
    numbers: list[Ints] = []
    group: list[tuple[int, Piece]] = []
    for i, piece in enumerate(route.pieces):
        if group and group[-1][1].gear != piece.gear:
            _even(group, xys, gears, paces, numbers)
            group = []
        group.append((i, piece))
    _even(group, xys, gears, paces, numbers)
    owner = np.concatenate(numbers)
    count = np.arange(len(route.pieces))
    first = np.searchsorted(owner, count)
    last = np.maximum(np.searchsorted(owner, count, side="right") - 1, first)
    halts = tuple((int(last[i]), p.halt_s) for i, p in enumerate(route.pieces) if p.halt_s > 0)
    return Track(
        np.vstack(xys), np.concatenate(gears), np.concatenate(paces), owner, first, last, halts
    )


def _even(
    group: list[tuple[int, Piece]],
    xys: list[Floats],
    gears: list[Ints],
    paces: list[Floats],
    numbers: list[Ints],
) -> None:
    raw = np.vstack([p.xy for _, p in group])
    number = np.concatenate([np.full(len(p.xy), i) for i, p in group])
    away = np.hypot(*np.diff(raw, axis=0).T)
    keep = np.r_[True, away > 1e-6]
    raw, number = raw[keep], number[keep]
    s = np.r_[0.0, np.cumsum(np.hypot(*np.diff(raw, axis=0).T))]
    n = max(2, int(np.ceil(s[-1] / STEP_M)) + 1)
    at = np.linspace(0, s[-1], n)
    xy = smoothed(np.column_stack([np.interp(at, s, raw[:, 0]), np.interp(at, s, raw[:, 1])]))
    which = number[np.minimum(np.searchsorted(s, at - 1e-9), len(s) - 1)]
    if xys:
        xy, which = xy[1:], which[1:]
    pace = np.array([p.pace for _, p in group])[which - group[0][0]]
    xys.append(xy)
    gears.append(np.full(len(xy), group[0][1].gear))
    paces.append(pace)
    numbers.append(which)
