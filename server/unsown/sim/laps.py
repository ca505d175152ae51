"""Headland laps: rings inside the boundary that a tractor can drive, each by the last one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats
from unsown.sim.steer import waver

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
    xy = shapely.get_coordinates(shapely.line_interpolate_point(line, at % total))
    if sideways is not None:
        d = np.gradient(xy, axis=0)
        d /= np.maximum(np.hypot(d[:, 0], d[:, 1]), 1e-9)[:, None]
        push = np.interp(np.arange(len(xy)), np.arange(len(sideways)), sideways)
        xy = xy + push[:, None] * np.column_stack([-d[:, 1], d[:, 0]])
    return xy


def place_on(line: LineString, point: tuple[float, float], clockwise: bool) -> float:
    """How far along the ring, in the sense it is driven, the nearest place to a point is."""
    coords = np.asarray(line.coords)
    if shapely.is_ccw(shapely.linearrings(coords)) == clockwise:
        line = LineString(coords[::-1])
    return float(line.project(Point(point)))


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
            line = LineString(self.before_xy)
            at = shapely.line_locate_point(line, shapely.points(xy))
            s = np.linspace(0, line.length, len(self.before))
            own = own + 0.9 * np.interp(at, s, self.before)
        self.before_xy, self.before = xy, own
        return own
