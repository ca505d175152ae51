"""Bulk weights, nutrients and diesel against published figures; the source beside each."""

from __future__ import annotations

import pytest

from unsown.core.bulk import T_M3, kg_m3, kg_m3_of, weight_t
from unsown.core.capacity import effective_ha_h
from unsown.core.errors import UnsownError
from unsown.core.fuel import L_HA_PER_GAL_AC, SPREAD, at_load_l_h, average_l_h, litres_ha
from unsown.core.nutrient import (
    ELEMENT,
    PRODUCTS,
    nutrients_kg_ha,
    rate_kg_ha,
    two_products_kg_ha,
)

GALLON_L, HP_KW = 3.785411784, 0.745699872


def test_a_store_of_124_cubic_metres_holds_what_the_factsheet_says() -> None:
    # BD1 to BD3: storage capacity factsheet (Australian), scribd.com/document/449905386
    assert weight_t(124, "wheat") == pytest.approx(93.0)
    assert weight_t(93.0 / T_M3["wheat"], "barley") == pytest.approx(76.88)
    assert T_M3["canola"] == 0.67
    with pytest.raises(UnsownError, match="'sand'"):
        weight_t(1, "sand")


@pytest.mark.parametrize(
    ("pounds", "metric"), [(60, 772.31), (56, 720.82), (48, 617.85), (32, 411.90)]
)
def test_test_weights_of_bushels(pounds: float, metric: float) -> None:
    # BD5: definition, a US bushel of 0.03523907 m³
    assert kg_m3(pounds) == pytest.approx(metric, abs=0.011)


@pytest.mark.parametrize(
    ("low", "high", "metric"),
    [(48, 52, (769, 833)), (56, 60, (897, 961)), (60, 64, (961, 1025)), (66, 70, (1057, 1121))],
)
def test_dry_fertiliser_by_the_cubic_foot(
    low: float, high: float, metric: tuple[float, float]
) -> None:
    # BD4: a seed merchant's weights table (weak): urea, DAP, AS, MOP
    assert (kg_m3_of(low), kg_m3_of(high)) == pytest.approx(metric, abs=0.6)


def test_what_products_hold_and_oxides_weigh() -> None:
    # NU1, NU2, NU7: International Fertilizer Industry Association, conversion tables
    assert PRODUCTS["urea"] == {"N": 46.0}
    assert ELEMENT["P2O5"] == pytest.approx(1 / 2.2914, abs=5e-5)
    assert ELEMENT["K2O"] == pytest.approx(1 / 1.2046, abs=5e-5)
    assert PRODUCTS["MAP"]["P2O5"] * ELEMENT["P2O5"] == pytest.approx(22.69, abs=0.01)
    assert PRODUCTS["DAP"]["P2O5"] * ELEMENT["P2O5"] == pytest.approx(20.07, abs=0.01)


def test_a_tonne_of_20_10_10() -> None:
    # NU3, NU4: Fertiliser Manual RB209 (Defra archive): brings 200, 100, 100; P is 35 over the need
    brings = nutrients_kg_ha({"N": 20, "P2O5": 10, "K2O": 10}, 1000)
    assert brings == {"N": 200, "P2O5": 100, "K2O": 100}
    assert brings["P2O5"] - 65 == 35
    assert brings["K2O"] - 114 == -14


def test_phosphate_by_one_product_and_the_rest_of_the_nitrogen_by_another() -> None:
    # NU5, NU6: agrowmania.blogspot.com/2009/06 (not an agency) prints 185, 33 and 37
    need = {"N": 50.0, "P2O5": 85.0}
    one, two = two_products_kg_ha(need, PRODUCTS["DAP"], "P2O5", PRODUCTS["urea"])
    assert one == pytest.approx(184.78, abs=0.01)
    assert nutrients_kg_ha(PRODUCTS["DAP"], one)["N"] == pytest.approx(33.26, abs=0.01)
    assert two == pytest.approx(36.39, abs=0.01)
    assert rate_kg_ha(50, 46) == pytest.approx(108.5, abs=0.3)


def test_diesel_over_a_year() -> None:
    # FU1, FU2: Grisso, Predicting Diesel Fuel Consumption, quoting ASAE EP496.3
    assert average_l_h(100) == pytest.approx(22.3)
    assert average_l_h(150 * HP_KW) / GALLON_L == pytest.approx(6.6, rel=0.005)


@pytest.mark.parametrize(("load", "litres"), [(0.5, 30.9), (0.8, 40.8), (1.0, 47.4)])
def test_diesel_at_full_throttle(load: float, litres: float) -> None:
    # FU3: Grisso, Kocher and Vaughan 2004; coefficients from memory
    assert at_load_l_h(150, load) == pytest.approx(litres, abs=0.05)
    # FU4: litres a kilowatt hour
    assert at_load_l_h(150, load) / (150 * load) == pytest.approx(0.22 + 0.096 / load)


def test_diesel_a_hectare_of_seeding_lies_where_surveys_have_it() -> None:
    # FU7, FU8: Nebraska energy office 2018: no-till drill 0.7 gal/ac, in tilled ground 0.5; FU11,
    # FU16: AgDM A3-27 gives any such figure 35 %
    ours = litres_ha(at_load_l_h(150, 0.8), effective_ha_h(12, 8, 0.70))
    assert ours == pytest.approx(6.0714, abs=1e-4)
    for gallons, litres in ((0.7, 6.55), (0.5, 4.68)):
        assert gallons * L_HA_PER_GAL_AC == pytest.approx(litres, abs=0.005)
        assert ours == pytest.approx(litres, rel=SPREAD)
