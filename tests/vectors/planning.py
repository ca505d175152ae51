"""Planning figures, asked by the vectors; and their files, written from published values.

``python tests/vectors/planning.py`` writes the folder anew.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from unsown.core.bulk import kg_m3, weight_t
from unsown.core.fuel import at_load_l_h, average_l_h, litres_ha
from unsown.core.headland import fishtail, turn
from unsown.core.nutrient import PRODUCTS, nutrients_kg_ha, rate_kg_ha, two_products_kg_ha

Case = Mapping[str, Any]
FOLDER = Path(__file__).parent / "planning"


def _answer(of: str, given: list[Any]) -> list[float]:
    plain = {"year": average_l_h, "load": at_load_l_h, "hectare": litres_ha, "bushel": kg_m3}
    if of in plain:
        return [plain[of](*given)]  # type: ignore[operator]
    if of == "volume":
        return [weight_t(*given)]
    if of == "turn":
        found = turn(*given)
        return [found.length_m, found.depth_m]
    if of == "fishtail":
        found = fishtail(*given)
        return [found.length_m, found.depth_m]
    if of == "brings":
        return list(nutrients_kg_ha(PRODUCTS[given[0]], given[1]).values())
    if of == "rate":
        return [rate_kg_ha(*given)]
    assert of == "two products"
    need, first, by, second = given
    return list(two_products_kg_ha(need, PRODUCTS[first], by, PRODUCTS[second]))


def asked(given: Case, expect: Case, tolerance: Case) -> None:
    found = _answer(given["of"], given["values"])
    assert found == pytest.approx(expect["numbers"], abs=tolerance["numbers"])


STAGES = {"planning": asked}

#: Name, why, formula, what goes in, what must come out, how close.
CASES: tuple[tuple[str, str, str, list[Any], list[float], float], ...] = (
    ("year", "Grisso, quoting ASAE EP496.3: 100 kW, 22.3 L/h.", "year", [100], [22.3], 1e-9),
    ("load", "Grisso, Kocher and Vaughan 2004: 40.8 L/h.", "load", [150, 0.8], [40.8], 0.05),
    ("hectare", "40.8 L/h at 6.72 ha/h.", "hectare", [40.8, 6.72], [6.0714], 1e-4),
    ("wheat", "Storage factsheet: 124 m³ of wheat, 93 t.", "volume", [124, "wheat"], [93.0], 1e-9),
    ("barley", "The same store of barley.", "volume", [124, "barley"], [76.88], 1e-9),
    ("bushel", "60 lb in a US bushel, by definition.", "bushel", [60], [772.31], 0.011),
    ("brings", "DAP is 18-46.", "brings", ["DAP", 184.7826], [33.2609, 85.0], 1e-3),
    ("urea", "50 kg of N from urea.", "rate", [50, 46], [108.696], 1e-3),
    (
        *("two", "A worked example prints 185 and 37.", "two products"),
        *([{"N": 50, "P2O5": 85}, "DAP", "P2O5", "urea"], [184.78, 36.39], 0.01),
    ),
    (
        *("enough", "No nitrogen lacks.", "two products"),
        *([{"N": 10, "P2O5": 85}, "DAP", "P2O5", "urea"], [184.78, 0.0], 0.01),
    ),
    ("loop", "Integrated apart: r 10, spacing 12.", "turn", [10, 12], [57.1559708876, 22.0], 1e-8),
    ("wide", "Two quarters and a straight.", "turn", [10, 24], [35.4159265359, 10.0], 1e-9),
    ("fishtail", "Two quarters and back.", "fishtail", [10, 12], [39.4159265359, 10.0], 1e-9),
)


def write() -> None:
    FOLDER.mkdir(exist_ok=True)
    for name, why, of, values, numbers, within in CASES:
        case = {
            "why": why,
            "given": {"of": of, "values": values},
            "expect": {"numbers": numbers},
            "tolerance": {"numbers": within},
        }
        text = json.dumps(case, ensure_ascii=False) + "\n"
        (FOLDER / f"{name}.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write()
