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
#: Sides meet in a corner from this bend, are fitted without this much at each end, and reach as
#: far as the fence keeps within this of them, m.
_BEND_DEG, _TRIM_M, _ON_LINE_M = 25.0, 30.0, 0.05


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
    """The fence with its long straight sides prolonged until they meet, where that is nearby.

    Sides are found by thinning and fitted to their middle parts, away from the round corners. A
    bend of less than _BEND_DEG rounds off under a square metre: a curved side has no corners.
    """
    dense = np.asarray(shapely.segmentize(fence, 2.0).exterior.coords)[:-1]
    ring = _merged(np.asarray(shapely.simplify(Polygon(dense), _FIT_M).exterior.coords)[:-1])
    where = {(float(x), float(y)): i for i, (x, y) in enumerate(dense)}
    at = np.asarray([where[float(x), float(y)] for x, y in ring])
    sides = []
    for first, last in zip(at, np.roll(at, -1), strict=True):
        points = np.roll(dense, -first, axis=0)[: (last - first) % len(dense) + 1]
        if np.hypot(*(points[-1] - points[0])) >= _SIDE_M:
            sides.append(_fitted(points))
    corners: list[BaseGeometry] = []
    for (a0, a1), (b0, b1) in zip(sides, sides[1:] + sides[:1], strict=True):
        da, db = a1 - a0, b1 - b0
        bend = np.arctan2(da[0] * db[1] - da[1] * db[0], float(da @ db))
        met = _meeting(a0, a1, b0, b1)
        if met is None or abs(np.degrees(bend)) < _BEND_DEG:
            continue
        point = shapely.Point(met)
        if fence.exterior.distance(point) < _CORNER_M and not fence.contains(point):
            wedge = Polygon([a1, met, b0])
            if wedge.is_valid:
                corners.append(shapely.buffer(wedge, 0.01))
    return shapely.union_all(np.asarray([fence, *corners], dtype=object))


def _fitted(points: Floats) -> tuple[Floats, Floats]:
    """A side's line from its first to its last point that lies on it, each of shape (2,)."""
    ends = np.hypot(*(points - points[0]).T), np.hypot(*(points - points[-1]).T)
    trim = min(_TRIM_M, 0.25 * float(ends[0][-1]))
    middle = points[(ends[0] >= trim) & (ends[1] >= trim)]
    centre = middle.mean(axis=0)
    way = np.linalg.svd(middle - centre, full_matrices=False)[2][0]
    way = way * np.sign(way @ (points[-1] - points[0]))
    along, off = (points - centre) @ way, (points - centre) @ np.array([-way[1], way[0]])
    spread = float(np.abs(off[(ends[0] >= trim) & (ends[1] >= trim)]).max())
    on = along[np.abs(off) <= max(spread, _ON_LINE_M)]
    return centre + on.min() * way, centre + on.max() * way


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
