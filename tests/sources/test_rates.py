"""Seeding rates, calibration, plant counts against published examples; the source beside each."""

from __future__ import annotations

import pytest

from unsown.core.errors import UnsownError
from unsown.core.rate import (
    GRAM_PER_LB,
    LB_AC_PER_KG_HA,
    field_rate_kg_ha,
    plants_m2,
    plants_rate_kg_ha,
    row_rate_kg_ha,
    seeds_rate_kg_ha,
    survival,
    tray,
    tray_area_ha,
)

FT_M, FT2_M2, AC_HA = 0.3048, 0.09290304, 0.40468564224


@pytest.mark.parametrize(
    ("plants", "grams", "lives", "printed", "within"),
    [
        (300, 51.9, 0.85, 183, 0.5),  # SR2: Agriland, tillage management: seeding rate
        (100, 45, 0.95 * 0.90, 53, 0.5),  # SR3: cereal seed sowing rates (New Zealand)
        (200, 50, 0.95 * 0.90, 117, 0.5),
        (300, 55, 0.95 * 0.90, 193, 0.5),
    ],
)
def test_seed_for_target_plants(
    plants: float, grams: float, lives: float, printed: float, within: float
) -> None:
    assert plants_rate_kg_ha(plants, grams, lives) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("plants", "per_kg", "lives", "printed", "within"),
    [
        (40, 211_400, 0.85, 2.23, 0.005),  # SR4: Birchip Cropping Group, canola seeding rates
        (35, 300_000, 0.85, 1.4, 0.05),  # SR5: March Agronomy Update 2025
        (35, 200_000, 0.85, 2.1, 0.05),
    ],
)
def test_seed_by_count(
    plants: float, per_kg: float, lives: float, printed: float, within: float
) -> None:
    assert seeds_rate_kg_ha(plants, per_kg, lives) == pytest.approx(printed, abs=within)


@pytest.mark.parametrize(
    ("per_lb", "printed"),
    [(12_000, 127), (14_000, 109), (16_000, 95), (18_000, 85), (20_000, 76)],
)
def test_wheat_at_35_seeds_a_square_foot(per_lb: float, printed: float) -> None:
    # SR8: Bitzer and Herbek, wheat seeding rate, University of Kentucky
    rate = seeds_rate_kg_ha(35 / FT2_M2, per_lb / (GRAM_PER_LB / 1000), 1.0) * LB_AC_PER_KG_HA
    assert rate == pytest.approx(printed, abs=0.5)


@pytest.mark.parametrize(
    ("per_lb", "printed"), [(12_000, 109), (14_000, 93), (16_000, 82), (18_000, 73), (20_000, 65)]
)
def test_wheat_at_30_seeds_a_square_foot(per_lb: float, printed: float) -> None:
    # SR9: as SR8
    rate = seeds_rate_kg_ha(30 / FT2_M2, per_lb / (GRAM_PER_LB / 1000), 1.0) * LB_AC_PER_KG_HA
    assert rate == pytest.approx(printed, abs=0.5)


def test_barley_by_seeds_a_pound() -> None:
    # SR7: NDSU prints 110 lb/ac, rounded up; exact 108.98
    plants = 1.1e6 / AC_HA / 1e4
    per_kg = 12_500 / (GRAM_PER_LB / 1000)
    rate = seeds_rate_kg_ha(plants, per_kg, 0.85 * 0.95) * LB_AC_PER_KG_HA
    assert rate == pytest.approx(108.978, abs=0.01)
    assert rate == pytest.approx(110, abs=1.5)


@pytest.mark.parametrize(
    ("inches", "row_in", "seeds"),
    [(4, 36.0, 12), (6, 24.0, 18), (7, 20.6, 20), (8, 18.0, 23), (10, 14.4, 29)],
)
def test_row_lengths_of_a_square_foot_and_seeds_on_a_foot_of_row(
    inches: float, row_in: float, seeds: float
) -> None:
    # SR10, SR11: as SR8: so long a row is a square foot, and 35 on one are so many a foot of row
    inch = 0.0254
    assert plants_m2(1, row_in * inch, inches * inch) * FT2_M2 == pytest.approx(1.0, rel=0.003)
    assert plants_m2(seeds, FT_M, inches * inch) * FT2_M2 == pytest.approx(
        35, abs=0.51 * 12 / inches
    )


