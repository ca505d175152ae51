"""Turns from one run to another: how long, and how deep into the headland.

Closed forms of D. D. Bochtis and S. G. Vougioukas, Biosystems Engineering 101 (2008), and of J. Jin
and L. Tang, Transactions of the ASABE 53 (2010), from memory. They are the tractor's path: the tool
needs half its width more, and room to straighten.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, asin, pi, sin
from typing import Literal

Kind = Literal["half circle", "loop", "fishtail"]


@dataclass(frozen=True)
class Turn:
    """A turn with its length and its depth beyond the end of the rows, m."""

    kind: Kind
    length_m: float
    depth_m: float


def turn(radius_m: float, spacing_m: float) -> Turn:
    """The shortest turn forward to a parallel run.

    Two quarter circles and a straight where the runs lie two radii or more apart, else a loop.
    """
    r, w = radius_m, spacing_m
    if w >= 2 * r:
        return Turn("half circle", pi * r + w - 2 * r, r)
    length = r * (3 * pi - 4 * asin((2 * r + w) / (4 * r)))
    return Turn("loop", length, r + 2 * r * sin(acos((w + 2 * r) / (4 * r))))


def fishtail(radius_m: float, spacing_m: float) -> Turn:
    """A quarter turn, back, and a quarter turn again: shorter and shallower than a loop.

    Not for a towed tool with a cart behind it, unless its driver asks for it.
    """
    return Turn("fishtail", radius_m * (pi + 2) - spacing_m, radius_m)
