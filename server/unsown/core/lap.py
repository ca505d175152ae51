"""The paddock's boundary from the first driven lap (job paper 3.10).

The sown edge is the path of the bar's middle pushed out by half a width; the fence lies a
clearance beyond it. A rounded track cannot show a true corner: long straight sides are fitted
and met, and the ground between the met corner and what the tool can reach is *unreachable*, as
is the clearance itself. Unreachable ground is counted apart, never listed as missed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import polygons_of
from unsown.core.errors import DayError
from unsown.core.words import Floats

#: A lap is closed within this many widths of its start, and is longer than this, m.
_CLOSE_WIDTHS, _SHORTEST_M = 2.0, 300.0
#: Sides are fitted within this, merged below this bend, and used from this length, m.
_FIT_M, _STRAIGHT_DEG, _SIDE_M, _CORNER_M = 2.0, 6.0, 40.0, 25.0


@dataclass(frozen=True)
class Lap:
    """A boundary from a lap on the paddock's plane: fence line polygon and unreachable ground."""

    fence: BaseGeometry
    unreachable: BaseGeometry
    from_s: float
    to_s: float


def first_lap(t_s: Floats, x_m: Floats, y_m: Floats, width_m: float, clearance_m: float) -> Lap:
    """The boundary round the first closed lap of the bar's path.

    Args:
        t_s: times of the path, seconds.
        x_m: the bar's middle from the first lowering on, east, shape (n,).
        y_m: the same, north.
        width_m: working width.
        clearance_m: from the tool's outer end to the fence.

    Raises:
        DayError: no closed lap was driven.
    """
    end = _closing(x_m, y_m, width_m)
    ring = Polygon(np.column_stack([x_m[: end + 1], y_m[: end + 1]]))
    body = polygons_of(shapely.make_valid(shapely.simplify(ring, 0.05)))
    middle = max(shapely.get_parts(body), key=lambda p: p.area)
    edge = shapely.buffer(
        Polygon(middle.exterior), width_m / 2, join_style="mitre", mitre_limit=2.0
    )
    fence = shapely.buffer(edge, clearance_m, join_style="mitre", mitre_limit=2.0)
    fence = Polygon(max(shapely.get_parts(fence), key=lambda p: p.area).exterior)
    sharp = polygons_of(shapely.union(fence, _met_corners(fence)))
    sharp = max(shapely.get_parts(sharp), key=lambda p: p.area)
    return Lap(
        Polygon(sharp.exterior),
        polygons_of(shapely.difference(Polygon(sharp.exterior), edge)),
        float(t_s[0]),
        float(t_s[end]),
    )


def _closing(x: Floats, y: Floats, width_m: float) -> int:
    """Index at which the path first comes back to its start."""
    way = np.r_[0.0, np.cumsum(np.hypot(np.diff(x), np.diff(y)))]
    home = np.hypot(x - x[0], y - y[0])
    back = np.flatnonzero((way > _SHORTEST_M) & (home < _CLOSE_WIDTHS * width_m))
    if len(back) == 0:
        raise DayError(
            "lap-open",
            f"expected a first lap that closes within {_CLOSE_WIDTHS * width_m:.0f} m of its start"
            f" after more than {_SHORTEST_M:.0f} m, but the track never comes back",
            hint="Give the paddock as a file, or a track that begins with the whole lap.",
        )
    last = int(back[0])
    while last + 1 < len(x) and home[last + 1] < home[last]:
        last += 1
    return last


def _met_corners(fence: Polygon) -> BaseGeometry:
    """The polygon of long straight sides prolonged until they meet, where they meet nearby."""
    ring = np.asarray(shapely.simplify(fence, _FIT_M).exterior.coords)[:-1]
    ring = _merged(ring)
    n = len(ring)
    if n < 3:
        return fence
    after = np.roll(ring, -1, axis=0)
    long = np.hypot(*(after - ring).T) >= _SIDE_M
    sides = np.flatnonzero(long)
    corners: list[BaseGeometry] = []
    for a, b in zip(sides, np.roll(sides, -1), strict=True):
        if a == b:
            continue
        met = _meeting(ring[a], after[a], ring[b], after[b])
        if met is None:
            continue
        point = shapely.Point(met)
        if fence.exterior.distance(point) < _CORNER_M and not fence.contains(point):
            wedge = Polygon([after[a], met, ring[b]]) if (a + 1) % n != b else None
            if wedge is not None and wedge.is_valid:
                corners.append(shapely.buffer(wedge, 0.01))
    return shapely.union_all(np.asarray([fence, *corners], dtype=object))


def _merged(ring: Floats) -> Floats:
    while len(ring) > 3:
        before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
        bend = np.arctan2(
            before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1)
        )
        flat = np.abs(np.degrees(bend)) < _STRAIGHT_DEG
        if not flat.any():
            break
        ring = np.delete(ring, int(np.argmin(np.where(flat, np.abs(bend), np.inf))), axis=0)
    return ring


def _meeting(a0: Floats, a1: Floats, b0: Floats, b1: Floats) -> Floats | None:
    """Where the line a0-a1, prolonged forward, meets the line b0-b1 prolonged back."""
    da, db = a1 - a0, b1 - b0
    cross = float(da[0] * db[1] - da[1] * db[0])
    if abs(cross) < 1e-9 * float(np.hypot(*da) * np.hypot(*db)):
        return None
    ahead = float((b0 - a0)[0] * db[1] - (b0 - a0)[1] * db[0]) / cross
    behind = float((b0 - a0)[0] * da[1] - (b0 - a0)[1] * da[0]) / cross
    if ahead < 1.0 or behind > 0.0:
        return None
    met: Floats = a0 + ahead * da
    return met
