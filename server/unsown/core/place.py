"""Where in the paddock something lies, by the paddock's own sides: what a driver can follow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats

_BESIDE_M = 15.0
#: Nearer to the fence than this is at the fence, m.
AGAINST_M = 3.0


@dataclass(frozen=True)
class Place:
    """A place by the paddock's own sides.

    Attributes:
        side: ``north``, ``north-east`` ... or ``middle``, by thirds of the paddock's extent.
        end: the nearer end of that side (``west`` or ``north``...); empty in corners and middle.
        along_m: metres from that end.
        edge: what the nearest edge is: ``fence`` or ``keep-out``.
        inside_m: metres from the nearest edge.
    """

    side: str
    end: str
    along_m: float
    edge: str
    inside_m: float


def place_of(outline: BaseGeometry, net: BaseGeometry) -> Place:
    """Where ``outline`` lies in the paddock ``net``; both on the paddock's plane, metres."""
    west, south, east, north = net.bounds
    point = outline.representative_point()
    column = _third(point.x, west, east, ("west", "", "east"))
    row = _third(point.y, south, north, ("south", "", "north"))
    side = "-".join(word for word in (row, column) if word) or "middle"
    end, along = "", 0.0
    if row and not column:
        end, along = _nearer(point.x, west, east, ("west", "east"))
    elif column and not row:
        end, along = _nearer(point.y, south, north, ("south", "north"))
    fences, inner = _rings(net)
    fence_m = _gap(outline, fences)
    keep_m = _gap(outline, inner)
    if keep_m < fence_m and keep_m < _BESIDE_M:
        return Place(side, end, along, "keep-out", keep_m)
    return Place(side, end, along, "fence", fence_m)


def _third(value: float, low: float, high: float, names: tuple[str, str, str]) -> str:
    share = (value - low) / (high - low) if high > low else 0.5
    return names[int(np.clip(share * 3, 0, 2))]


def _nearer(value: float, low: float, high: float, names: tuple[str, str]) -> tuple[str, float]:
    return (names[0], value - low) if value - low <= high - value else (names[1], high - value)


def _rings(net: BaseGeometry) -> tuple[list[BaseGeometry], list[BaseGeometry]]:
    parts = [p for p in shapely.get_parts(net) if isinstance(p, Polygon) and not p.is_empty]
    return [p.exterior for p in parts], [ring for p in parts for ring in p.interiors]


def _gap(outline: BaseGeometry, rings: list[BaseGeometry]) -> float:
    if not rings:
        return float("inf")
    gaps: Floats = np.asarray(shapely.distance(outline, np.array(rings, dtype=object)))
    return float(gaps.min())
