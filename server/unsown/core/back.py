"""Going back as a whole: from a computed day to what is worth it, now and from outside later.

``weighed`` weighs patches from where one stands; here a day is turned into what it asks for. Ground
that was simply not reached yet is no reason to go back: it is sown anyway.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import cos, sin

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import Field, Reach, beside, plans, reach
from unsown.core.dubins import Pose
from unsown.core.handover import not_reached
from unsown.core.plane import Plane
from unsown.core.price import Prices
from unsown.core.waste import pace_ha_per_h
from unsown.core.words import Fixes, Floats, Gate, Patch, Rig, Tally
from unsown.core.worth import Circumstances, Worth, weighed

#: Where no run tells a working speed, m/s.
_USUAL_M_S = 2.0
#: More patches than this are not all weighed: the largest are.
MOST = 60


@dataclass(frozen=True)
class Back:
    """What to go back for: at once, and as a trip of its own on another day.

    ``patches`` are those that were weighed. ``later`` is None where there is nothing to weigh; its
    ``net`` has the road and the folding taken off, and its way begins and ends at the gate.
    """

    patches: tuple[Patch, ...]
    now: Worth | None
    later: Worth | None
    reach: Reach
    gate: tuple[float, float]
    speed_m_s: float
    pace_ha_h: float
    trip_s: float


def back(
    tally: Tally,
    rigs: Sequence[Rig],
    prices: Prices,
    gate: tuple[float, float],
    trip_s: float,
    pace_ha_h: float | None = None,
) -> Back:
    """What a day asks to go back for.

    Args:
        tally: the computed day, with its ways.
        rigs: the rig cards of the day; the one that sowed last goes back.
        prices: the farm's own.
        gate: where one leaves, on the plane.
        trip_s: folding, the road there and back, unfolding.
        pace_ha_h: hectares an hour with all stops; from the tally's own hours where None, which
            are those of one day.
    """
    last = max((r for r in tally.runs if r.up_s > r.down_s), key=lambda r: r.up_s, default=None)
    rig = rigs[last.rig if last is not None else 0]
    speed, r = speed_m_s(tally), reach(rig)
    pace = pace_ha_h or pace_ha_per_h(tally, rig.tool.width_m)
    rest = {p.number for p in not_reached(tally.patches, tally.ground.net.area)}
    loose = sorted((p for p in tally.patches if p.number not in rest), key=lambda p: -p.area_m2)
    patches = tuple(sorted(loose[:MOST], key=lambda p: p.number))
    if not patches:
        return Back((), None, None, r, gate, speed, pace, trip_s)
    g = tally.ground
    whole = shapely.union_all([shapely.Polygon(p.exterior) for p in _parts(g.net, g.keep_out)])
    field = Field.of(whole, g.keep_out, g.bare, r)
    tried = plans(patches, beside(patches, tally.ways), field, r)
    here = Circumstances(_standing(tally, r, gate), gate, speed)
    now = weighed(patches, tried, field, r, prices, here)
    inside = whole.centroid
    into = float(np.arctan2(inside.y - gate[1], inside.x - gate[0]))
    outside = replace(here, start=(*gate, into), road_s=trip_s)
    later = weighed(patches, tried, field, r, prices, outside)
    return Back(patches, now, later, r, gate, speed, pace, trip_s)


def speed_m_s(tally: Tally) -> float:
    """The mean working speed, m/s; a usual one where none was driven."""
    down_s = sum(max(r.up_s - r.down_s, 0.0) for r in tally.runs)
    known = tally.down_km > 0 and down_s > 0
    return tally.down_km * 1000 / down_s if known else _USUAL_M_S


def way_out(
    tally: Tally, plane: Plane, fixes: Fixes, gates: Sequence[Gate]
) -> tuple[tuple[float, float], Gate | None]:
    """Where one leaves, on the plane, and which gate of the paddock that is; None: none is set."""
    order = np.argsort(fixes.t_ms, kind="stable")
    x, y = plane.to_xy(fixes.lon_deg[order], fixes.lat_deg[order])
    set_x, set_y = plane.to_xy(
        np.asarray([g.lon_deg for g in gates]), np.asarray([g.lat_deg for g in gates])
    )
    g = tally.ground
    spots = list(zip(set_x.tolist(), set_y.tolist(), strict=True))
    at, which = _leaving(shapely.union(g.net, g.keep_out), x, y, spots)
    return at, None if which is None else gates[which]


def gate_of(boundary: BaseGeometry, x_m: Floats, y_m: Floats) -> tuple[float, float]:
    """Where the rig came in: the point of the fence nearest to its first position inside.

    Args:
        boundary: the paddock's, on its plane.
        x_m: positions in order of time; shape (n,).
        y_m: the same.
    """
    return _leaving(boundary, x_m, y_m, ())[0]


def _leaving(
    boundary: BaseGeometry, x_m: Floats, y_m: Floats, gates: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], int | None]:
    """Of gates that are set the one nearest to where the rig came in, and which; else just that."""
    inside = np.flatnonzero(shapely.contains_xy(boundary, x_m, y_m))
    at = Point(boundary.centroid)
    if len(inside):
        at = Point(float(x_m[inside[0]]), float(y_m[inside[0]]))
    which = min(range(len(gates)), key=lambda i: at.distance(Point(gates[i])), default=None)
    if which is not None:
        at = Point(gates[which])
    fence = boundary.boundary
    met = fence.interpolate(fence.project(at))
    return (float(met.x), float(met.y)), which


def _parts(net: BaseGeometry, keep_out: BaseGeometry) -> list[shapely.Polygon]:
    return [p for p in shapely.get_parts(shapely.union(net, keep_out)) if p.geom_type == "Polygon"]


def _standing(tally: Tally, r: Reach, gate: tuple[float, float]) -> Pose:
    """The tractor's rear axle where the last run ended; at the gate where there was none."""
    last = max((w for w in tally.ways if len(w.t_s)), key=lambda w: float(w.t_s[-1]), default=None)
    if last is None:
        return (*gate, 0.0)
    heading = float(last.heading_rad[-1])
    x = float(last.x_m[-1]) + r.ahead_m * cos(heading)
    y = float(last.y_m[-1]) + r.ahead_m * sin(heading)
    return (x, y, heading)
