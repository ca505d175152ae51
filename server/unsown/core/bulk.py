"""What a volume of grain or fertiliser weighs, tonnes a cubic metre: planning figures, ± 5 %.

Of crops: a storage capacity factsheet (Australian; issuing agency not shown on the copy), so the
weight of a filled bin is only known as well as the seed in it; weigh a bucket where it matters.
"""

from __future__ import annotations

from unsown.core.errors import UnsownError

#: Tonnes a cubic metre.
T_M3 = {
    **{"wheat": 0.75, "barley": 0.62, "oats": 0.50, "canola": 0.67, "lupin": 0.75, "pea": 0.75},
    **{"faba bean": 0.75, "chickpea": 0.60, "rye": 0.71, "triticale": 0.69, "flax": 0.73},
    **{"safflower": 0.53},
}
#: A US bushel, m³, and a pound, kg.
BUSHEL_M3, LB_KG = 0.03523907, 0.45359237


def weight_t(volume_m3: float, crop: str) -> float:
    """What so many cubic metres of a crop weigh, t.

    Raises:
        UnsownError: the crop is not in the table.
    """
    if crop not in T_M3:
        raise UnsownError(
            "bulk-crop",
            f"expected one of {', '.join(T_M3)}, got {crop!r}",
            hint="Weigh a bucket of known volume instead.",
        )
    return volume_m3 * T_M3[crop]


def kg_m3(pounds_a_bushel: float) -> float:
    """A test weight in pounds a US bushel as kilograms a cubic metre."""
    return pounds_a_bushel * LB_KG / BUSHEL_M3


def kg_m3_of(pounds_a_cubic_foot: float) -> float:
    """Pounds a cubic foot as kilograms a cubic metre."""
    return pounds_a_cubic_foot * LB_KG / 0.3048**3
