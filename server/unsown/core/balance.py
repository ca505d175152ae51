"""Seed and fertiliser on board: what is left, for how far, and where it ran out (job paper 3.17).

    on board = last level + fills − rate × width × way with the meter turning / 10⁴

The rate begins as calibrated and is corrected at every fill by what really went out. Everything
left is told with its spread: from how well a level can be read, and how well the rate is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, hypot, sqrt
from typing import Literal

#: How well a level in a bin is read, kg; how well a calibrated rate is known before any fill, and
#: how much the next fill may flow differently from those before, as parts of the rate.
LEVEL_KG, RATE_PART, FLOW_PART = 40.0, 0.05, 0.01
#: A round is promised only when this many sigmas of the spread are left (nine times in ten).
SURE_Z = 1.2816
#: Where it ran out lies within this many sigmas nine times in ten.
BAND_Z = 1.645
#: Estimates of area that differ by more than this part ask for a check.
CHECK = 0.04


@dataclass(frozen=True)
class Rate:
    """What a hectare gets, kg, and its standard error.

    ``shared`` is the covariance of its error with that of the level that it was told by last,
    kg²/ha: a bin filled a little too full makes the rate look too high, and holds more than is
    said.
    """

    kg_ha: float
    sigma_kg_ha: float
    shared: float = 0.0

    @staticmethod
    def calibrated(kg_ha: float, part: float = RATE_PART) -> Rate:
        """A rate as the tray test or the card gave it, before anything was sown."""
        return Rate(kg_ha, part * kg_ha)

    def after(self, used_kg: float, seeded_ha: float, level_kg: float = LEVEL_KG) -> Rate:
        """The rate after so much went out on so much seeded ground, overlap included.

        The two levels between which it went out are each read to ``level_kg``. The sigma is that
        of the fill to come: however many were measured, seed and ground change a little.
        """
        if seeded_ha <= 0:
            return self
        seen, sigma = used_kg / seeded_ha, sqrt(2) * level_kg / seeded_ha
        old, new = 1 / self.sigma_kg_ha**2, 1 / sigma**2
        kg_ha = (self.kg_ha * old + seen * new) / (old + new)
        shared = new / (old + new) * level_kg**2 / seeded_ha
        return Rate(kg_ha, hypot(1 / sqrt(old + new), FLOW_PART * kg_ha), shared)


@dataclass(frozen=True)
class Left:
    """What is left in a bin and how far it goes; ``sigma`` one standard deviation of each.

    ``ha`` is seeded ground: what is sown twice takes seed twice.
    """

    kg: float
    kg_sigma: float
    ha: float
    ha_sigma: float

    def way_m(self, width_m: float) -> tuple[float, float]:
        """Way with the meter turning that it lasts for, and its sigma, m."""
        return self.ha * 1e4 / width_m, self.ha_sigma * 1e4 / width_m

    def rounds(self, round_m: float, width_m: float) -> int:
        """Whole rounds that it lasts for nine times in ten."""
        way, sigma = self.way_m(width_m)
        return max(floor((way - SURE_Z * sigma) / round_m), 0)

    def minutes(self, ha_per_h: float) -> tuple[float, float]:
        """Minutes at a pace while sowing, and their sigma."""
        return self.ha / ha_per_h * 60, self.ha_sigma / ha_per_h * 60


def left(level_kg: float, seeded_ha: float, rate: Rate, level_sigma_kg: float = LEVEL_KG) -> Left:
    """What is left since a level was known: after a fill, or when the bin was looked into.

    Args:
        level_kg: what was on board then.
        seeded_ha: ground seeded since, as often as it was.
        rate: what a hectare gets.
        level_sigma_kg: how well that level was known.
    """
    kg = level_kg - rate.kg_ha * seeded_ha
    ha = kg / rate.kg_ha

    def sigma(over_ha: float) -> float:
        """Of the level and the rate together, both wrong: σ² = σ_m² + (σ_r · A)² + 2 A · shared."""
        both = hypot(level_sigma_kg, rate.sigma_kg_ha * over_ha)
        return sqrt(both**2 + 2 * over_ha * rate.shared)

    # of ground still to come the rate is not known either
    return Left(kg, sigma(seeded_ha), ha, sigma(seeded_ha + max(ha, 0.0)) / rate.kg_ha)


@dataclass(frozen=True)
class RanOut:
    """Where a bin ran empty behind the driver: seeded hectares since the level, and their band.

    Ground seeded within the band is doubt, beyond ``to_ha`` it is bare.
    """

    at_ha: float
    from_ha: float
    to_ha: float


def ran_out(level_kg: float, rate: Rate, level_sigma_kg: float = LEVEL_KG) -> RanOut:
    """Where it ran out, in seeded hectares since the level was known."""
    at = left(level_kg, 0.0, rate, level_sigma_kg)
    return RanOut(at.ha, max(at.ha - BAND_Z * at.ha_sigma, 0.0), at.ha + BAND_Z * at.ha_sigma)


@dataclass(frozen=True)
class Lasts:
    """Whether what is on board lasts for runs still to be driven.

    ``tight``: it should, but not nine times in ten. ``short``: it runs dry in run ``at``, so far
    before its end.
    """

    metered_ha: float
    word: Literal["enough", "tight", "short"]
    at: int | None = None
    before_end_m: float = 0.0


def lasts(ha: float, ha_sigma: float, runs_m: Sequence[float], width_m: float) -> Lasts:
    """How far so many hectares go on runs of these lengths, in driving order."""
    metered = sum(runs_m) * width_m / 1e4
    if ha >= metered:
        return Lasts(metered, "enough" if ha - SURE_Z * ha_sigma >= metered else "tight")
    way = max(ha, 0.0) * 1e4 / width_m
    for at, length in enumerate(runs_m):
        if way < length:
            return Lasts(metered, "short", at, length - way)
        way -= length
    return Lasts(metered, "tight")


def closes(fills_kg: Sequence[float], first_kg: float, last_kg: float, seeded_ha: float) -> float:
    """Real rate over a day: all that went in less what is left, on all seeded ground, kg/ha."""
    return (first_kg + sum(fills_kg) - last_kg) / seeded_ha


def three_ways(map_ha: float, way_ha: float, product_ha: float | None) -> tuple[float, bool]:
    """Largest disagreement of the three estimates of seeded ground, and whether to check.

    Check width, rate, or a blocked row.
    """
    known = [a for a in (map_ha, way_ha, product_ha) if a is not None and a > 0]
    if len(known) < 2:
        return 0.0, False
    apart = max(known) / min(known) - 1
    return apart, apart > CHECK
