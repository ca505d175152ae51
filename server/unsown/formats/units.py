"""Numbers as people say them: hectares or acres, and never finer than was measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

# The international acre and foot are exact by definition (1959 yard and pound agreement).
ACRE_M2 = 4046.8564224
FOOT_M = 0.3048


@dataclass(frozen=True)
class Units:
    """How areas and distances are written: metric, or acres and feet."""

    acres: bool = False

    def area(self, ha: float) -> str:
        """A paddock-sized area to 0.01, such as ``61.40 ha``."""
        value = ha * 10_000 / ACRE_M2 if self.acres else ha
        shown = f"{value:.2f}"
        shown = "0.00" if shown == "-0.00" else shown
        return f"{shown} {'ac' if self.acres else 'ha'}"

    def rough(self, ha: float) -> str:
        """An area that is not known to 0.01: to 0.1, from 100 on to 1, such as ``6.4 ha``."""
        value = ha * 10_000 / ACRE_M2 if self.acres else ha
        return f"{value:.{0 if value >= 99.95 else 1}f} {'ac' if self.acres else 'ha'}"

    def step(self, metres: float) -> str:
        """A few metres to 0.1, or feet to 1, such as ``1.4 m``."""
        return f"{metres / FOOT_M:.0f} ft" if self.acres else f"{metres:.1f} m"

    def size(self, m2: float) -> str:
        """A patch to two figures, such as ``290 m²`` or ``0.072 ac``; ``0.67 ha`` when large."""
        if self.acres:
            return f"{_figures(m2 / ACRE_M2)} ac"
        if m2 >= 5_000:
            return f"{m2 / 10_000:.2f} ha"
        return f"{_figures(m2)} m²"

    def distance(self, metres: float) -> str:
        """A distance as a driver would pace it: to 1, 5 or 10 m (or feet)."""
        value, unit = (metres / FOOT_M, "ft") if self.acres else (metres, "m")
        step = 1 if value < 20 else 5 if value < 100 else 10
        return f"{round(value / step) * step:.0f} {unit}"

    def length(self, metres: float) -> str:
        """A measured length of a rig to 0.01 m or 0.1 ft."""
        return f"{metres / FOOT_M:.1f} ft" if self.acres else f"{metres:.2f} m"

    def road(self, km: float) -> str:
        """A driven distance to 0.1 km or mile."""
        return f"{km / 1.609344:.1f} mi" if self.acres else f"{km:.1f} km"


def _figures(value: float, figures: int = 2) -> str:
    if value <= 0 or not math.isfinite(value):
        return "0"
    places = figures - 1 - math.floor(math.log10(value))
    rounded = round(value, places)
    return f"{rounded:.{max(places, 0)}f}"
