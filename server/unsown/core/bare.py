"""Bare ground -> patches: how large, what kind, how sure.

Bare ground is opened by 0.6 m (eroded and dilated), which takes out slivers narrower than
1.2 m, and split into parts; parts under 6 m² are dropped from the list, not from the total.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, pi, sqrt

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import Strip, polygons_of
from unsown.core.words import Call, PatchKind

OPEN_M = 0.6
SMALLEST_M2 = 6.0
#: Within this of a patch a run bounds it, m.
_BOUNDS_M = 1.5
#: A patch of this length is a strip along a seam, m.
_LONG_M = 60.0
#: What is this many times wider than a long strip, and so large, is no part of it.
_WIDER, _WIDE_M2 = 1.5, 20.0
#: Chance of a lost furrow at a seam beforehand; what settling leaves of the drift, a part.
_FURROW, _LEFT = 0.01, 0.6
SURE, LIKELY = 0.9, 0.6


@dataclass(frozen=True)
class Shape:
    """One bare patch before it is numbered: outline and measures, m and m²."""

    outline: BaseGeometry
    area_m2: float
    width_m: float
    length_m: float


def patches(bare: BaseGeometry) -> list[Shape]:
    """The patches of bare ground, largest first."""
    if bare.is_empty:
        return []
    opened = shapely.buffer(shapely.buffer(bare, -OPEN_M, quad_segs=4), OPEN_M, quad_segs=4)
    opened = polygons_of(shapely.intersection(opened, bare))
    found = []
    for part in shapely.get_parts(opened):
        if part.area < SMALLEST_M2:
            continue
        width, length = measure(part)
        found.append(Shape(part, float(part.area), width, length))
    return sorted(found, key=lambda p: -p.area_m2)


def measure(outline: BaseGeometry) -> tuple[float, float]:
    """Width and length of the rectangle with the same area and perimeter, m.

    For a bent or tapering strip that is its mean width and its length along the bend. A shape
    more compact than a square is given as a square.
    """
    smooth = shapely.simplify(outline, 0.3)
    area, half = float(outline.area), float(smooth.length) / 2
    gap = half * half - 4 * area
    if gap <= 0:
        return sqrt(area), sqrt(area)
    length = (half + sqrt(gap)) / 2
    return area / length, length


def bounding_runs(outlines: Sequence[BaseGeometry], strips: Sequence[Strip]) -> list[list[int]]:
    """For each patch the indices of the strips within reach of it."""
    pieces = [p for s in strips for p in s.any]
    owner = np.asarray([i for i, s in enumerate(strips) for _ in s.any], dtype=np.int64)
    if not pieces or not outlines:
        return [[] for _ in outlines]
    tree = shapely.STRtree(pieces)
    who, what = tree.query(
        np.asarray(outlines, dtype=object), predicate="dwithin", distance=_BOUNDS_M
    )
    return [sorted(set(owner[what[who == i]].tolist())) for i in range(len(outlines))]


def kind_of(
    shape: Shape,
    fence: BaseGeometry,
    obstacles: BaseGeometry,
    starts: BaseGeometry,
    finishes: BaseGeometry,
    width_m: float,
) -> PatchKind:
    """What sort of patch: where it lies to the fence, to keep-outs and to ends of runs.

    Args:
        shape: the patch.
        fence: the boundary line.
        obstacles: keep-outs.
        starts: bar lines at which runs began to seed.
        finishes: bar lines at which runs ceased to seed.
        width_m: working width.
    """
    outline = shape.outline
    near_start = _touches(outline, starts)
    near_finish = _touches(outline, finishes)
    slim = shape.length_m > 4 * shape.width_m
    if not obstacles.is_empty and outline.distance(obstacles) < 1.0:
        return "pocket"
    one_end = near_start != near_finish
    stout = shape.length_m < 4 * width_m or shape.width_m > 0.8 * width_m
    if not one_end and stout and _at_corner(outline, fence):
        return "corner"
    if slim and _share_near(outline, fence, width_m / 2) > 0.7 and not (near_start and near_finish):
        return "edge"
    if slim and shape.length_m > 3 * width_m:
        return "strip"
    if near_start and near_finish:
        return "corner"
    if near_finish and shape.length_m < 4 * width_m:
        return "finish"
    if near_start and shape.length_m < 4 * width_m:
        return "start"
    if slim:
        return "strip"
    return "corner" if outline.distance(fence) < 2 * width_m else "pocket"


def _touches(outline: BaseGeometry, lines: BaseGeometry) -> bool:
    return not lines.is_empty and bool(shapely.dwithin(outline, lines, 1.0))


def _at_corner(outline: BaseGeometry, fence: BaseGeometry) -> bool:
    """Whether a patch lies in a corner of the fence (a bend of more than 30 degrees)."""
    for line in shapely.get_parts(shapely.simplify(fence, 1.0)):
        points = shapely.get_coordinates(line)[:-1]
        if len(points) < 3:
            continue
        before = points - np.roll(points, 1, axis=0)
        after = np.roll(points, -1, axis=0) - points
        turn = np.arctan2(
            before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1)
        )
        corners = points[np.abs(turn) > np.radians(30.0)]
        if len(corners) and shapely.dwithin(outline, shapely.multipoints(corners), 1.5):
            return True
    return False


def _share_near(outline: BaseGeometry, line: BaseGeometry, reach_m: float) -> float:
    band = shapely.buffer(line, reach_m)
    return float(shapely.intersection(outline, band).area / max(outline.area, 1e-9))


def call_of(chance: float) -> Call:
    """The word for a chance: sure from 0.9, likely from 0.6, else can't tell."""
    if chance >= SURE:
        return "sure"
    return "likely" if chance >= LIKELY else "can't tell"


