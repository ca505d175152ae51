"""Which said patches are real, which true ones were found: by the ground they share."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import Bools, Floats
from unsown.sim.day import SimDay

#: Half of a patch has to be there for it to count as found, or as real.
HALF = 0.5
#: Shares of the day's constant error that the said picture may be shifted by, on each axis.
PARTS = (0.0, 1 / 3, 2 / 3, 1.0)


def shares(outlines: Sequence[BaseGeometry], ground: BaseGeometry) -> Floats:
    """The share of each outline's area (n,) that lies on a ground of disjoint parts."""
    parts = shapely.get_parts(ground)
    if not len(outlines) or not len(parts):
        return np.zeros(len(outlines))
    shapes = np.asarray(outlines, dtype=object)
    who, what = shapely.STRtree(parts).query(shapes, predicate="intersects")
    common = shapely.area(shapely.intersection(shapes[who], parts[what]))
    return np.bincount(who, common, len(shapes)) / np.maximum(shapely.area(shapes), 1e-9)


def brought(outlines: Sequence[BaseGeometry], plane: Plane, onto: Plane) -> list[BaseGeometry]:
    """Shapes of one plane on another."""
    return [onto.shape_to_xy(plane.shape_to_degrees(shape)) for shape in outlines]


def united(outlines: Sequence[BaseGeometry], chosen: Bools) -> BaseGeometry:
    """The chosen of several disjoint outlines as one ground."""
    return shapely.union_all([o for o, yes in zip(outlines, chosen, strict=True) if yes])


def constant_error(day: SimDay) -> tuple[float, float]:
    """What the phone's error came to over the day, east and north, metres.

    The median of the errors while seed landed: the constant bias with the drift's own mean.
    """
    e = day.error
    sown = day.seeding(e.t_s)
    return float(np.median(e.error_x_m[sown])), float(np.median(e.error_y_m[sown]))


def best_shift(
    wanted: Sequence[BaseGeometry], said: BaseGeometry, error: tuple[float, float]
) -> tuple[float, float]:
    """The shift of the said ground, metres, at which it covers most of the wanted patches.

    Only a part of the day's constant error is tried on each axis (how much of it settling has
    taken out is not known); no shift at all wins a tie.
    """
    area = shapely.area(np.asarray(wanted, dtype=object))
    tries = [(-a * error[0], -b * error[1]) for a, b in product(PARTS, PARTS)]
    score = [float((shares(wanted, shifted(said, s)) * area).sum()) for s in tries]
    return tries[int(np.argmax(np.asarray(score) - 1e-6 * np.hypot(*np.transpose(tries))))]


def shifted(shape: BaseGeometry, by: tuple[float, float]) -> BaseGeometry:
    """A shape moved east and north, metres."""
    return shapely.transform(shape, lambda points: points + np.asarray(by))
