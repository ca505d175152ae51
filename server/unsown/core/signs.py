"""Signs of work: what a second of driving shows, sorted into the bins the scores are kept by.

Each sign is a whole number a tick. Movement and the fence give the first set, the ground that
other passes sowed gives the second. The bins' edges are here, their scores in ``scores``.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.beside import LOOKS, Beside
from unsown.core.ticks import Ticks, turned
from unsown.core.words import Floats, Ints

#: Speed as a share of the day's working speed.
PACE = np.array([0.3, 0.5, 0.65, 0.78, 0.86, 0.92, 0.97, 1.03, 1.08, 1.15, 1.3, 1.6])
#: Curvature of the tractor's path, 1/m.
BEND = np.array([0.003, 0.006, 0.012, 0.02, 0.035, 0.05, 0.07, 0.09, 0.12])
#: Largest change of heading ahead and behind, degrees, and over which way, m.
TURN = np.radians([2.5, 5.0, 10.0, 20.0, 45.0, 90.0])
NEAR_M, FAR_M = 12.0, 40.0
#: Angle between tractor and tool, degrees.
SWING = np.radians([1.5, 3.0, 6.0, 10.0, 16.0, 25.0])
#: Distance inside the fence in widths (outside is negative), and sine of the angle to it.
FENCE = np.array([-1.0, -0.3, 0.2, 0.4, 0.6, 0.85, 1.25, 1.75, 2.5, 3.5, 6.0])
ALONG = np.array([0.35, 0.8])
#: Share of the bar over ground that others sowed.
UNDER = np.array([0.05, 0.2, 0.4, 0.65, 0.9])
#: First sown place outward, grouped: under the bar, at its end, just beyond, further, none.
_EDGES = np.array([2, 4, 5, 6, 8, len(LOOKS)])
#: Way ahead and behind at which the ground is looked at too, m.
_ON_M = 9.0

SHAPES: Mapping[str, tuple[int, ...]] = {
    "pace": (len(PACE) + 1,),
    "bend": (len(BEND) + 1,),
    "near": (len(TURN) + 1, len(TURN) + 1),
    "far": (len(TURN) + 1, len(TURN) + 1),
    "swing": (len(SWING) + 1,),
    "fence": (len(FENCE) + 1, len(ALONG) + 1),
}
#: Way from a place on to where something changes (behind: negative), m.
WAY = np.array([-15.0, -10.0, -7.0, -5.0, -3.5, -2.0, -0.7, 0.7, 2.0, 3.5, 5.0, 7.0, 10.0, 15.0])

GROUND: Mapping[str, tuple[int, ...]] = {
    "under": (len(UNDER) + 1, len(UNDER) + 1),
    "seam": (len(_EDGES) + 1, len(_EDGES) + 1),
    "followed": (len(_EDGES) + 1, len(_EDGES) + 1),
    "on": (len(UNDER) + 1, len(UNDER) + 1),
}

#: Signs of the place of a change: the same kinds of bins, a little before and a little after.
PLACE: Mapping[str, tuple[int, ...]] = {
    "near": SHAPES["near"],
    "far": SHAPES["far"],
    "sway": (len(SWING) + 1, len(SWING) + 1),
    "step": (len(UNDER) + 1, len(UNDER) + 1),
    "on": GROUND["on"],
    "flanks": (len(UNDER) + 1, len(UNDER) + 1),
    "pace": SHAPES["pace"],
    "enters": (len(WAY) + 1,),
    "leaves": (len(WAY) + 1,),
    "bends": (len(WAY) + 1,),
    "straightens": (len(WAY) + 1,),
}
#: Curvature from which the tractor turns, over this way each side of a place, m.
_TURNS_1_M, _CALM_M = 0.03, 3.0
#: How far before and after, m.
_SWAY_M, _STEP_M, _FLANK_M = 5.0, 4.0, 8.0


def bins(values: Floats, edges: Floats) -> Ints:
    """The bin each value falls into, 0 to len(edges)."""
    return np.searchsorted(edges, values, side="right").astype(np.int64)


def pair(first: Ints, second: Ints, shape: tuple[int, ...]) -> Ints:
    """One number for two bins."""
    return np.asarray(first * shape[1] + second, dtype=np.int64)


def movement(ticks: Ticks, width_m: float, boundary: BaseGeometry | None) -> dict[str, Ints]:
    """Signs from the movement, and from the fence where one is known (else left out)."""
    way, nose = ticks.way_m, ticks.nose_rad
    swing = np.abs((nose - ticks.heading_rad + np.pi) % (2 * np.pi) - np.pi)
    out = {
        "pace": bins(ticks.speed_m_s / ticks.usual_m_s, PACE),
        "bend": bins(np.abs(ticks.bend_1_m), BEND),
        "swing": bins(swing, SWING),
    }
    for name, reach in (("near", NEAR_M), ("far", FAR_M)):
        behind = bins(turned(way, nose, -reach), TURN)
        ahead = bins(turned(way, nose, reach), TURN)
        out[name] = pair(behind, ahead, SHAPES[name])
    if boundary is not None:
        inside, sine = _fence(ticks, boundary)
        out["fence"] = pair(bins(inside / width_m, FENCE), bins(sine, ALONG), SHAPES["fence"])
    return out


def _fence(ticks: Ticks, boundary: BaseGeometry) -> tuple[Floats, Floats]:
    """Distance inside the fence, m, and sine of the angle between the way and it."""
    if boundary.is_empty:
        outside = np.full(len(ticks.x_m), -np.inf)
        return outside, np.zeros(len(ticks.x_m))
    line = boundary.boundary
    shapely.prepare(boundary)
    shapely.prepare(line)
    points = shapely.points(ticks.x_m, ticks.y_m)
    to = shapely.shortest_line(points, line)
    ends = shapely.get_coordinates(to).reshape(-1, 2, 2)
    dx, dy = (ends[:, 1] - ends[:, 0]).T
    far = np.hypot(dx, dy)
    inside = np.where(shapely.contains_properly(boundary, points), far, -far)
    c, s = np.cos(ticks.heading_rad), np.sin(ticks.heading_rad)
    sine = np.abs(dx * c + dy * s) / np.maximum(far, 1e-6)
    return np.asarray(inside), np.asarray(sine)


def ground(ticks: Ticks, near: Beside) -> dict[str, Ints]:
    """Signs from the ground that other passes sowed."""
    before = np.sort(bins(near.edge_before.astype(np.float64), _EDGES), axis=1)
    every = np.sort(bins(near.edge.astype(np.float64), _EDGES), axis=1)
    rising = ticks.way_m + np.arange(len(ticks)) * 1e-9
    behind = np.interp(rising - _ON_M, rising, near.under)
    ahead = np.interp(rising + _ON_M, rising, near.under)
    return {
        "under": pair(
            bins(near.under_before, UNDER), bins(near.under_after, UNDER), GROUND["under"]
        ),
        "seam": pair(before[:, 0], before[:, 1], GROUND["seam"]),
        "followed": pair(every[:, 0], every[:, 1], GROUND["followed"]),
        "on": pair(bins(behind, UNDER), bins(ahead, UNDER), GROUND["on"]),
    }


def place(
    ticks: Ticks, motion: Mapping[str, Ints], near: Beside, every: Mapping[str, Ints]
) -> dict[str, Ints]:
    """Signs of the place at which the tool goes down or up."""
    rising = ticks.way_m + np.arange(len(ticks)) * 1e-9
    swing = np.abs((ticks.nose_rad - ticks.heading_rad + np.pi) % (2 * np.pi) - np.pi)

    turned_by = np.interp(rising + _CALM_M, rising, ticks.nose_rad) - np.interp(
        rising - _CALM_M, rising, ticks.nose_rad
    )
    bend = np.abs(turned_by) / (2 * _CALM_M)

    def around(values: Floats, reach_m: float, edges: Floats) -> Ints:
        behind = bins(np.interp(rising - reach_m, rising, values), edges)
        ahead = bins(np.interp(rising + reach_m, rising, values), edges)
        return pair(behind, ahead, (len(edges) + 1, len(edges) + 1))

    return {
        "near": motion["near"],
        "far": motion["far"],
        "sway": around(swing, _SWAY_M, SWING),
        "step": around(near.under, _STEP_M, UNDER),
        "on": every["on"],
        "flanks": around(near.flank, _FLANK_M, UNDER),
        "pace": motion["pace"],
        "enters": bins(crossing(rising, near.under, 0.5, up=True), WAY),
        "leaves": bins(crossing(rising, near.under, 0.5, up=False), WAY),
        "bends": bins(crossing(rising, bend, _TURNS_1_M, up=True), WAY),
        "straightens": bins(crossing(rising, bend, _TURNS_1_M, up=False), WAY),
    }


def crossing(way: Floats, values: Floats, level: float, *, up: bool) -> Floats:
    """Way from each place to the nearest at which ``values`` cross the level upward (or down).

    Positive when it lies ahead; infinite where there is none.
    """
    over = values >= level
    at = np.flatnonzero((over[1:] != over[:-1]) & (over[1:] == up))
    if not len(at):
        return np.full(len(way), np.inf)
    share = (level - values[at]) / (values[at + 1] - values[at])
    there = way[at] + share * (way[at + 1] - way[at])
    right = np.clip(np.searchsorted(there, way), 0, len(there) - 1)
    left = np.clip(right - 1, 0, None)
    behind, ahead = there[left] - way, there[right] - way
    return np.where(np.abs(behind) < np.abs(ahead), behind, ahead)


def score(found: Mapping[str, Ints], tables: Mapping[str, Floats]) -> Floats:
    """Sum of the tables' scores at every tick: log odds of down against up."""
    size = len(next(iter(found.values())))
    total = np.zeros(size)
    for name, which in found.items():
        total += tables[name].ravel()[which]
    return total