def test_seeds_of_a_20_gram_sample_and_the_units_constants() -> None:
    # SR12: as SR8: count x 22.68 seeds a pound
    assert pytest.approx(22.68, abs=0.001) == GRAM_PER_LB / 20
    # SR13, SR14: unit definitions; SR1: S. Chant prints 0.89
    plain = plants_rate_kg_ha(1 / FT2_M2, 1.0, 1.0) * LB_AC_PER_KG_HA
    assert 1 / plain == pytest.approx(10.413048, abs=1e-5)
    assert pytest.approx(0.89, abs=0.005) == LB_AC_PER_KG_HA
    assert pytest.approx(AC_HA / (GRAM_PER_LB / 1000), abs=1e-7) == LB_AC_PER_KG_HA


def test_flax_in_pounds_an_acre() -> None:
    # SR6: Manitoba Agriculture crop team: 45 plants/ft², 5 g, 88 % germination, 40 % mortality,
    # printed 43 with the rounded divisor 10; exact divisor 10.413
    rate = plants_rate_kg_ha(45 / FT2_M2, 5.0, 0.88 * 0.60) * LB_AC_PER_KG_HA
    assert rate * 10.413048 / 10 == pytest.approx(43, abs=0.5)


def test_plants_from_a_row_count() -> None:
    # PC1: DPIRD Western Australia prints 50.4 with a rounded multiplier; exact 50.0
    assert plants_m2(9, 1.0, 0.18) == pytest.approx(50.4, rel=0.01)
    # PC2: multipliers for rows of 18 to 35 cm
    for spacing, printed in ((0.18, 5.6), (0.23, 4.4), (0.25, 4.0), (0.30, 3.3), (0.35, 2.8)):
        assert plants_m2(1, 1.0, spacing) == pytest.approx(printed, rel=0.025)
    # PC3: Ohio State Extension: 40 plants in 3 ft of 7-inch rows are 23 a square foot
    assert plants_m2(40, 3 * FT_M, 7 * 0.0254) * FT2_M2 == pytest.approx(23, abs=0.2)


def test_tray_and_row_tests() -> None:
    # CA1: Soil Health Labs: 8 ft wheel x 0.625 ft row x 20 turns = 100 ft²
    area = tray_area_ha(20, 8 * FT_M, 0.625 * FT_M)
    assert area * 1e4 / FT2_M2 == pytest.approx(100.0)
    # CA2: 25 lb/ac on it is 26.06 g with 454 g a pound
    assert 25 / LB_AC_PER_KG_HA * area * 1000 == pytest.approx(26.06, rel=0.002)
    # CA3: Bitzer and Herbek: a wheel of 60 inches turns 10 times in 50 ft
    ten, wide = tray_area_ha(10, 60 * 0.0254, 3.0), 3.0
    assert ten * 1e4 / wide == pytest.approx(50 * FT_M)
    # CA4: Morris, University of Maryland Extension 2019: 100 / (3.14 x diameter) turns in 100 ft
    turns = 100 / (3.14 * 2.5)
    assert tray_area_ha(turns, 3.14 * 2.5 * FT_M, wide) * 1e4 / wide == pytest.approx(100 * FT_M)
    # CA5: Grain SA, Grain Guide 2018: grams over 10 m / row spacing
    assert row_rate_kg_ha(55, 10.0, 0.25) == pytest.approx(220.0)
    # CA6: common practice, no source: 20 turns x 2.00 m x 12 m = 480 m²; 3.84 kg -> 80 kg/ha.
    # CA7, likewise: the catch of a tenth or a twentieth of a hectare counts ten or twenty times
    assert tray([3.84], tray_area_ha(20, 2.0, 12.0)).rate_kg_ha == pytest.approx(80.0)
    assert tray([11.8], 0.1).rate_kg_ha == pytest.approx(118.0)
    assert tray([5.9], 0.05).rate_kg_ha == pytest.approx(118.0)


def test_three_catches_tell_their_mean_and_when_to_catch_again() -> None:
    area = tray_area_ha(20, 2.0, 12.0)
    fine = tray([3.80, 3.84, 3.88], area)
    assert fine.rate_kg_ha == pytest.approx(80.0)
    assert not fine.again
    assert tray([3.4, 3.84, 4.3], area).again


def test_a_wheel_that_slips_sows_less_in_the_field() -> None:
    assert field_rate_kg_ha(118, turns=48, wheel_m=2.0, driven_m=100) == pytest.approx(118 * 0.96)


def test_what_came_up_goes_back_into_the_next_rate() -> None:
    rate = plants_rate_kg_ha(250, 42, 0.8)
    assert survival(200.0, rate, 42) == pytest.approx(0.8 * 200 / 250)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_what_is_not_above_zero_is_refused(bad: float) -> None:
    with pytest.raises(UnsownError, match="above 0 was expected"):
        plants_rate_kg_ha(bad, 45, 0.8)
    with pytest.raises(UnsownError, match="catch 2"):
        tray([3.8, bad], 0.048)
