"""Headland laps: rings inside the boundary that a tractor can drive, each by the last one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats
from unsown.sim.steer import bump, waver

RING_STEP_M = 1.0


@dataclass(frozen=True)
class Ring:
    """A closed line driven once: points (n, 2) RING_STEP_M apart, in the order driven."""

    xy: Floats
    number: int
    hole: bool


def rounded(ground: BaseGeometry, radius_m: float) -> BaseGeometry:
    """The ground with every corner of it rounded to the radius."""
    return ground.buffer(-radius_m, quad_segs=32).buffer(radius_m, quad_segs=32)


def with_wide_bends(outline: Polygon, by_m: float) -> BaseGeometry:
    """The outline less a disc at each corner that points inward: there drivers swing wide."""
    if by_m <= 0:
        return outline
    ring = np.asarray(shapely.geometry.polygon.orient(outline).exterior.coords)[:-1]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.arctan2(
        before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(axis=1)
    )
    discs = [Point(p).buffer(by_m, quad_segs=16) for p in ring[turn < -0.35]]
    return outline.difference(shapely.union_all(discs)) if discs else outline


def rings_at(
    outline: Polygon, distance_m: float, radius_m: float, bend_m: float
) -> list[tuple[bool, LineString]]:
    """The lines ``distance_m`` inside the boundary and round the holes: (is a hole, line).

    ``bend_m`` is the least radius round a corner that points inward.
    """
    ground = with_wide_bends(outline, bend_m - distance_m)
    inner = rounded(ground.buffer(-distance_m, quad_segs=32), radius_m)
    parts = inner.geoms if isinstance(inner, MultiPolygon) else [inner]
    out = []
    for part in parts:
        if part.is_empty or part.exterior.length < 8 * radius_m:
            continue
        out.append((False, LineString(part.exterior.coords)))
        out.extend((True, LineString(hole.coords)) for hole in part.interiors)
    return out


def driven(
    line: LineString,
    *,
    start_m: float,
    clockwise: bool,
    beyond_m: float,
    sideways: Floats | None = None,
) -> Floats:
    """A ring as driven from ``start_m`` along it, once round and ``beyond_m`` on.

    ``sideways`` (n,) metres to the left of travel at each metre from the start.
    """
    coords = np.asarray(line.coords)
    ccw = shapely.is_ccw(shapely.linearrings(coords))
    if ccw == clockwise:
        line = LineString(coords[::-1])
    total = line.length
    at = start_m + np.arange(0, total + beyond_m, RING_STEP_M)
    xy = along(line, at)
    if sideways is not None:
        d = np.gradient(xy, axis=0)
        d /= np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)[:, None]
        push = np.interp(np.arange(len(xy)), np.arange(len(sideways)), sideways)
        xy = xy + push[:, None] * np.column_stack([-d[:, 1], d[:, 0]])
    return xy


def along(ring: LineString, at_m: Floats) -> Floats:
    """Points (n, 2) of a closed line so many metres along it, counted on past its end."""
    xy = np.asarray(ring.coords)
    s = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]
    at = at_m % s[-1]
    return np.column_stack([np.interp(at, s, xy[:, 0]), np.interp(at, s, xy[:, 1])])


def place_on(line: LineString, point: tuple[float, float], clockwise: bool) -> float:
    """How far along the ring, in the sense it is driven, the nearest place to a point is."""
    coords = np.asarray(line.coords)
    if shapely.is_ccw(shapely.linearrings(coords)) == clockwise:
        line = LineString(coords[::-1])
    return float(line.project(Point(point)))


def swerves(xy: Floats, obstacles: list[BaseGeometry], room_m: float, radius_m: float) -> Floats:
    """Sideways metres (n,), left positive, that carry a lap past obstacles in its way.

    ``room_m`` is the distance kept between the line and the obstacle's rim.
    """
    out = np.zeros(len(xy))
    s: Floats = RING_STEP_M * np.arange(len(xy), dtype=np.float64)
    for thing in obstacles:
        middle = np.array(thing.centroid.coords[0])
        rim = np.asarray(thing.exterior.coords)
        away = np.hypot(*(xy - middle).T)
        i = int(np.clip(np.argmin(away), 1, len(xy) - 2))
        along_it = xy[i + 1] - xy[i - 1]
        along_it /= np.hypot(*along_it)
        left = (rim - xy[i]) @ np.array([-along_it[1], along_it[0]])
        ahead = (rim - xy[i]) @ along_it
        go_left, go_right = left.max() + room_m, room_m - left.min()
        if go_left <= 0 or go_right <= 0 or away[i] > 60:
            continue
        size = go_left if go_left < go_right else -go_right
        flat = float(np.ptp(ahead)) + 4.0
        side = np.pi * np.sqrt(0.5 * abs(size) * radius_m) + 6.0
        out += size * bump(s, s[i], flat + 2 * side, flat)
    return out


@dataclass
class Wavers:
    """Sideways errors of laps: each follows the one before, its own wavering added."""

    rng: np.random.Generator
    spread_m: float
    length_m: float
    before_xy: Floats | None = None
    before: Floats | None = None

    def next(self, xy: Floats, spread_m: float | None = None) -> Floats:
        """Inward error (n,) along a ring, metres; inward is added by the caller's sense."""
        own = waver(
            self.rng,
            len(xy),
            RING_STEP_M,
            self.spread_m if spread_m is None else spread_m,
            self.length_m,
        )
        if self.before is not None and self.before_xy is not None:
            nearest = cKDTree(self.before_xy).query(xy)[1]
            own = own + 0.9 * gaussian_filter1d(self.before[nearest], 5.0 / RING_STEP_M)
        self.before_xy, self.before = xy, own
        return own
