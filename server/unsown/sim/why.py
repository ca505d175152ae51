"""Why a patch is bare: the mishap of the drive that lies nearest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from unsown.core.words import Floats, Rig
from unsown.sim.drive import Poses, between
from unsown.sim.pace import Clock
from unsown.sim.paddocks import Field
from unsown.sim.route import Route, Track, Work
from unsown.sim.truth import Miss, Truth

_NEAR_M = 1.2


def explained(
    truth: Truth, route: Route, track: Track, poses: Poses, time: Clock, rig: Rig, field: Field
) -> Truth:
    """The same truth, each miss with its reason.

    Reasons: ``tool up``, ``pocket``, ``missed run``, ``lost furrow``, ``wander``, ``corner``,
    ``late drop``, ``early lift``, ``backing``, ``start``, ``finish`` and ``strip``.
    """
    ends = _ends(truth, poses, time, rig)
    corners = shapely.points(_corners(track, route, poses, field))
    out = []
    for miss in truth.misses:
        why = (
            _by_work(miss, route.works, track, poses, rig)
            or _by_keep_out(miss, field)
            or _by_end(miss, ends)
            or ("corner" if miss.outline.distance(corners).min() < rig.tool.width_m else "strip")
        )
        out.append(replace(miss, why=why))
    return replace(truth, misses=tuple(out))


def _corners(track: Track, route: Route, poses: Poses, field: Field) -> Floats:
    """Points (n, 2) where laps bend, and the corners of the outline."""
    lap = np.array([piece.kind == "lap" for piece in route.pieces])[track.piece]
    bent = np.flatnonzero(lap & (np.abs(poses.kappa) > 0.04))[::8]
    ring = np.asarray(field.outline.exterior.simplify(2.0).coords)
    return np.vstack([ring, np.column_stack([poses.x[bent], poses.y[bent]])])


def _by_keep_out(miss: Miss, field: Field) -> str:
    near = any(miss.outline.distance(shape) < 3.0 for _, shape in field.holes)
    return "pocket" if near else ""


def _by_work(miss: Miss, works: list[Work], track: Track, poses: Poses, rig: Rig) -> str:
    """Runs driven with the tool up, displaced or bent."""
    length, width = miss.outline.length / 2, rig.tool.width_m
    wandered = False
    for work in works:
        told = work.tags.get("misses", ())
        if not work.up and not told:
            continue
        a, b = int(track.first[work.pieces[0]]), int(track.last[work.pieces[1]])
        way = LineString(np.column_stack([poses.x[a : b + 1 : 5], poses.y[a : b + 1 : 5]]))
        if work.up and way.intersection(miss.outline).length > 0.25 * length:
            return "tool up"
        for name, place, size in told:  # type: ignore[attr-defined]
            beside = way.distance(miss.outline) < 0.75 * width + abs(size)
            if name == "lost furrow" and beside and length > 8 * miss.width_m:
                return "missed run" if abs(size) > 0.9 * width else name
            close = miss.outline.distance(Point(place)) < width
            wandered |= name == "wander" and close and length < 200
    return "wander" if wandered else ""


def _ends(truth: Truth, poses: Poses, time: Clock, rig: Rig) -> list[tuple[str, LineString]]:
    """Where seeding began and ended, as bars across the way, with what happened there."""
    tool = rig.tool
    half = tool.width_m / 2
    out = []
    for sowing in truth.sowings:
        for t, rank, name, told in (
            (sowing.on_s, tool.front_rank_m, "start", sowing.why[0]),
            (sowing.off_s, tool.rear_rank_m, "finish", sowing.why[1]),
        ):
            at = float(time.index_at(t))
            theta = float(between(poses.theta, at))
            u = np.array([np.cos(theta), np.sin(theta)])
            n = np.array([-u[1], u[0]])
            axle = np.array([float(between(poses.tool_x, at)), float(between(poses.tool_y, at))])
            middle = axle + rank * u + tool.offset_left_m * n
            out.append((told or name, LineString([middle + half * n, middle - half * n])))
    return out


def _by_end(miss: Miss, ends: list[tuple[str, LineString]]) -> str:
    """The end of a run that the patch touches; a known mishap comes before a plain end."""
    touching = {name for name, bar in ends if miss.outline.distance(bar) < _NEAR_M}
    for name in ("corner", "late drop", "early lift", "backing", "start", "finish"):
        if name in touching:
            return name
    return ""
