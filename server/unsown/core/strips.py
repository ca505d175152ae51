"""Stretches of runs along the trails, and from the settled stretches the strips of ground."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import (
    Poses,
    Strip,
    blind_between,
    blind_swath,
    piece_cuts,
    poses_between,
    strip,
    swept,
    swung,
)
from unsown.core.legs import Leg
from unsown.core.picture import Picture, Stretch
from unsown.core.words import Rig, Run

Span = tuple[float, float]
Bridged = tuple[float, float, int]
"""A blind stretch that was answered to be driven, s, and the outfit that it is about."""


def stretches_of(
    legs: Sequence[Leg], runs: Sequence[Run], rigs: Sequence[Rig], bridged: Sequence[Bridged]
) -> list[Stretch]:
    """All unbroken stretches of all sure runs; blind steps that were answered count as driven."""
    out = []
    for i, run in enumerate(runs):
        if not run.sure:
            continue
        tool = rigs[run.rig].tool
        for j, leg in enumerate(legs):
            path = leg.trails[run.rig]
            for lo, hi in _believed(leg, run):
                parts = poses_between(path, lo, hi)
                for k, m in blind_between(path, lo, hi):
                    a, b = float(path.t_s[k]), float(path.t_s[m])
                    if _driven(bridged, leg, a, b):
                        at = np.asarray([k, m])
                        way = float(np.hypot(*(np.diff(v[at])[0] for v in (path.x_m, path.y_m))))
                        x, y, h = path.x_m[at], path.y_m[at], path.heading_rad[at]
                        parts.append(Poses(path.t_s[at], x, y, h, np.asarray([0.0, way])))
                out += [
                    Stretch(i, j, tool.front_rank_m, tool.rear_rank_m, tool.width_m, poses)
                    for poses in parts
                ]
    return out


def strips_of(
    picture: Picture,
    legs: Sequence[Leg],
    runs: Sequence[Run],
    rigs: Sequence[Rig],
    bridged: Sequence[Bridged],
) -> list[Strip]:
    """One strip for each run: what it sowed, and what is doubt along it."""
    out = []
    for i, run in enumerate(runs):
        tool = rigs[run.rig].tool
        mine = sorted(
            (x.poses for x in picture.stretches if x.run == i), key=lambda p: float(p.t_s[0])
        )
        doubt: list[BaseGeometry] = []
        for j, leg in enumerate(legs):
            path = leg.trails[run.rig]
            for lo, hi in _believed(leg, run):
                for k, m in blind_between(path, lo, hi):
                    a, b = float(path.t_s[k]), float(path.t_s[m])
                    if not _driven(bridged, leg, a, b):
                        swath = blind_swath(path, k, m, tool.width_m)
                        doubt.append(_moved(swath, *picture.moved_at((a + b) / 2, j)))
                begun = swung(path, rigs[run.rig], lo, hi)
                doubt += [_moved(p, *picture.moved_at(lo, j)) for p in begun]
                if not run.sure:
                    for poses in poses_between(path, lo, hi):
                        middle = float(np.median(poses.t_s))
                        cuts = piece_cuts(poses)
                        shift = picture.moved_at(middle, j)
                        for ahead in {tool.front_rank_m, tool.rear_rank_m}:
                            pieces = swept(poses, cuts, ahead, tool.width_m)
                            doubt += [_moved(p, *shift) for p in pieces]
        out.append(
            strip(run.number, mine, tool.front_rank_m, tool.rear_rank_m, tool.width_m, doubt)
        )
    return out


def _believed(leg: Leg, run: Run) -> list[Span]:
    """The parts of a run for which this phone is believed, seconds."""
    if leg.outfit != run.outfit:
        return []
    spans = [(max(a, run.on_s), min(b, run.off_s)) for a, b in leg.windows]
    return [(lo, hi) for lo, hi in spans if hi > lo]


def _driven(bridged: Sequence[Bridged], leg: Leg, a: float, b: float) -> bool:
    return any(who == leg.outfit and x <= a + 1e-6 and b <= y + 1e-6 for x, y, who in bridged)


def _moved(shape: BaseGeometry, dx: float, dy: float) -> BaseGeometry:
    moved: BaseGeometry = shapely.transform(shape, lambda p: p + np.asarray([dx, dy]))
    return moved
