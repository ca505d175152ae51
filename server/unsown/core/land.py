"""The paddock on its plane: boundary, keep-outs of the day, ground out of reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import EMPTY, polygons_of
from unsown.core.errors import DayError
from unsown.core.lap import Lap, first_lap
from unsown.core.legs import Leg
from unsown.core.plane import Plane
from unsown.core.words import Fixes, Floats, Paddock, Rig, Run

#: No fix nearer than this to the paddock: they do not belong together, m. What comes so near with
#: latitude and longitude exchanged has them swapped, m.
_FAR_M, _NEAR_M = 200.0, 2000.0


@dataclass(frozen=True)
class Land:
    """The paddock's ground on the plane, and notes on how it was taken.

    ``surveyed`` is the boundary where it is not from this day's lap, else None.
    """

    boundary: BaseGeometry
    keep_out: BaseGeometry
    unreachable: BaseGeometry
    surveyed: BaseGeometry | None
    notes: tuple[str, ...]

    @property
    def open(self) -> BaseGeometry:
        """Boundary less keep-outs."""
        return polygons_of(shapely.difference(self.boundary, self.keep_out))


def plane_of(paddock: Paddock, fixes: Fixes) -> Plane:
    """The paddock's plane; refuses a track that lies elsewhere."""
    if paddock.area is None:
        middle = (np.median(fixes.lon_deg), np.median(fixes.lat_deg))
        near = Plane(float(middle[1]), float(middle[0]))
        x, y = near.to_xy(fixes.lon_deg, fixes.lat_deg)
        close = np.hypot(x, y) < 20_000
        return Plane.around(fixes.lon_deg[close], fixes.lat_deg[close])
    corners = shapely.get_coordinates(paddock.area)
    plane = Plane.around(corners[:, 0], corners[:, 1])
    x, y = plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    away = _distance(plane.shape_to_xy(paddock.area), x, y)
    if away > _FAR_M:
        sx, sy = plane.to_xy(fixes.lat_deg, np.clip(fixes.lon_deg, -90, 90))
        swapped = _distance(plane.shape_to_xy(paddock.area), sx, sy) < _NEAR_M
        hint = (
            "Latitude and longitude look swapped in one of the two."
            if swapped
            else "Give the track and the paddock of the same place."
        )
        raise DayError(
            "track-elsewhere",
            f"expected a track in paddock {paddock.name!r}, but its nearest fix is"
            f" {away / 1000:.1f} km away",
            hint=hint,
        )
    return plane


def _distance(area: BaseGeometry, x: Floats, y: Floats) -> float:
    """Distance from the nearest fix to the paddock, metres."""
    ok = np.isfinite(x) & np.isfinite(y)
    if not ok.any():
        return float("inf")
    shapely.prepare(area)
    if shapely.intersects_xy(area, x[ok][::50], y[ok][::50]).any():
        return 0.0
    return float(shapely.distance(area, shapely.points(x[ok], y[ok])).min())


def land_of(
    paddock: Paddock, plane: Plane, now_ms: int, lap: Lap | None, clearance_m: float
) -> Land:
    """The day's land: keep-outs that hold at ``now_ms``, the boundary from the file or from a lap.

    Of a log of several days that is its newest moment: a wet patch of Monday that is dry on Friday
    is paddock again.
    """
    notes: list[str] = []
    reach: list[BaseGeometry] = []
    outs: list[BaseGeometry] = []
    for k in paddock.keep_outs:
        starts, ends = k.from_ms, k.until_ms
        if (starts is not None and now_ms < starts) or (ends is not None and now_ms > ends):
            name = k.name or k.kind
            notes.append(f"keep-out {name!r} does not hold on this day: counted as paddock")
            continue
        (reach if k.kind == "unreachable" else outs).append(plane.shape_to_xy(k.area))
    if lap is not None:
        boundary: BaseGeometry = lap.fence
        reach.append(lap.unreachable)
        notes.append(
            f"boundary from the first lap ({lap.fence.area / 1e4:.1f} ha), fence taken"
            f" {clearance_m:g} m beyond the tool"
        )
    else:
        boundary = plane.shape_to_xy(paddock.area)
        boundary = polygons_of(shapely.union_all(np.asarray([boundary], dtype=object)))
    keep_out = shapely.union_all(np.asarray(outs, dtype=object)) if outs else EMPTY
    if outs:
        keep_out = shapely.intersection(keep_out, boundary)
    unreachable = shapely.union_all(np.asarray(reach, dtype=object)) if reach else EMPTY
    surveyed = boundary if lap is None and paddock.boundary == "survey" else None
    return Land(boundary, keep_out, unreachable, surveyed, tuple(notes))


def driven_lap(
    legs: Sequence[Leg], runs: Sequence[Run], rigs: Sequence[Rig], clearance_m: float
) -> Lap:
    """The first lap from the first run on, by the phone that saw it."""
    first = runs[0] if runs else None
    if first is None:
        raise DayError("lap-none", "expected a first lap with the tool down, but it was never down")
    rig = rigs[first.rig]
    middle = (rig.tool.front_rank_m + rig.tool.rear_rank_m) / 2
    for leg in (each for each in legs if each.outfit == first.outfit):
        path = leg.trails[first.rig]
        from_here = path.t_s >= first.down_s
        if from_here.sum() > 2:
            x = path.x_m + middle * np.cos(path.heading_rad)
            y = path.y_m + middle * np.sin(path.heading_rad)
            return first_lap(
                path.t_s[from_here],
                x[from_here],
                y[from_here],
                rig.tool.width_m,
                clearance_m,
            )
    raise DayError("lap-none", "expected a track of the first lap, but there are no fixes in it")
