"""Diesel: litres an hour and a hectare, where the farm's own are not known yet.

Any such figure is off by a third for one tractor or another (AgDM A3-27, Iowa State University
Extension: ± 35 %): the farm's own tank takes its place as soon as it was filled twice.
"""

from __future__ import annotations

#: How far off a figure for an operation may be, part.
SPREAD = 0.35
#: Litres a hectare in a gallon an acre.
L_HA_PER_GAL_AC = 9.353956


def average_l_h(pto_kw: float) -> float:
    """Over all the work of a year: 0.223 of the PTO power in kW (ASAE EP496.3, by R. Grisso)."""
    return 0.223 * pto_kw


def at_load_l_h(pto_kw: float, load: float) -> float:
    """At full throttle and a part of the power, 0 to 1.

    Grisso, Kocher and Vaughan, Applied Engineering in Agriculture 20 (2004); the form read, its
    coefficients from memory.
    """
    return (0.22 * load + 0.096) * pto_kw


def litres_ha(litres_h: float, ha_per_h: float) -> float:
    """Litres a hectare at a pace."""
    return litres_h / ha_per_h
