"""Nutrients in fertiliser: of a product, between oxide and element, and of two products together.

Percentages and factors: International Fertilizer Industry Association, conversion tables.
"""

from __future__ import annotations

from collections.abc import Mapping

#: Percent of N, P2O5, K2O and S in common products.
PRODUCTS: Mapping[str, Mapping[str, float]] = {
    "urea": {"N": 46.0},
    "MAP": {"N": 11.0, "P2O5": 52.0},
    "DAP": {"N": 18.0, "P2O5": 46.0},
    "AS": {"N": 21.0, "S": 24.0},
    "TSP": {"P2O5": 46.0},
    "SSP": {"P2O5": 15.0, "S": 12.0},
}
#: Element in a kilogram of oxide.
ELEMENT = {"P2O5": 0.4364, "K2O": 0.8302}


def nutrients_kg_ha(percent: Mapping[str, float], rate_kg_ha: float) -> dict[str, float]:
    """What a rate of a product brings, kg/ha of each nutrient."""
    return {name: rate_kg_ha * part / 100 for name, part in percent.items()}


def rate_kg_ha(need_kg_ha: float, percent: float) -> float:
    """The rate of a product that brings so much of a nutrient, kg/ha."""
    return need_kg_ha / (percent / 100)


def two_products_kg_ha(
    need: Mapping[str, float], first: Mapping[str, float], by: str, second: Mapping[str, float]
) -> tuple[float, float]:
    """Rates of two products: the first for one nutrient, the second for the nitrogen still lacking.

    Args:
        need: kg/ha of ``by`` and of N.
        first: percentages of the product that brings ``by``.
        by: the nutrient that it is taken for.
        second: percentages of the one that brings the rest of the nitrogen.
    """
    one = rate_kg_ha(need[by], first[by])
    lacking = max(need["N"] - one * first.get("N", 0.0) / 100, 0.0)
    return one, rate_kg_ha(lacking, second["N"])
