"""Where the numbers go on a map, so that none hides another or the patch it stands for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, box
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats

_DIRECTIONS = 16
_REACHES = (1.9, 2.6, 3.6, 5.0)
_INTO = 3.0  # page units that a line reaches into its patch


@dataclass(frozen=True)
class Label:
    """A number's disc on the page: its centre, and the point of the patch it belongs to."""

    x: float
    y: float
    at_x: float
    at_y: float

    @property
    def apart(self) -> bool:
        """Whether the disc stands away from its patch and needs a line to it."""
        return math.hypot(self.x - self.at_x, self.y - self.at_y) > 0.5


def place_labels(
    patches: Sequence[BaseGeometry],
    radius: float,
    frame: tuple[float, float, float, float],
    taken: Sequence[BaseGeometry] = (),
) -> list[Label]:
    """One label a patch, in page units, greedily from the first patch on.

    A disc goes inside its patch where it fits; otherwise beside it, at the free place nearest
    to it. ``frame`` (left, top, right, bottom) holds all discs; ``taken`` are shapes that none
    should cover.
    """
    page = box(*frame).buffer(-radius)
    shapes = shapely.STRtree([*patches, *taken])
    labels: list[Label] = []
    for index, patch in enumerate(patches):
        circle = shapely.maximum_inscribed_circle(patch, tolerance=0.5)
        centre = Point(circle.coords[0])
        if circle.length >= radius * 1.25 and page.covers(centre):
            labels.append(Label(centre.x, centre.y, centre.x, centre.y))
            continue
        labels.append(_beside(patch, index, radius, page, labels, shapes))
    return labels


def _beside(
    patch: BaseGeometry,
    index: int,
    radius: float,
    page: BaseGeometry,
    labels: Sequence[Label],
    shapes: shapely.STRtree,
) -> Label:
    """The cheapest of a few dozen places round a patch; each fault of a place has its price."""
    inside = patch.representative_point()
    # the first direction is the upper right, where a reader looks first
    angle = -math.pi / 4 + np.arange(_DIRECTIONS) * 2 * math.pi / _DIRECTIONS
    reach = np.repeat(np.asarray(_REACHES), _DIRECTIONS)
    angle = np.tile(angle, len(_REACHES))
    x = inside.x + reach * radius * np.cos(angle)
    y = inside.y + reach * radius * np.sin(angle)
    spots = shapely.points(x, y)
    ends = _ends(spots, patch, inside)
    cost = reach * 2.0
    cost += np.where(shapely.covers(page, spots), 0, 100 + 10 * shapely.distance(spots, page))
    where, what = shapes.query(shapely.buffer(spots, radius * 1.1, quad_segs=4), "intersects")
    cost += np.bincount(where, np.where(what == index, 40.0, 12.0), minlength=len(x))
    if labels:
        discs = np.array([(label.x, label.y) for label in labels])
        gaps = np.hypot(x[:, None] - discs[:, 0], y[:, None] - discs[:, 1])
        cost += 50.0 * (gaps < 2.15 * radius).sum(1)
        lines = shapely.linestrings(np.stack([np.column_stack([x, y]), ends], axis=1))
        near = shapely.distance(lines[:, None], shapely.points(discs)[None, :]) < radius
        cost += 20.0 * near.sum(1)
    best = int(np.argmin(cost))
    return Label(float(x[best]), float(y[best]), float(ends[best, 0]), float(ends[best, 1]))


def _ends(spots: Sequence[Point], patch: BaseGeometry, inside: Point) -> Floats:
    """Where the line from each disc ends: just inside the patch's near side, shape (n, 2)."""
    near = shapely.get_coordinates(shapely.get_point(shapely.shortest_line(spots, patch), 1))
    inwards = np.array([inside.x, inside.y]) - near
    away = np.hypot(*inwards.T)
    share = np.minimum(1.0, _INTO / np.maximum(away, 1e-9))
    ends: Floats = near + inwards * share[:, None]
    return ends
