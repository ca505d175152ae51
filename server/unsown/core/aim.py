"""Straight runs that would sow bare patches: along what line, from which end, how much anew.

A patch gets runs across its narrowest width, at right angles to them, and along the runs beside
it, both ways round. Patches in one line share a run (job paper 3.13): the corners of a paddock
sown round and round lie on its diagonals. A run needs room: the tractor must be straight for long
enough before the tool is let down, and it is ahead of the tool where the run ends.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import atan2, ceil, cos, hypot, log, pi, radians, sin, tan

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from unsown.core.dubins import Pose
from unsown.core.narrow import narrowest
from unsown.core.words import Bools, Floats, Patch, Rig, Way

#: The tool swings about so far behind a turn and must be so straight when it is let down, rad.
_SWING, _STRAIGHT = radians(35.0), radians(2.0)
#: A run is this much narrower than the tool on either side, and longer at either end, m.
_SIDE_M, _END_M = 0.3, 1.0
#: Way beyond the point of lifting that is kept free before the next turn, m.
_OUT_M = 2.0
#: A run that covers less is none, m².
_SPECK_M2 = 1.0
#: Directions that take more runs than this are only tried where no other takes fewer.
_LANES = 12
#: Beyond either end of a run there must be room for one of these turns, left or right, rad, and
#: then for a straight way of so many turning radii.
AWAY, OFF = np.radians([45.0, 90.0, 135.0, 180.0]), 3.0
#: A run is shortened by such steps until there is room to turn, m.
_NOTCH_M = 2.0
#: Where more of a patch than this is left, m² and part, runs further aside are tried, m.
_LEFT_M2, _LEFT, _ASIDE_M = 10.0, 0.05, 1.5
#: Patches further apart than this do not share a run, m; a shared run sows again at most so much.
_FAR_M, _AGAIN = 600.0, 1.2
#: A patch belongs to a shared run when this part of it lies within.
_HOLDS = 0.85


@dataclass(frozen=True)
class Reach:
    """What of a rig matters on the way: metres.

    ``ahead_m`` from the tool's middle forward to the tractor's rear axle, ``half_m`` half the
    distance between the ranks, ``lead_m`` straight way needed before lowering, ``turn_m`` the
    tightest turn.
    """

    width_m: float
    ahead_m: float
    half_m: float
    lead_m: float
    turn_m: float


def reach(rig: Rig, usual_turn_m: float = 9.0) -> Reach:
    """The reach of a rig; a rig card without a tightest turn is taken to turn in 9 m."""
    tool = rig.tool
    links = [tool.pin_to_axle_m]
    ahead = rig.axle_to_pin_m + tool.pin_to_axle_m
    if rig.cart is not None:
        links.append(rig.cart.pin_to_axle_m)
        ahead += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
    if rig.kind == "mounted":
        links, ahead = [0.0], 0.0
    lead = sum(link * log(tan(_SWING / 2) / tan(_STRAIGHT / 2)) for link in links)
    turn = max(rig.tightest_m or usual_turn_m, max(links) / sin(_SWING))
    middle = (tool.front_rank_m + tool.rear_rank_m) / 2
    half = (tool.front_rank_m - tool.rear_rank_m) / 2
    return Reach(tool.width_m, ahead - middle, half, lead, turn)


@dataclass(frozen=True)
class Aim:
    """One straight run of the tool: from where to where its middle goes with seed landing.

    ``covers`` maps patch numbers to the area of each that it sows, m²; ``twice_m2`` is sown ground
    that it sows again. ``enter`` and ``leave`` are the tractor's rear axle: where it must be
    straight, and where the tool is lifted.
    """

    start: tuple[float, float]
    end: tuple[float, float]
    heading_rad: float
    length_m: float
    covers: dict[int, float]
    twice_m2: float
    enter: Pose
    leave: Pose

    @property
    def area_m2(self) -> float:
        """Bare ground that the run sows, m²."""
        return sum(self.covers.values())


@dataclass(frozen=True)
class Plan:
    """Runs side by side that finish one patch or several in line."""

    runs: tuple[Aim, ...]
    covers: dict[int, float]
    twice_m2: float


@dataclass(frozen=True)
class Field:
    """On the plane: room for the tractor, what is clear of keep-outs, net and bare ground."""

    room: BaseGeometry
    clear: BaseGeometry
    net: BaseGeometry
    bare: BaseGeometry

    @staticmethod
    def of(boundary: BaseGeometry, keep_out: BaseGeometry, bare: BaseGeometry, r: Reach) -> Field:
        """The room inside the fence and clear of keep-outs by half the tool and a metre."""
        clear = boundary
        if not keep_out.is_empty:
            clear = shapely.difference(boundary, shapely.buffer(keep_out, r.width_m / 2 + 1.0))
        room = shapely.intersection(clear, shapely.buffer(boundary, -(r.width_m / 2 - 1.0)))
        shapely.prepare(room)
        return Field(room, clear, shapely.difference(boundary, keep_out), bare)


def plans(
    patches: Sequence[Patch], headings: Sequence[float], field: Field, r: Reach
) -> list[Plan]:
    """Every way worth trying to finish one patch or several in line.

    Args:
        patches: what is bare, outlines on the plane.
        headings: of the runs beside each patch (one a patch), radians.
        field: where one may drive.
        r: the rig's reach.
    """
    out = []
    for patch, beside in zip(patches, headings, strict=True):
        width, long_side = narrowest(patch.outline)
        most = max(ceil(width / (r.width_m - 2 * _SIDE_M)), _LANES)
        for heading in dict.fromkeys((long_side, long_side + pi / 2, beside)):
            for way in (heading, heading + pi):
                made = _plan([patch], way, field, r, most)
                out.append(made)
                reached = made.covers.get(patch.number, 0.0) if made is not None else 0.0
                if patch.area_m2 - reached > max(_LEFT_M2, _LEFT * patch.area_m2):
                    out += [_plan([patch], way, field, r, most, side=k) for k in (1, -1, 2, -2)]
    out += [_plan(group, way, field, r, 1, one=True) for group, way in _in_line(patches, r)]
    return [p for p in out if p is not None]


def beside(patches: Sequence[Patch], ways: Sequence[Way]) -> list[float]:
    """Heading of the run nearest to each patch, radians; 0 where there is no run."""
    if not ways or not patches:
        return [0.0] * len(patches)
    x, y, h = (np.concatenate([getattr(w, n) for w in ways]) for n in ("x_m", "y_m", "heading_rad"))
    centres = [p.outline.centroid for p in patches]
    return [float(h[np.argmin((x - c.x) ** 2 + (y - c.y) ** 2)]) for c in centres]


def _in_line(patches: Sequence[Patch], r: Reach) -> list[tuple[list[Patch], float]]:
    """Groups of patches that one swath holds, with its direction both ways round."""
    centres = np.asarray([[p.outline.centroid.x, p.outline.centroid.y] for p in patches])
    spread = max(r.width_m, 1.0)
    groups: dict[tuple[int, ...], float] = {}
    for i in range(len(patches)):
        for j in range(i + 1, len(patches)):
            dx, dy = centres[j] - centres[i]
            if hypot(dx, dy) > _FAR_M:
                continue
            heading = atan2(dy, dx)
            east, north = (centres - centres[i]).T
            aside = cos(heading) * north - sin(heading) * east
            along = cos(heading) * east + sin(heading) * north
            near = np.flatnonzero((np.abs(aside) < spread / 2) & (np.abs(along) < _FAR_M))
            near = near[np.argsort(along[near])]
            groups.setdefault(tuple(sorted(near.tolist())), heading)
    return [
        ([patches[k] for k in group], way)
        for group, heading in groups.items()
        if len(group) > 1
        for way in (heading, heading + pi)
    ]


def _plan(
    patches: Sequence[Patch],
    heading: float,
    field: Field,
    r: Reach,
    most: int,
    one: bool = False,
    side: int = 0,
) -> Plan | None:
    """Runs in one direction over all of the patches; None where no room is for any, or too many.

    ``one``: a single run along their middle. ``side``: how far to the left of their middle (right
    below nought): 1 flush with the patches, 2 as far beyond that as a keep-out is kept clear of.
    """
    c, s = cos(heading), sin(heading)
    rings = [shapely.get_coordinates(p.outline.exterior) for p in patches]
    turned = [(c * x + s * y, c * y - s * x) for x, y in (ring.T for ring in rings)]
    low, high = (float(of([of(aside) for _, aside in turned])) for of in (np.min, np.max))
    useful = r.width_m - 2 * _SIDE_M
    count = 1 if one else max(ceil((high - low) / useful), 1)
    if count > most:
        return None
    middle = (low + high) / 2
    if side:  # side by side without more overlap than is useful
        spare = (count * useful - (high - low)) / 2
        middle += (spare if side > 0 else -spare) + _ASIDE_M * (side - np.sign(side))
        low, high = middle - count * useful / 2, middle + count * useful / 2
    pitch = 0.0 if count == 1 else (high - low - useful) / (count - 1)
    aims: list[Aim] = []
    done: BaseGeometry = shapely.Polygon()
    for k in range(count):
        lane = middle + (k - (count - 1) / 2) * pitch
        span = _span(turned, lane - r.width_m / 2, lane + r.width_m / 2)
        made = _aim(patches, heading, lane, span, field, r, done) if span else None
        if made is not None:
            aims.append(made[0])
            done = shapely.union(done, made[1])
    if not aims:
        return None
    covers: dict[int, float] = {}
    for aim in aims:
        for number, area in aim.covers.items():
            covers[number] = covers.get(number, 0.0) + area
    twice = sum(aim.twice_m2 for aim in aims)
    if len(patches) > 1:
        within = [p for p in patches if covers.get(p.number, 0.0) >= _HOLDS * p.area_m2]
        if len(within) < 2 or twice > _AGAIN * sum(covers.values()):
            return None
    return Plan(tuple(aims), covers, twice)


def _span(
    rings: Sequence[tuple[Floats, Floats]], low: float, high: float
) -> tuple[float, float] | None:
    """From where to where shapes reach into a lane: rings as (along, aside); None: nowhere."""
    found = []
    for along, aside in rings:
        found.append(along[(aside >= low) & (aside <= high)])
        for edge in (low, high):
            off = aside - edge
            k = np.flatnonzero(off[:-1] * off[1:] < 0)
            part = off[k] / (off[k] - off[k + 1])
            found.append(along[k] + part * (along[k + 1] - along[k]))
    every = np.concatenate(found)
    return (float(every.min()), float(every.max())) if len(every) else None


def _ways_off(heading: float, turn_m: float) -> Floats:
    """Turns to either side and a straight way after each, from the origin, (8, 20, 2)."""
    bend = np.outer(AWAY, np.linspace(0.0, 1.0, 19))
    ahead, aside = turn_m * np.sin(bend), turn_m * (1 - np.cos(bend))
    far = OFF * turn_m
    ahead = np.column_stack([ahead, ahead[:, -1] + far * np.cos(AWAY)])
    aside = np.column_stack([aside, aside[:, -1] + far * np.sin(AWAY)])
    c, s = cos(heading), sin(heading)
    return np.concatenate(
        [
            np.stack([c * ahead - s * left * aside, s * ahead + c * left * aside], axis=-1)
            for left in (1.0, -1.0)
        ]
    )


def opens(room: BaseGeometry, poses: Sequence[Pose], turn_m: float) -> Bools:
    """Whether one can turn away from each pose and drive on, in the direction it looks."""
    if not poses:
        return np.zeros(0, dtype=np.bool_)
    some = np.stack([np.add(_ways_off(h, turn_m), (x, y)) for x, y, h in poses])
    return np.asarray(shapely.covers(room, shapely.linestrings(some)).any(axis=1))


def _short(
    at: Callable[[float], tuple[float, float]],
    end: float,
    inward: float,
    most: float,
    heading: float,
    field: Field,
    r: Reach,
) -> float:
    """By how much a run must be shorter at one end for the tractor to turn away there, m.

    ``heading`` looks outward; what is asked for is room to turn away and to drive on.
    """
    away = _ways_off(heading, r.turn_m)
    offsets = np.arange(0.0, max(most, 0.0) + _NOTCH_M, _NOTCH_M)
    # mostly the first will do
    for some in (offsets[:1], offsets[1:8], offsets[8:]):
        if not len(some):
            continue
        places = np.asarray([at(end + inward * float(offset)) for offset in some])
        lines = shapely.linestrings(places[:, None, None, :] + away[None])
        fits = shapely.covers(field.room, lines).any(axis=1)
        if fits.any():
            return float(some[np.argmax(fits)])
    return most


def _aim(
    patches: Sequence[Patch],
    heading: float,
    lane: float,
    span: tuple[float, float],
    field: Field,
    r: Reach,
    done: BaseGeometry,
) -> tuple[Aim, BaseGeometry] | None:
    """One run along a lane, as long as there is room for the tractor; and the ground it sows."""
    c, s = cos(heading), sin(heading)

    def at(way: float) -> tuple[float, float]:
        return c * way - s * lane, s * way + c * lane

    lo, hi = span[0] - r.half_m - _END_M, span[1] + r.half_m + _END_M
    line = LineString([at(lo + r.ahead_m - r.lead_m), at(hi + r.ahead_m + _OUT_M)])
    free = [p for p in shapely.get_parts(shapely.intersection(line, field.room)) if p.length > 0]
    if not free:
        return None
    ends = shapely.get_coordinates(max(free, key=lambda p: float(p.length)))
    way = c * ends[:, 0] + s * ends[:, 1]
    lo = max(lo, float(way.min()) - r.ahead_m + r.lead_m)
    hi = min(hi, float(way.max()) - r.ahead_m - _OUT_M)
    # in and out: from either end of the line there must be a turn that stays inside
    lo += _short(at, lo + r.ahead_m - r.lead_m, 1.0, hi - lo, heading + pi, field, r)
    hi -= _short(at, hi + r.ahead_m, -1.0, hi - lo, heading, field, r)
    if hi - lo <= 2 * r.half_m + _END_M:
        return None
    half = r.width_m / 2
    rows = lo + r.half_m, hi - r.half_m  # every rank seeds only between
    swath = shapely.polygons(
        [(c * w - s * a, s * w + c * a)
         for w, a in ((rows[0], lane - half), (rows[1], lane - half),
                      (rows[1], lane + half), (rows[0], lane + half))]
    )  # fmt: skip
    fresh = shapely.difference(swath, done)
    covers = {}
    for p in patches:
        area = float(shapely.area(shapely.intersection(p.outline, fresh)))
        if area > 0:
            covers[p.number] = area
    if sum(covers.values()) < _SPECK_M2:
        return None
    anew = float(shapely.area(shapely.intersection(fresh, field.bare)))
    ground = float(shapely.area(shapely.intersection(swath, field.net)))
    axle = lo + r.ahead_m - r.lead_m, hi + r.ahead_m
    enter, leave = (*at(axle[0]), heading), (*at(axle[1]), heading)
    twice = max(ground - anew, 0.0)
    return Aim(at(lo), at(hi), heading, hi - lo, covers, twice, enter, leave), swath
