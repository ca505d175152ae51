"""Prices come to what the invented farm of the design paper says they do."""

from __future__ import annotations

import pytest

from unsown.core.price import Prices, capacity_ha_per_h

# job paper 7: the invented farm
FARM = Prices(118, 0.46, 105, 0.88, 5.2, 1.35, 58, 2.4, 330, 150)


def test_a_bare_hectare_of_the_invented_farm_costs_795() -> None:
    # 2.4 t at 330, less 146.7 of seed and fertiliser saved, plus a weed penalty of 150
    assert FARM.seed_and_fertiliser_ha == pytest.approx(146.7, abs=0.05)
    assert FARM.bare_ha() == pytest.approx(795, abs=0.5)


def test_a_hectare_sown_twice_costs_167() -> None:
    # 54.3 + 92.4 + 7.0 + 58 / 4.4
    assert FARM.twice_ha(4.4) == pytest.approx(167, abs=0.5)


def test_the_demo_rig_sows_six_point_three_hectares_an_hour_and_with_stops_four_point_four() -> (
    None
):
    assert capacity_ha_per_h(7.5 / 3.6, 8.4, 1.0) == pytest.approx(6.3)
    assert capacity_ha_per_h(7.5 / 3.6, 8.4) == pytest.approx(4.41)
