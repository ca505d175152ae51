"""Ways of the tractor between straight runs: forward only, no tighter than it turns, and free.

Each leg takes the shortest of the six words of ``dubins`` that stays in the room where one may
drive. Where none does, a way past the corners of what is in between is looked for; where there is
none either, the leg is marked blocked, and the driver must judge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import atan2, cos, pi, sin

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import AWAY, OFF, Aim, Reach, opens
from unsown.core.dubins import Dubins, Pose, lines, ways
from unsown.core.order import Costs
from unsown.core.words import Bools, Floats

#: A way that leaves the room is only taken where there is no other, m.
BLOCKED_M = 1e6
_STEP_M, _FINE_M = 3.0, 0.5
#: The gate is driven to from so many directions, the shortest counts.
_HEADINGS = 8
#: So many corners are tried, the nearest to the way first.
_CORNERS = 12


@dataclass(frozen=True)
class Legs:
    """What ordering needs, and the runs of every node: ``runs[2k]`` as given, ``[2k + 1]`` turned.

    ``plain`` is the same without the penalties of blocked ways. ``start``, ``gate``, ``room`` and
    ``reach`` are what it was made for; ``known`` keeps the ways round that were looked for, by the
    nodes that they join (-1: where one stands, or the gate).
    """

    costs: Costs
    plain: Costs
    runs: tuple[Aim, ...]
    start: Pose
    gate: tuple[float, float]
    room: BaseGeometry
    reach: Reach
    known: dict[tuple[int, int], tuple[Floats, bool]] = field(default_factory=dict)

    def leg(self, a: int, b: int) -> tuple[Floats, bool]:
        """Poses of the way from one node to another, and whether it is blocked."""
        if (a, b) not in self.known:
            begin = self.start if a < 0 else self.runs[a].leave
            end = _at(begin, self.gate) if b < 0 else self.runs[b].enter
            self.known[a, b] = _round(begin, end, self.room, self.reach)
        return self.known[a, b]

    def looked(self, nodes: Sequence[int]) -> bool:
        """Look for ways round what blocks an order of nodes; whether that changed any cost.

        What is found costs its length; what is not costs twice the penalty, so that legs not looked
        at yet come first.
        """
        changed = False
        for a, b in pairwise([-1, *nodes, -1]) if len(nodes) else ():
            for_, plain, at = _place(self.costs, self.plain, a, b)
            if not BLOCKED_M <= for_[at] < 2 * BLOCKED_M:
                continue
            way, blocked = self.leg(a, b)
            length = _length(way)
            for_[at] = length + 2 * BLOCKED_M * blocked
            plain[at] = length
            changed = True
        return changed

    def blocked(self, nodes: Sequence[int]) -> list[tuple[int, int]]:
        """Legs of an order of nodes for which no free way is known."""
        pairs = list(pairwise([-1, *nodes, -1])) if len(nodes) else []
        return [(a, b) for a, b in pairs if self.leg(a, b)[1]]


def _place(
    costs: Costs, plain: Costs, a: int, b: int
) -> tuple[Floats, Floats, int | tuple[int, int]]:
    """Where the cost of a leg stands, with and without its penalty."""
    if a < 0:
        return costs.start, plain.start, b
    if b < 0:
        return costs.home, plain.home, a
    return costs.between, plain.between, (a, b)


def _length(poses: Floats) -> float:
    return float(np.hypot(np.diff(poses[:, 0]), np.diff(poses[:, 1])).sum())


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
    runs: Sequence[Aim],
    start: Pose,
    gate: tuple[float, float],
    room: BaseGeometry,
    r: Reach,
    together: Sequence[int] | None = None,
) -> Legs:
    """Length of every way between here, the ends of all runs, and the gate, m.

    Args:
        runs: what is to be driven.
        start: where one stands.
        gate: where one leaves.
        room: where one may drive.
        r: the rig's reach.
        together: a number a run; ways between runs of two different numbers that are not -1 are
            not asked for, and stay infinitely long.
    """
    kind = [-1] * len(runs) if together is None else together
    nodes = [node for run in runs for node in (run, turned(run, r))]
    n = len(nodes)
    line_ = np.asarray([(a.enter[:2], a.leave[:2]) for a in nodes]).reshape(-1, 2, 2)
    own = np.hypot(*(line_[:, 1] - line_[:, 0]).T)
    # as it was found a run can be driven; from its other end only where there is room for that too
    back = nodes[1::2]
    free = shapely.covers(room, shapely.linestrings(line_[1::2])) if n else np.zeros(0, np.bool_)
    free &= opens(room, [a.leave for a in back], r.turn_m)
    free &= opens(room, [(x, y, h + pi) for x, y, h in (a.enter for a in back)], r.turn_m)
    asked = np.zeros(n)
    asked[1::2] = np.where(free, 0.0, 3 * BLOCKED_M)
    pairs = [
        (i, j)
        for i in range(n)
        for j in range(n)
        if i // 2 != j // 2
        and (kind[i // 2] == kind[j // 2] or kind[i // 2] < 0 or kind[j // 2] < 0)
    ]
    ends = [(nodes[i].leave, nodes[j].enter) for i, j in pairs]
    first, first_hit = _measured([(start, a.enter) for a in nodes], room, r)
    last, last_hit = _measured([(a.leave, _at(a.leave, gate)) for a in nodes], room, r)
    between, hit = np.full((n, n), np.inf), np.zeros((n, n))
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
    return Legs(full, plain, tuple(nodes), start, gate, room, r)


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


def route(legs: Legs, nodes: Sequence[int]) -> Route:
    """The way of the tractor's rear axle through the nodes to the gate."""
    rows: list[Floats] = []
    down: list[Floats] = []
    blocked = False
    for a, b in pairwise([-1, *nodes, -1]) if len(nodes) else ():
        way, stopped = legs.leg(a, b)
        blocked |= stopped
        rows.append(way)
        down.append(np.zeros(len(way)))
        if b >= 0:
            run = legs.runs[b]
            length = float(np.hypot(run.leave[0] - run.enter[0], run.leave[1] - run.enter[1]))
            # two parts, so that a pose stands where the tool is let down
            parts = (0.0, length - run.length_m, run.length_m)
            way = Dubins(run.enter, 1.0, "SSS", parts).poses(_FINE_M)
            gone = np.hypot(way[:, 0] - way[0, 0], way[:, 1] - way[0, 1])
            rows.append(way)
            down.append((gone >= parts[1] - 1e-6).astype(np.float64))
    poses = np.concatenate(rows) if rows else np.asarray([legs.start], dtype=np.float64)
    flags = np.concatenate(down) if down else np.zeros(1)
    runs = tuple(legs.runs[node] for node in nodes)
    return Route(tuple(nodes), runs, poses, flags > 0, _length(poses), blocked)


