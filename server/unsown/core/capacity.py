"""Field capacity: hectares an hour, as designed and as done (ASABE EP496; job paper 3.16).

Theoretical capacity is width × speed; effective capacity is area over hours in the paddock, turns
and fills included; field efficiency is their ratio.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from unsown.core.words import Floats

#: ASAE D497.7 for grain drills, from memory: 55 to 80 %, usually 70 %.
DRILL = (0.55, 0.70, 0.80)
_PRIOR_H = 2.0
#: A pace is that of half an hour; from fewer than so many no spread is told.
_PACE_S, _LEAST = 1800.0, 3
#: What is left is other ground, so the pace on it is another one by this part, one sigma; with it
#: eight times in ten are so on simulated days.
_OTHER, _Z = 0.06, 1.2816
ACRES_DIVISOR = 8.25  # 43,560 sq ft an acre / 5,280 ft a mile


def theoretical_ha_h(width_m: float, speed_km_h: float) -> float:
    """Width × speed with never a stop, ha/h."""
    return width_m * speed_km_h / 10


def effective_ha_h(width_m: float, speed_km_h: float, efficiency: float) -> float:
    """What is left of it with turning, filling and standing, ha/h."""
    return theoretical_ha_h(width_m, speed_km_h) * efficiency


def effective_ac_h(width_ft: float, speed_mph: float, efficiency: float) -> float:
    """The same in acres an hour: width × speed × efficiency / 8.25."""
    return width_ft * speed_mph * efficiency / ACRES_DIVISOR


@dataclass(frozen=True)
class Hours:
    """Where the time in the paddock went, hours."""

    sowing_h: float
    turning_h: float
    standing_h: float
    filling_h: float

    @property
    def field_h(self) -> float:
        """All time in the paddock."""
        return self.sowing_h + self.turning_h + self.standing_h + self.filling_h

    def efficiency(self, area_ha: float, theoretical: float) -> float:
        """Field efficiency: area done over what width and speed alone would do in that time."""
        return area_ha / self.field_h / theoretical

    def lost(self, area_ha: float, theoretical: float) -> dict[str, float]:
        """What efficiency was lost to, as parts of the time in the paddock; adds up to the loss."""
        total = self.field_h
        parts = {
            "turning": self.turning_h / total,
            "filling": self.filling_h / total,
            "standing": self.standing_h / total,
        }
        return {**parts, "overlap": 1 - sum(parts.values()) - self.efficiency(area_ha, theoretical)}


def pace_ha_h(recent_ha: float, recent_h: float, usual_ha_h: float) -> float:
    """Pace to reckon with: of the last hours, drawn to the season's mean the fewer they are."""
    if recent_h <= 0:
        return usual_ha_h
    weight = recent_h / (recent_h + _PRIOR_H)
    return weight * recent_ha / recent_h + (1 - weight) * usual_ha_h


def hours_left(area_ha: float, pace: float, fills: float = 0.0, fill_stop_h: float = 0.5) -> float:
    """Hours until an area is done."""
    return area_ha / pace + fills * fill_stop_h


def paces_ha_h(t_s: Floats, ha: Floats, from_s: float, to_s: float) -> Floats:
    """Hectares an hour in every whole half hour back from a time, the last one last.

    Args:
        t_s: times, s, rising; shape (n,), at least one.
        ha: seeded until then, ha.
        from_s: the first down of the day: nights are not counted.
        to_s: the time that is looked back from.
    """
    count = max(int((to_s - from_s) // _PACE_S), 0)
    edges = to_s - _PACE_S * np.arange(count, -1, -1)
    return np.asarray(np.diff(np.interp(edges, t_s, ha)) / (_PACE_S / 3600))


def spread_h(hours: float, paces: Sequence[float] | Floats) -> float | None:
    """How far off hours left are to either side, eight times in ten; None: too little to tell by.

    Half hours differ by what was turned, filled and stood in them. The pace to come is the mean of
    as many as are left, the pace so far that of ``paces``: each is off by the root of its count.
    And what is left is other ground than what was sown.
    """
    n, mean = len(paces), float(np.mean(paces)) if len(paces) else 0.0
    if n < _LEAST or mean <= 0 or hours <= 0:
        return None
    part = float(np.std(paces, ddof=1)) / mean * np.sqrt(_PACE_S / 3600 / hours + 1 / n)
    return float(_Z * hours * np.hypot(part, _OTHER))