def parted(shapes: Sequence[Shape], width_m: float) -> list[Shape]:
    """Long strips parted from what is much wider than they are, largest first.

    A corner that hangs on a strip along a seam is told by the turn that bounds it, the strip only
    by its width: together neither could be judged, and nobody could go back for one of them. Wider
    is more than 1.5 times the strip's mean width where the shape is a strip, under half of the
    working width ``width_m``; else more than half of that, where what is left has such a strip.
    """
    out = []
    for shape in shapes:
        if shape.length_m < _LONG_M:
            out.append(shape)
        elif _strip(shape, width_m):
            out += _wide_apart(shape, _WIDER / 2 * shape.width_m)
        else:
            pieces = _wide_apart(shape, width_m / 4)
            out += pieces if any(_strip(p, width_m) for p in pieces) else [shape]
    return sorted(out, key=lambda p: -p.area_m2)


def _strip(shape: Shape, width_m: float) -> bool:
    return shape.length_m >= _LONG_M and shape.width_m < width_m / 2


def _wide_apart(shape: Shape, reach: float) -> list[Shape]:
    """What of a shape is wider than twice ``reach``, m, and the patches of the rest."""
    inner = shapely.buffer(shape.outline, -reach)
    wide = shapely.buffer(inner, 1.02 * reach, join_style="mitre", mitre_limit=2.0)
    wide = shapely.get_parts(polygons_of(shapely.intersection(wide, shape.outline)))
    wide = wide[shapely.area(wide) >= _WIDE_M2]
    if len(wide) == 0:
        return [shape]
    rest = shapely.difference(shape.outline, shapely.union_all(wide))
    return [Shape(w, float(w.area), *measure(w)) for w in wide] + patches(rest)


def strip_chance(shape: Shape, gap_m: float, width_m: float) -> float:
    """The most that may be said of a long strip, whatever the draws say.

    A constant gap along a whole seam is a lost furrow or drift. By Bayes' rule its odds are those
    beforehand (one seam in a hundred, the gap of any size up to W) times 1/W over the normal
    density of w - 0.3 m with spread 0.6 g: settling leaves a part of what drift alone would do.
    Short patches are bounded by turns and ends of runs and are not held down.

    Args:
        shape: the patch.
        gap_m: the constant gap that drift alone leaves along its length, one sigma; 0 where
            the picture was not settled.
        width_m: working width W.
    """
    if shape.length_m < _LONG_M or gap_m <= 0:
        return 1.0
    left = _LEFT * gap_m
    times = log(left * sqrt(2 * pi) / width_m) + (max(shape.width_m - 0.3, 0.0) / left) ** 2 / 2
    odds = log(_FURROW / (1 - _FURROW)) + times
    return 1 / (1 + exp(-min(max(odds, -50.0), 50.0)))
