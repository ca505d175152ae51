"""Where the numbers go on a map, so that none hides another or the patch it stands for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

_DIRECTIONS = 16
_REACHES = (1.9, 2.6, 3.6, 5.0)


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
    labels: list[Label] = []
    for index, patch in enumerate(patches):
        point = patch.representative_point()
        circle = shapely.maximum_inscribed_circle(patch, tolerance=0.5)
        centre = Point(circle.coords[0])
        if circle.length >= radius * 1.25 and page.covers(centre):
            labels.append(Label(centre.x, centre.y, centre.x, centre.y))
            continue
        others = [p for i, p in enumerate(patches) if i != index]
        labels.append(_beside(point, radius, page, labels, [patch, *others, *taken]))
    return labels


def _beside(
    point: Point,
    radius: float,
    page: BaseGeometry,
    labels: Sequence[Label],
    shapes: Sequence[BaseGeometry],
) -> Label:
    best, least = Label(point.x, point.y, point.x, point.y), math.inf
    for reach in _REACHES:
        for step in range(_DIRECTIONS):
            # start at the upper right, where a reader looks first
            angle = -math.pi / 4 + step * 2 * math.pi / _DIRECTIONS
            x = point.x + reach * radius * math.cos(angle)
            y = point.y + reach * radius * math.sin(angle)
            spot = Point(x, y)
            disc = spot.buffer(radius * 1.1, 8)
            end = _end(spot, shapes[0])
            line = LineString([spot, end])
            cost = reach * 2.0
            cost += 0.0 if page.covers(spot) else 100.0 + 10.0 * spot.distance(page)
            for other in labels:
                gap = math.hypot(x - other.x, y - other.y)
                cost += 50.0 if gap < 2.15 * radius else 0.0
                cost += 20.0 if line.distance(Point(other.x, other.y)) < radius else 0.0
            cost += 40.0 if disc.intersects(shapes[0]) else 0.0
            cost += sum(12.0 for shape in shapes[1:] if disc.intersects(shape))
            if cost < least:
                best, least = Label(x, y, end.x, end.y), cost
    return best


def _end(spot: Point, patch: BaseGeometry) -> Point:
    """Where the line from a disc ends: just inside the patch's near side."""
    near = shapely.get_point(shapely.shortest_line(spot, patch), 1)
    inside = patch.representative_point()
    away = near.distance(inside)
    if away <= 3.0:
        return inside
    share = 3.0 / away
    return Point(near.x + (inside.x - near.x) * share, near.y + (inside.y - near.y) * share)
