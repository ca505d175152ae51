"""Directions as points of the compass, in words that are the same everywhere."""

from __future__ import annotations

from math import pi

#: By eighths of a turn, anticlockwise from east.
POINTS = (
    *("east", "north-east", "north", "north-west"),
    *("west", "south-west", "south", "south-east"),
)


def toward(heading_rad: float) -> str:
    """The direction of a heading (radians anticlockwise from east), such as ``north-east``."""
    return POINTS[round(heading_rad / (pi / 4)) % 8]


def side(heading_rad: float) -> str:
    """The side that one comes from when driving along a heading, such as ``south-west``."""
    return toward(heading_rad + pi)