def _round(a: Pose, b: Pose, room: BaseGeometry, r: Reach) -> tuple[Floats, bool]:
    """Poses of the shortest free way, straight there or by way of one place; True: blocked.

    Out of a narrow place, and into one, it may begin and end with a turn and a straight way off.
    """
    way, hit = _free([(a, b)], room, r)[0]
    if not hit:
        return way.poses(_FINE_M), False
    firsts = [None, *_stubs(a, room, r)]
    lasts = [None, *(_backwards(each) for each in _stubs((*b[:2], b[2] + pi), room, r))]
    begins = [a if each is None else _end(each) for each in firsts]
    ends = [b if each is None else each.start for each in lasts]
    vias = _vias(a, b, room, r)
    straight = _free([(p, q) for p in begins for q in ends], room, r)
    there = _free([(p, q) for p in begins for q in vias], room, r)
    back = _free([(p, q) for p in vias for q in ends], room, r)
    n, m, best, least = len(ends), len(vias), None, np.inf
    for i, first in enumerate(firsts):
        for j, last in enumerate(lasts):
            stubs = [each for each in (first, last) if each is not None]
            more = sum(each.length_m for each in stubs)
            middles = [[straight[i * n + j]]]
            middles += [[there[i * m + k], back[k * n + j]] for k in range(m)]
            for middle in middles:
                long = more + sum(each.length_m for each, _ in middle)
                if long < least and not any(stopped for _, stopped in middle):
                    best, least = [first, *(each for each, _ in middle), last], long
    if best is None:
        return way.poses(_FINE_M), True
    return np.concatenate([each.poses(_FINE_M) for each in best if each is not None]), False


def _vias(a: Pose, b: Pose, room: BaseGeometry, r: Reach) -> list[Pose]:
    """Poses that a way may be led through: at corners of the room, and about what is between."""
    chord = atan2(b[1] - a[1], b[0] - a[0])
    corners = shapely.get_coordinates(shapely.simplify(shapely.buffer(room, -r.turn_m), 2.0))
    if len(corners):
        by = np.hypot(corners[:, 0] - a[0], corners[:, 1] - a[1])
        by += np.hypot(corners[:, 0] - b[0], corners[:, 1] - b[1])
        corners = corners[np.argsort(by)[:_CORNERS]]
    ring = np.arange(_HEADINGS) * 2 * pi / _HEADINGS
    middle = np.asarray([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2])
    round_ = [middle + k * r.turn_m * np.c_[np.cos(ring), np.sin(ring)] for k in (2.0, 4.0)]
    places = np.concatenate([corners.reshape(-1, 2), *round_])
    places = places[shapely.covers(room, shapely.points(places))]
    return [(float(x), float(y), chord + float(turn)) for x, y in places for turn in ring]


def _stubs(pose: Pose, room: BaseGeometry, r: Reach) -> list[Dubins]:
    """Turns away from a pose with a straight way after them, those that are free."""
    every = [
        Dubins(pose, r.turn_m, f"{side}SS", (r.turn_m * float(turn), OFF * r.turn_m, 0.0))
        for side in "LR"
        for turn in AWAY
    ]
    fits = shapely.covers(room, lines(every, _STEP_M))
    return [each for each, fit in zip(every, fits, strict=True) if fit]


def _end(way: Dubins) -> Pose:
    x, y, h = way.poses(way.length_m)[-1]
    return float(x), float(y), float(h)


def _backwards(stub: Dubins) -> Dubins:
    """The way that comes along a stub from its far end to its pose."""
    x, y, h = _end(stub)
    turn, off, _ = stub.parts_m
    side = "R" if stub.word[0] == "L" else "L"
    return Dubins((x, y, h + pi), stub.radius_m, f"S{side}S", (off, turn, 0.0))
