"""Runners of the stages that say what a driver hands over: steps, lines, script, spoken words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from unsown.core.balance import Rate
from unsown.core.handover import Aboard, Beside, Spot, Unclosed, steps
from unsown.core.ledger import Fill, Seeded, ledger
from unsown.core.place import Place
from unsown.formats.eight import eight
from unsown.formats.handed import from_json
from unsown.formats.script import MOST, script, spoken
from unsown.formats.units import Units

Case = Mapping[str, Any]


def spots(given: list[Case]) -> tuple[Spot, ...]:
    return tuple(Spot(**{**s, "place": Place(**s["place"])}) for s in given)


def seamed(given: Case) -> Unclosed:
    return Unclosed(**{**given, "rigs": tuple(given["rigs"])})


def clock(t_ms: int) -> str:
    return f"{datetime.fromtimestamp(t_ms / 1000, UTC):%H:%M}"


def handing(given: Case, expect: Case, tolerance: Case) -> None:
    h, units = from_json(given["handover"]), Units(given["acres"])
    assert [list(line) for line in eight(h, units, clock)] == expect["lines"]
    said = script(h, units)
    assert said == expect["script"]
    assert spoken(said) == expect["spoken"] <= MOST


def stepping(given: Case, expect: Case, tolerance: Case) -> None:
    labels = given["labels"]
    beside = Beside(
        "",
        aboard=tuple(Aboard(**a) for a in given["aboard"]),
        labels=None if labels is None else {int(n): label for n, label in labels.items()},
        minutes=given["minutes"],
    )
    found = steps(
        *(spots(given[key]) for key in ("rest", "loose", "look")),
        beside,
        given["questions"],
        given["doubt_ha"],
        [seamed(each) for each in given["seams"]],
    )
    assert [step.todo for step in found] == [step["todo"] for step in expect["steps"]]
    for step, wanted in zip(found, expect["steps"], strict=True):
        assert list(step.patches) == wanted["patches"]
        assert abs(step.area_m2 - wanted["area_m2"]) <= tolerance["square_metres"]
        assert (step.minutes, step.product, step.side) == (
            *(wanted["minutes"], wanted["product"], wanted["side"]),
        )
        assert step.seam == (wanted["seam"] and seamed(wanted["seam"]))


def speaking(given: Case, expect: Case, tolerance: Case) -> None:
    assert spoken(given["text"]) == expect["words"]


def filling(given: Case, expect: Case, tolerance: Case) -> None:
    seeded = Seeded(np.asarray(given["t_s"]), np.asarray(given["ha"]))
    card = given["card_kg_ha"]
    made = ledger(
        [Fill(**fill) for fill in given["fills"]],
        seeded,
        None if card is None else Rate.calibrated(card),
        given["now_s"],
    )
    near = tolerance["part"]
    for row, wanted in zip(made.rows, expect["rows"], strict=True):
        for key in ("seeded_ha", "before", "used", "rate", "level"):
            alike(getattr(row, key), wanted[key], near)
        alike(row.out and [row.out.from_s, row.out.at_s, row.out.to_s], wanted["out_s"], near)
    alike(made.now and made.now.kg, expect["now_kg"], near)
    alike(made.mean, expect["mean_kg_ha"], near)


def alike(found: Any, wanted: Any, part: float) -> None:
    """The same numbers, or nothing where nothing is wanted; lists one by one."""
    if isinstance(found, list) and isinstance(wanted, list):
        for one, other in zip(found, wanted, strict=True):
            alike(one, other, part)
        return
    assert found == (None if wanted is None else pytest.approx(wanted, rel=part, abs=1e-9))


STAGES: dict[str, Callable[[Case, Case, Case], None]] = {
    "handover": handing,
    "steps": stepping,
    "spoken": speaking,
    "ledger": filling,
}
