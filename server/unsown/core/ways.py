"""Ways of the tractor between straight runs: forward only, no tighter than it turns, and free.

Each leg takes the shortest of the six words of ``dubins`` that stays in the room where one may
drive. Where none does, a way past the corners of what is in between is looked for; where there is
none either, the leg is marked blocked, and the driver must judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, pi, sin

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import Aim, Reach
from unsown.core.dubins import Dubins, Pose, lines, ways
from unsown.core.order import Costs
from unsown.core.words import Bools, Floats

#: A way that leaves the room is only taken where there is no other, m.
BLOCKED_M = 1e6
_STEP_M, _FINE_M = 3.0, 0.5
#: The gate is driven to from so many directions, the shortest counts.
_HEADINGS = 8


@dataclass(frozen=True)
class Legs:
    """What ordering needs, and the runs of every node: ``runs[2k]`` as given, ``[2k + 1]`` turned.

    ``plain`` is the same without the penalties of blocked ways.
    """

    costs: Costs
    plain: Costs
    runs: tuple[Aim, ...]


@dataclass(frozen=True)
class Route:
    """A way through runs: nodes and runs in driving order, and the tractor's rear axle on it.

    ``poses`` (n, 3) is east, north, heading; ``tool_down`` (n,) tells where seed lands;
    ``blocked`` that a leg leaves the room where one may drive.
    """

    nodes: tuple[int, ...]
    runs: tuple[Aim, ...]
    poses: Floats
    tool_down: Bools
    length_m: float
    blocked: bool
    plain: Costs

    def without(self, places: Sequence[int]) -> float:
        """How much shorter the way is without some of its runs, m."""
        rest = [node for k, node in enumerate(self.nodes) if k not in set(places)]
        return self.plain.total(self.nodes) - self.plain.total(rest)


def turned(run: Aim, r: Reach) -> Aim:
    """The same run driven from its other end."""
    c, s = -cos(run.heading_rad), -sin(run.heading_rad)
    heading = run.heading_rad + pi
    begin, over = run.end, run.start
    enter = begin[0] + c * (r.ahead_m - r.lead_m), begin[1] + s * (r.ahead_m - r.lead_m)
    leave = over[0] + c * r.ahead_m, over[1] + s * r.ahead_m
    return replace(
        run,
        start=begin,
        end=over,
        heading_rad=heading,
        enter=(*enter, heading),
        leave=(*leave, heading),
    )


def costs_of(
    runs: Sequence[Aim], start: Pose, gate: tuple[float, float], room: BaseGeometry, r: Reach
) -> Legs:
    """Length of every way between here, the ends of all runs, and the gate, m."""
    nodes = [node for run in runs for node in (run, turned(run, r))]
    n = len(nodes)
    lines = [((a.enter[0], a.enter[1]), (a.leave[0], a.leave[1])) for a in nodes]
    free = shapely.covers(room, shapely.linestrings(lines)) if n else np.zeros(0, dtype=np.bool_)
    own = np.asarray([np.hypot(b[0] - a[0], b[1] - a[1]) for a, b in lines])
    asked = np.where(free | (np.arange(n) % 2 == 0), 0.0, BLOCKED_M)
    pairs = [(i, j) for i in range(n) for j in range(n) if i // 2 != j // 2]
    ends = [(nodes[i].leave, nodes[j].enter) for i, j in pairs]
    first, first_hit = _measured([(start, a.enter) for a in nodes], room, r)
    last, last_hit = _measured([(a.leave, _at(a.leave, gate)) for a in nodes], room, r)
    between, hit = np.zeros((n, n)), np.zeros((n, n))
    if pairs:
        at = tuple(np.asarray(pairs).T)
        between[at], hit[at] = _measured(ends, room, r)
    direct = float(np.hypot(gate[0] - start[0], gate[1] - start[1]))
    plain = Costs(first, between, last, own, direct)
    full = Costs(
        first + BLOCKED_M * first_hit,
        between + BLOCKED_M * hit,
        last + BLOCKED_M * last_hit,
        own + asked,
        direct,
    )
    return Legs(full, plain, tuple(nodes))


def _at(leave: Pose, gate: tuple[float, float]) -> Pose:
    """The gate, driven up to straight from where the last run ends."""
    return (*gate, atan2(gate[1] - leave[1], gate[0] - leave[0]))


def _measured(
    ends: Sequence[tuple[Pose, Pose]], room: BaseGeometry, r: Reach
) -> tuple[Floats, Floats]:
    """Length of the shortest free way between each two poses; 1 where there is none free."""
    found = _free(ends, room, r)
    return (
        np.asarray([way.length_m for way, _ in found]),
        np.asarray([float(hit) for _, hit in found]),
    )


def _free(
    ends: Sequence[tuple[Pose, Pose]], room: BaseGeometry, r: Reach
) -> list[tuple[Dubins, bool]]:
    """The shortest free way of each pair, or the shortest of all with True: blocked."""
    choices = [ways(a, b, r.turn_m) for a, b in ends]
    out: list[tuple[Dubins, bool]] = [(ways_[0], True) for ways_ in choices]
    open_ = list(range(len(ends)))
    for turn in range(6):
        open_ = [k for k in open_ if turn < len(choices[k])]
        if not open_:
            break
        fits = shapely.covers(room, lines([choices[k][turn] for k in open_], _STEP_M))
        for k, fit in zip(open_, fits, strict=True):
            if fit:
                out[k] = choices[k][turn], False
        open_ = [k for k, fit in zip(open_, fits, strict=True) if not fit]
    return out


def route(
    legs: Legs,
    nodes: Sequence[int],
    start: Pose,
    gate: tuple[float, float],
    room: BaseGeometry,
    r: Reach,
) -> Route:
    """The way of the tractor's rear axle through the nodes to the gate."""
    rows: list[Floats] = []
    down: list[Floats] = []
    blocked, here = False, start
    stops: list[Pose] = []
    for node in nodes:
        stops += [legs.runs[node].enter, legs.runs[node].leave]
    if nodes:
        stops.append(_at(stops[-1], gate))
    for k, to in enumerate(stops):
        if k % 2:  # along a run
            run = legs.runs[nodes[k // 2]]
            length = float(np.hypot(to[0] - here[0], to[1] - here[1]))
            way = Dubins(here, r.turn_m, "LSL", (0.0, length, 0.0)).poses(_FINE_M)
            gone = np.hypot(way[:, 0] - here[0], way[:, 1] - here[1])
            down.append((gone >= length - run.length_m - 1e-6).astype(np.float64))
        else:
            way, stopped = _round(here, to, room, r)
            down.append(np.zeros(len(way)))
            blocked |= stopped
        rows.append(way)
        here = to
    poses = np.concatenate(rows) if rows else np.asarray([start], dtype=np.float64)
    flags = np.concatenate(down) if down else np.zeros(1)
    length = float(np.hypot(np.diff(poses[:, 0]), np.diff(poses[:, 1])).sum())
    runs = tuple(legs.runs[node] for node in nodes)
    return Route(tuple(nodes), runs, poses, flags > 0, length, blocked, legs.plain)


def _round(a: Pose, b: Pose, room: BaseGeometry, r: Reach) -> tuple[Floats, bool]:
    """Poses of the shortest free way, straight there or past one corner of what is between."""
    way, hit = _free([(a, b)], room, r)[0]
    if not hit:
        return way.poses(_FINE_M), False
    chord = atan2(b[1] - a[1], b[0] - a[0])
    corners = shapely.get_coordinates(shapely.simplify(shapely.buffer(room, -r.turn_m), 2.0))
    if len(corners):
        by = np.hypot(corners[:, 0] - a[0], corners[:, 1] - a[1])
        by += np.hypot(corners[:, 0] - b[0], corners[:, 1] - b[1])
        corners = corners[np.argsort(by)[:24]]
    ring = np.arange(_HEADINGS) * 2 * pi / _HEADINGS
    middle = np.asarray([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2])
    round_ = [middle + k * r.turn_m * np.c_[np.cos(ring), np.sin(ring)] for k in (2.0, 4.0)]
    places = np.concatenate([corners.reshape(-1, 2), *round_])
    places = places[shapely.covers(room, shapely.points(places))]
    vias = [(float(x), float(y), chord + float(turn)) for x, y in places for turn in ring]
    there = _free([(a, via) for via in vias], room, r)
    back = _free([(via, b) for via in vias], room, r)
    fits = [
        (first[0].length_m + second[0].length_m, k)
        for k, (first, second) in enumerate(zip(there, back, strict=True))
        if not first[1] and not second[1]
    ]
    if not fits:
        return way.poses(_FINE_M), True
    k = min(fits)[1]
    return np.concatenate([there[k][0].poses(_FINE_M), back[k][0].poses(_FINE_M)]), False
