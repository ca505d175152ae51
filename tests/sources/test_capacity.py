"""Field capacity against extension publications.

FC2 to FC4: "Farm field equipment: efficiency versus capacity", Progressive Forage. FC5 to FC11:
Estimating the Field Capacity of Farm Machines, Iowa State University Extension, PM 696 (2001) and
AgDM A3-24. FC12 to FC14: G. Quick, "How to measure the performance of your farm machinery" (rule).
"""

from __future__ import annotations

import pytest

from unsown.core.capacity import (
    ACRES_DIVISOR,
    DRILL,
    Hours,
    effective_ac_h,
    effective_ha_h,
    hours_left,
    pace_ha_h,
    theoretical_ha_h,
)


@pytest.mark.parametrize(
    ("feet", "mph", "efficiency", "printed"),
    [
        (30, 5, 1.00, 18.2),
        (30, 5, 0.80, 14.5),
        (30, 5, 0.60, 10.9),
        (40, 6, 0.70, 20.4),
        (50, 6, 0.70, 25.5),
        (60, 6, 0.68, 29.7),
        (60, 12, 0.68, 59.3),
        (80, 6, 0.68, 39.6),
        (80, 12, 0.68, 79.1),
        (15, 5, 0.63, 5.7),
        (20, 6, 0.63, 9.2),
        (45, 5, 0.60, 16.4),
    ],
)
def test_acres_an_hour_are_those_printed(
    feet: float, mph: float, efficiency: float, printed: float
) -> None:
    assert effective_ac_h(feet, mph, efficiency) == pytest.approx(printed, abs=0.051)
    metric = effective_ha_h(feet * 0.3048, mph * 1.609344, efficiency) / 0.40468564224
    assert metric == pytest.approx(effective_ac_h(feet, mph, efficiency), rel=1e-9)


def test_the_imperial_divisor_is_feet_a_mile_and_an_acre() -> None:
    # FC1: Hancock, Swetnam and Benson, AEN-73, University of Kentucky 1991
    assert pytest.approx(43_560 / 5_280) == ACRES_DIVISOR
    assert effective_ac_h(8.25, 1, 1.0) == pytest.approx(1.0)


def test_a_drill_is_planned_with_the_published_range() -> None:
    # FC16: ASAE D497.7, from memory: 55 to 80 %, typically 70 %; FC19: EP496.3, s w E / 10
    assert DRILL == (0.55, 0.70, 0.80)
    low, usual, high = (effective_ha_h(12, 8, e) for e in DRILL)
    assert (low, usual, high) == pytest.approx((5.28, 6.72, 7.68))


def test_effective_capacity_counts_turns_fills_and_stops_in_the_paddock() -> None:
    # FC15: AgDM A3-24: area over the hours in the field
    hours = Hours(sowing_h=5.0, turning_h=1.0, standing_h=0.5, filling_h=1.0)
    assert hours.field_h == 7.5
    assert hours.efficiency(37.5, 10.0) * 10.0 == pytest.approx(37.5 / 7.5)


def test_metric_samples() -> None:
    assert effective_ha_h(12, 8, 0.70) == pytest.approx(6.72, abs=1e-9)
    assert 60 / effective_ha_h(12, 8, 0.70) == pytest.approx(8.92857, abs=1e-5)
    assert effective_ha_h(18, 8.5, 0.70) == pytest.approx(10.71, abs=1e-9)
    assert 60 / effective_ha_h(18, 8.5, 0.70) == pytest.approx(5.602241, abs=1e-6)


def test_the_parts_of_lost_time_add_up_to_what_efficiency_is_short_of() -> None:
    hours = Hours(sowing_h=6.0, turning_h=1.0, standing_h=0.5, filling_h=1.5)
    full = theoretical_ha_h(8.4, 7.5)
    area = 6.0 * full * 0.95  # a twentieth of it sown again
    efficiency = hours.efficiency(area, full)
    assert efficiency == pytest.approx(6.0 * 0.95 / 9.0)
    lost = hours.lost(area, full)
    assert sum(lost.values()) == pytest.approx(1 - efficiency)
    assert lost["overlap"] == pytest.approx(6.0 / 9.0 * 0.05)
    assert DRILL[0] < efficiency < DRILL[2]  # range from memory of ASAE D497.7


def test_a_short_pace_is_drawn_to_the_season_s() -> None:
    assert pace_ha_h(0, 0, 4.4) == 4.4
    assert pace_ha_h(12.0, 2.0, 4.4) == pytest.approx((6.0 + 4.4) / 2)
    assert hours_left(8.8, 4.4, fills=2) == pytest.approx(3.0)
