"""Metres on a paddock's plane -> units on a page: outlines, scale bar, north."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.formats.ink import Ink
from unsown.formats.units import FOOT_M, Units

_HAIR = 0.1  # page units: finer detail than a screen or a printer shows


@dataclass(frozen=True)
class Frame:
    """Where a paddock stands on a page, north up.

    ``scale`` is page units a metre; ``left``, ``top`` the page's place of the plane's ``west``,
    ``north``; ``wide``, ``tall`` what the paddock takes up.
    """

    scale: float
    left: float
    top: float
    west: float
    north: float
    wide: float
    tall: float

    @classmethod
    def fit(cls, whole: BaseGeometry, left: float, top: float, wide: float, tall: float) -> Frame:
        """The largest that shows ``whole`` within a box of the page, in its middle, at its top."""
        west, south, east, north = whole.bounds
        across, up = max(east - west, 1.0), max(north - south, 1.0)
        scale = min(wide / across, tall / up)
        begin = left + (wide - across * scale) / 2
        return cls(scale, begin, top, west, north, across * scale, up * scale)

    def place(self, shape: BaseGeometry, *, exact: bool = False) -> BaseGeometry:
        """The shape in page units; ``exact`` keeps it valid and whole, however small."""
        s = self.scale
        moved = affinity.affine_transform(
            shape, [s, 0, 0, -s, self.left - self.west * s, self.top + self.north * s]
        )
        # a ring that crosses itself by a hair draws the same, and is found twenty times faster
        return moved.simplify(_HAIR, preserve_topology=exact)


def path(shape: BaseGeometry) -> str:
    """The polygons of a shape as one SVG path, a tenth of a unit fine."""
    rings = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon) and not part.is_empty:
            rings += [part.exterior, *part.interiors]
    return "".join(_along(ring.coords[:-1]) + "Z" for ring in rings)


def line(way: LineString) -> str:
    """A line as an SVG path, a tenth of a unit fine."""
    return _along(way.coords)


def _along(points: Sequence[tuple[float, ...]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y, *_ in points)


def area(ident: str, shape: BaseGeometry, paint: str) -> str:
    """A shape in page units as one path with an id; nothing where it is empty."""
    outline = path(shape)
    return f'<path id="{ident}" {paint} d="{outline}"/>' if outline else ""


def scale_bar(
    frame: Frame, x: float, y: float, units: Units, ink: Ink, *, most: float = 240.0, size: int = 21
) -> str:
    """A bar of a round length, at most ``most`` page units; ``size`` is that of its letters."""
    unit_m, word = (FOOT_M, "ft") if units.acres else (1.0, "m")
    longest = most / (frame.scale * unit_m)
    power = 10.0 ** math.floor(math.log10(longest))
    length = max(step * power for step in (1, 2, 5) if step * power <= longest)
    wide = length * unit_m * frame.scale
    below = y + 13 + size
    zero = f'<text x="{x}" y="{below}" font-size="{size}">0</text>' if wide > 4 * size else ""
    return (
        f'<g id="scale-bar" fill="{ink.ink}"><rect x="{x}" y="{y}" width="{wide:.2f}" '
        f'height="9" fill="{ink.ground}" stroke="{ink.ink}" stroke-width="2"/>'
        f'<rect x="{x}" y="{y}" width="{wide / 2:.2f}" height="9"/>'
        f'{zero}<text x="{x + wide:.1f}" y="{below}" font-size="{size}" text-anchor="middle">'
        f"{length:g} {word}</text></g>"
    )


def north(x: float, y: float, ink: Ink, *, size: int = 22) -> str:
    """An arrow up, its middle at (x, y), and the letter N below."""
    return (
        f'<g id="north" fill="{ink.ink}"><path d="M{x} {y - 30}l12 34l-12 -8l-12 8z"/>'
        f'<text x="{x}" y="{y + 4 + size}" font-size="{size}" text-anchor="middle">N</text></g>'
    )
