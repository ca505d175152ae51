"""Invented paddocks: oblique four-sided, L-shaped, wedge, rounded end; with keep-outs inside.

No shape is traced from a real parcel. Everything is drawn in metres on the paddock's plane
and then laid at the place asked for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box

from unsown.core.errors import PaddockError
from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Paddock

SHAPES = ("quad", "ell", "wedge", "round")


@dataclass(frozen=True)
class Field:
    """A paddock on its plane, metres: the outline, and keep-outs as (kind, shape)."""

    outline: Polygon
    holes: tuple[tuple[str, Polygon], ...]
    plane: Plane
    name: str

    @property
    def net(self) -> Polygon:
        """Outline less every keep-out."""
        inside = shapely.union_all([shape for _, shape in self.holes])
        return self.outline.difference(inside)

    def paddock(self) -> Paddock:
        """The same in longitude/latitude."""
        return Paddock(
            name=self.name,
            area=MultiPolygon([self.plane.shape_to_degrees(self.outline)]),
            keep_outs=tuple(
                KeepOut(kind, MultiPolygon([self.plane.shape_to_degrees(shape)]), hazard=hazard)
                for kind, shape in self.holes
                for hazard in [kind == "pole"]
            ),
            notes=("invented shape, not traced from any parcel",),
        )


def _quad(rng: np.random.Generator) -> Polygon:
    w = rng.uniform(1.1, 2.2)
    lean = np.tan(np.radians(rng.uniform(-12, 12, 4)))
    return Polygon([(0, 0), (w, 0.15 * lean[0]), (w + lean[1], 1 + 0.15 * lean[3]), (0, 1)])


def _ell(rng: np.random.Generator) -> Polygon:
    w = rng.uniform(1.2, 1.7)
    lean = np.tan(np.radians(rng.uniform(-12, 12)))
    cx, cy = rng.uniform(0.5, 0.65) * w, rng.uniform(0.4, 0.6)
    return Polygon([(0, 0), (w + lean * 0.5, 0), (w, cy), (cx, cy), (cx, 1), (0, 1)])


def _wedge(rng: np.random.Generator) -> Polygon:
    w = rng.uniform(1.2, 1.8)
    return Polygon([(0, 0), (w, 0), (w * rng.uniform(0.75, 1.0), rng.uniform(0.25, 0.5)), (0, 1)])


def _round(rng: np.random.Generator) -> Polygon:
    w = rng.uniform(0.7, 1.3)
    a = np.radians(np.linspace(-90, 90, 40))
    bulge = rng.uniform(0.35, 0.5)
    arc = [(w + bulge * np.cos(t), 0.5 + 0.5 * np.sin(t)) for t in a]
    return Polygon([(0, 0), *arc, (0, 1)])


_MAKERS = {"quad": _quad, "ell": _ell, "wedge": _wedge, "round": _round}


def field(
    rng: np.random.Generator,
    *,
    area_ha: float,
    shape: str | None = None,
    keep_outs: int = 1,
    lat_deg: float = 49.73,
    lon_deg: float = -106.21,
    clear_m: float = 60.0,
    name: str = "invented paddock",
) -> Field:
    """A random paddock of ``area_ha``; keep-outs stay ``clear_m`` off the boundary."""
    kind = shape or str(rng.choice(SHAPES))
    if kind not in _MAKERS:
        raise PaddockError("shape-unknown", f"expected one of {', '.join(SHAPES)}, got {kind!r}")
    outline = _MAKERS[kind](rng)
    grow = np.sqrt(area_ha * 1e4 / outline.area)
    outline = affinity.scale(outline, grow, grow, origin=(0, 0))
    outline = affinity.rotate(outline, rng.uniform(0, 360), origin=(0, 0))
    middle = box(*outline.bounds).centroid
    outline = shapely.set_precision(affinity.translate(outline, -middle.x, -middle.y), 0.01)
    outline = shapely.geometry.polygon.orient(outline)
    holes = _holes(rng, outline, keep_outs, clear_m)
    return Field(outline, holes, Plane(lat_deg, lon_deg), name)


def _holes(
    rng: np.random.Generator, outline: Polygon, count: int, clear_m: float
) -> tuple[tuple[str, Polygon], ...]:
    holes: list[tuple[str, Polygon]] = []
    for _ in range(count):
        kinds = ["slough", "stone pile", "pole"] if outline.area > 2.5e5 else ["stone pile", "pole"]
        kind = str(rng.choice(kinds))
        free = outline.buffer(-clear_m - (60 if kind == "slough" else 5))
        for _, other in holes:
            free = free.difference(other.buffer(2 * clear_m + 60))
        if free.is_empty:
            continue
        x0, y0, x1, y1 = free.bounds
        for _ in range(60):
            at = Point(rng.uniform(x0, x1), rng.uniform(y0, y1))
            if free.contains(at):
                holes.append((kind, _hole(rng, kind, at)))
                break
    return tuple(holes)


def _hole(rng: np.random.Generator, kind: str, at: Point) -> Polygon:
    if kind == "pole":
        return at.buffer(1.5, quad_segs=4)
    if kind == "stone pile":
        pile = box(at.x - 11, at.y - 4.5, at.x + 11, at.y + 4.5)
        return affinity.rotate(pile, rng.uniform(0, 180))
    a = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    wave = 1 + 0.12 * np.cos(2 * a + rng.uniform(0, 6)) + 0.05 * np.cos(3 * a + rng.uniform(0, 6))
    r = rng.uniform(40, 58) * wave
    return Polygon(np.column_stack([at.x + r * np.cos(a), at.y + 0.85 * r * np.sin(a)]))
