"""Rates: from target plants, from a tray test, from a row; and what came up (job paper 3.18)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from unsown.core.errors import UnsownError

#: Catches that differ by more than this ask for another one.
AGAIN_CV = 0.05
GRAM_PER_LB, FT_PER_M, LB_AC_PER_KG_HA = 453.59237, 1 / 0.3048, 0.8921791


@dataclass(frozen=True)
class Tray:
    """A tray test: rate of all catches, kg/ha, and how much they differ (coefficient of variation).

    ``again``: they differ by too much to be trusted.
    """

    rate_kg_ha: float
    cv: float
    again: bool


def plants_rate_kg_ha(plants_m2: float, seed_g_per_1000: float, survival: float) -> float:
    """Seed for so many plants: plants/m² × weight of 1000 seeds, g ÷ part that survives ÷ 100.

    ``survival`` is establishment × germination, 0 to 1. S. Chant, Saskatchewan Agriculture, 2014.
    """
    _above(plants_m2=plants_m2, seed_g_per_1000=seed_g_per_1000, survival=survival)
    return plants_m2 * seed_g_per_1000 / survival / 100


def seeds_rate_kg_ha(plants_m2: float, seeds_per_kg: float, survival: float) -> float:
    """Seed for so many plants from the number of seeds in a kilogram."""
    _above(plants_m2=plants_m2, seeds_per_kg=seeds_per_kg, survival=survival)
    return plants_m2 * 1e4 / seeds_per_kg / survival


def tray_area_ha(turns: float, wheel_m: float, width_m: float) -> float:
    """Ground that so many turns of the drive wheel stand for, ha; width of the outlets caught."""
    _above(turns=turns, wheel_m=wheel_m, width_m=width_m)
    return turns * wheel_m * width_m / 1e4


def tray(catches_kg: Sequence[float], area_ha: float) -> Tray:
    """Rate and spread of several catches on the same ground.

    Raises:
        UnsownError: no catch, or one that is not above zero.
    """
    if not catches_kg:
        raise UnsownError("tray-none", "expected at least one catch in kg, none came")
    _above(area_ha=area_ha, **{f"catch {k + 1}": kg for k, kg in enumerate(catches_kg)})
    each = np.asarray(catches_kg, dtype=np.float64)
    cv = float(each.std(ddof=1) / each.mean()) if len(each) > 1 else 0.0
    return Tray(float(each.mean() / area_ha), cv, cv > AGAIN_CV)


def field_rate_kg_ha(
    tray_kg_ha: float, turns: float, wheel_m: float, driven_m: float = 100.0
) -> float:
    """The tray's rate as it comes out in the field, where the wheel slips or carries more.

    The wheel turned ``turns`` times over ``driven_m`` truly driven.
    """
    _above(tray_kg_ha=tray_kg_ha, turns=turns, wheel_m=wheel_m, driven_m=driven_m)
    return tray_kg_ha * turns * wheel_m / driven_m


def row_rate_kg_ha(grams: float, row_m: float, spacing_m: float) -> float:
    """Rate from what one opener put on a length of row (Grain SA, Grain Guide 2018)."""
    _above(grams=grams, row_m=row_m, spacing_m=spacing_m)
    return grams / row_m / spacing_m * 10


def plants_m2(plants: float, row_m: float, spacing_m: float) -> float:
    """Plants on a square metre from a count along a length of row."""
    _above(row_m=row_m, spacing_m=spacing_m)
    return plants / row_m / spacing_m


def survival(plants_m2_up: float, rate_kg_ha: float, seed_g_per_1000: float) -> float:
    """The part of the seed that came up, to be used next time."""
    _above(rate_kg_ha=rate_kg_ha, seed_g_per_1000=seed_g_per_1000)
    return plants_m2_up * seed_g_per_1000 / rate_kg_ha / 100


def _above(**given: float) -> None:
    for name, value in given.items():
        if not value > 0:
            raise UnsownError(
                "rate-input",
                f"{name.replace('_', ' ')}: a number above 0 was expected, {value} came",
            )
