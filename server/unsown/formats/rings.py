"""Rings of a file -> clean shapes, saying what was put right.

Longitudes come out so that each shape is continuous: across 180° they run on (179.99, 180.01).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import shapely
from shapely import is_valid_reason
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from unsown.core.errors import PaddockError
from unsown.core.plane import area_m2, wrap_deg
from unsown.formats.rows import number
from unsown.formats.tangle import Points, tangled

REPAIR = 0.005
"""A ring that crosses itself is repaired if that moves its area by less than this share."""
LONG_RING = 5_000
RING_MEETINGS = 2_000
MEETINGS = 500_000
"""A ring, or all rings together, whose edges meet more often is given up: it is no outline."""
BEYOND_DEG = 181.0
"""Longitudes a little past 180 are taken: some files run on across it."""


class Mends:
    """What was put right, counted by reason, to be said once each."""

    def __init__(self) -> None:
        """Starts with nothing."""
        self.counts: dict[str, int] = {}

    def say(self, what: str, count: int = 1) -> None:
        """Counts one more of ``what``."""
        if count:
            self.counts[what] = self.counts.get(what, 0) + count

    def notes(self) -> list[str]:
        """One sentence a reason."""
        return [f"{what} ({count})" if count > 1 else what for what, count in self.counts.items()]


def polygon(rings: Sequence[Any], where: str, mends: Mends) -> BaseGeometry:
    """A clean polygon (or multipolygon, where a repair cut it) from GeoJSON-like rings.

    The first ring is the outer one, the others holes; positions are (lon, lat, ...), degrees.

    Raises:
        PaddockError: positions that are not numbers or out of range, too few of them, or a ring
            that crosses itself by more than ``REPAIR`` of its area.
    """
    if not isinstance(rings, Sequence) or isinstance(rings, str) or not rings:
        raise _bad("ring-empty", "A polygon without a ring", where)
    shapes: list[tuple[float, BaseGeometry]] = []
    for at, ring in enumerate(rings):
        place = where if at == 0 else f"{where}, hole {at}"
        points = _points(ring, place, mends, hole=at > 0)
        if points is None:
            mends.say("a hole with fewer than three different corners was left out")
            continue
        if at:
            points[:, 0] += _turns(float(points[0, 0]), shapes[0][0]) if shapes else 0.0
        shapes.append((float(points[0, 0]), _simple(points, place, mends, hole=at > 0)))
        if at == 0 and _clockwise(points):
            mends.say("an outer ring ran clockwise and was turned round")
        elif at and not _clockwise(points):
            mends.say("a hole ran anticlockwise and was turned round")
    outer, *holes = (shape for _, shape in shapes)
    if not holes:
        return _oriented(outer)
    if isinstance(outer, Polygon) and all(isinstance(h, Polygon) for h in holes):
        plain = Polygon(outer.exterior, [h.exterior for h in holes])
        if plain.is_valid:
            return _oriented(plain)
    _untangled([outer, *holes], where)
    mends.say("holes that crossed a ring or each other were cut out as they lie")
    cut = outer.difference(shapely.union_all(holes))
    if area_m2(cut) <= 0:
        raise _bad("ring-hole", "The holes take away the whole of the outer ring", where)
    return _oriented(cut)


def together(shapes: Iterable[BaseGeometry], mends: Mends, where: str) -> MultiPolygon:
    """Several shapes as one multipolygon, on the same turn of the globe, overlaps counted once."""
    parts: list[Polygon] = []
    for part in (p for shape in shapes for p in _polygons(shape)):
        first = (parts or [part])[0].exterior.coords[0][0]
        parts.append(_turned(part, _turns(part.exterior.coords[0][0], first)))
    whole = MultiPolygon(parts)
    if not whole.is_valid:
        _untangled(parts, where)
        joined = shapely.union_all(parts)
        apart = sum(area_m2(part) for part in parts)
        if apart - area_m2(joined) > 1e-6 * apart:
            mends.say("parts that overlap were counted once")
        whole = MultiPolygon(_polygons(_oriented(joined)))
    west = 360.0 * math.floor((whole.bounds[0] + 180.0) / 360.0)
    return _turned(whole, -west)


def _turned(shape: Any, by_deg: float) -> Any:
    """The shape moved along by whole turns of the globe."""
    return shapely.transform(shape, lambda p: p + np.array([by_deg, 0.0])) if by_deg else shape


def _points(ring: Any, where: str, mends: Mends, *, hole: bool) -> Points | None:
    """Closed, continuous corners without repeats; None for a hole of fewer than three."""
    if not isinstance(ring, Sequence) or isinstance(ring, str):
        raise _bad(
            "ring-type", f"A ring was expected as a list of positions, {_show(ring)} came", where
        )
    flat = []
    for at, position in enumerate(ring):
        if not isinstance(position, Sequence) or isinstance(position, str) or len(position) < 2:
            raise _bad(
                "position",
                f"Position {at + 1} was expected as [longitude, latitude], {_show(position)} came",
                where,
            )
        flat.append((_degrees(position[0], at, where), _degrees(position[1], at, where)))
        if len(position) > 3:
            mends.say("positions had more than three numbers; longitude and latitude were taken")
    points = np.array(flat, dtype=np.float64).reshape(-1, 2)
    _ranges(points, where)
    if len(points):
        points[1:, 0] -= 360.0 * np.cumsum(np.round(np.diff(points[:, 0]) / 360.0))
    if len(points) and (points[0] != points[-1]).any():
        apart = np.abs(points[0] - points[-1]).max()
        if apart > 1e-9:
            mends.say("a ring that was not closed was closed")
        points = np.vstack([points, points[:1]])
    keep = np.ones(len(points), dtype=bool)
    keep[1:] = (np.diff(points, axis=0) != 0).any(axis=1)
    mends.say("corners given twice were dropped", int((~keep).sum()))
    points = points[keep]
    if len(points) < 4 or len(np.unique(points[:-1], axis=0)) < 3:
        if hole:
            return None
        count = len(np.unique(points, axis=0)) if len(points) else 0
        raise _bad(
            "ring-short", f"A ring needs three different corners, this one has {count}", where
        )
    return points


def _degrees(value: object, at: int, where: str) -> float:
    degrees = number(value) if not isinstance(value, str) else math.nan
    if not math.isfinite(degrees):
        raise _bad(
            "position", f"Position {at + 1} was expected to be numbers, {_show(value)} came", where
        )
    return degrees


def _ranges(points: Points, where: str) -> None:
    lon, lat = points.T
    if (np.abs(lat) > 90).any():
        at = int(np.argmax(np.abs(lat) > 90))
        swapped = (np.abs(lon) <= 90).all() and (np.abs(lat) <= 180).all()
        if swapped:
            hint = "Longitude and latitude seem to be swapped: longitude comes first."
        elif np.abs(points).max() > 1000:
            hint = "These look like metres of a map grid: give longitude and latitude, or a file "
            hint += "that says its coordinate system."
        else:
            hint = "Positions are [longitude, latitude] in degrees."
        raise _bad(
            "latitude",
            f"Latitude {lat[at]:g} at position {at + 1} is not between -90 and 90",
            where,
            hint,
        )
    if (np.abs(lon) > BEYOND_DEG).any():
        at = int(np.argmax(np.abs(lon) > BEYOND_DEG))
        raise _bad(
            "longitude",
            f"Longitude {lon[at]:g} at position {at + 1} is not between -180 and 180",
            where,
            "Positions are [longitude, latitude] in degrees.",
        )


def _simple(points: Points, where: str, mends: Mends, *, hole: bool) -> BaseGeometry:
    """The ring as a valid shape; a crossing is repaired where it hardly moves the area."""
    shape = Polygon(points)
    long = len(points) > LONG_RING  # the test of validity itself can take minutes there
    at = tangled([points], RING_MEETINGS) if long else None
    if at is None and shape.is_valid:
        return shape
    at = at if long else tangled([points], RING_MEETINGS)
    if at is not None:
        raise _crossing("", points[at:], where, hole=hole)
    reason = is_valid_reason(shape)
    mended = shapely.make_valid(shape)
    mended = MultiPolygon(_polygons(mended))
    # On degrees, scaled to be locally even: enough for a ratio of two areas of one ring.
    scale = math.cos(math.radians(float(points[:, 1].mean())))
    local = (points - points[0]) * [scale, 1.0]
    signed = abs(_shoelace(local))
    after = mended.area * scale
    if after <= 0 or abs(after - signed) > REPAIR * max(after, signed):
        raise _crossing(reason, points, where, hole=hole)
    mends.say("a ring that crossed or touched itself was repaired (area moved by under 0.5 %)")
    return mended


def _crossing(reason: str, points: Points, where: str, *, hole: bool) -> PaddockError:
    found = re.search(r"\[(\S+) (\S+?)\]", reason)
    lon, lat = (float(found.group(1)), float(found.group(2))) if found else points[0]
    size = "hole" if hole else "ring"
    return _bad(
        "ring-crosses",
        f"The {size} crosses itself near longitude {float(wrap_deg(lon)):.6f}, latitude {lat:.6f}",
        where,
        "Move the corner there, so that the line goes round once.",
    )


def _all_rings(shapes: Iterable[BaseGeometry]) -> list[Points]:
    parts = [part for shape in shapes for part in _polygons(shape)]
    return [np.asarray(r.coords)[:, :2] for part in parts for r in (part.exterior, *part.interiors)]


def _untangled(shapes: Sequence[BaseGeometry], where: str) -> None:
    if tangled(_all_rings(shapes), MEETINGS) is not None:
        raise _bad(
            "ring-tangle",
            f"The outlines meet one another more than {MEETINGS:,} times",
            where,
            "Give the outline of the paddock alone.",
        )


def _shoelace(points: Points) -> float:
    x, y = points.T
    return float(0.5 * np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def _clockwise(points: Points) -> bool:
    return _shoelace(points - points[0]) < 0


def _turns(lon_deg: float, reference_deg: float) -> float:
    """Whole turns that bring a longitude nearest to another, degrees."""
    return 360.0 * round((reference_deg - lon_deg) / 360.0)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    if isinstance(shape, Polygon):
        return [shape] if not shape.is_empty else []
    return [p for part in getattr(shape, "geoms", ()) for p in _polygons(part)]


def _oriented(shape: BaseGeometry) -> BaseGeometry:
    parts = [orient(part) for part in _polygons(shape)]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _show(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."


def _bad(code: str, message: str, where: str, hint: str = "") -> PaddockError:
    return PaddockError(code, message + ".", where=where, hint=hint)
