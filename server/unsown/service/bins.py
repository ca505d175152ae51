"""What is on board by the fills of a work's log: the ledger of each product, ready for JSON."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from unsown.core.balance import LEVEL_KG, Rate
from unsown.core.handover import Aboard
from unsown.core.ledger import Fill, Ledger, Row, ledger, round_m, seeded_of
from unsown.core.words import Log, Mark, Tally
from unsown.service.runs import moment
from unsown.service.task import Costs

#: The price list's name of what a hectare gets, by product.
RATES = {"seed": "seed_kg_ha", "fertiliser": "fert_kg_ha", "fuel": "fuel_l_ha"}
#: How well a tank of fuel is read, L.
_TANK_L = 15.0


def bins(
    log: Log, tally: Tally, width_m: float, costs: Costs, pace_ha_h: float
) -> list[dict[str, Any]]:
    """Each product that was filled: its fills in order, the real rate, what is left and how far.

    ``card`` is None where the farm set no rate: an example is no rate to count a bin with.
    """
    t0, now_ms = int(np.min(log.fixes.t_ms)), _until(log)
    seeded, around = seeded_of(tally.ways), round_m(tally.ways)
    out = []
    for product, fills in sorted(_fills(log.marks, t0).items(), key=_place):
        card = _card(product, costs)
        sigma = _TANK_L if product == "fuel" else LEVEL_KG
        kept = ledger(fills, seeded, card, (now_ms - t0) / 1000, sigma)
        now = None
        if kept.now is not None:
            minutes, minutes_sigma = kept.now.minutes(pace_ha_h)
            now = {
                **{k: round(v, 3) for k, v in asdict(kept.now).items()},
                "ha_sure": round(_aboard(product, kept, None).ha_sure, 3),
                "minutes": round(minutes, 1),
                "minutes_sigma": round(minutes_sigma, 1),
                "rounds": None if around is None else kept.now.rounds(around, width_m),
            }
        out.append(
            {
                "product": product,
                "unit": unit(product),
                "card": None if card is None else card.kg_ha,
                "rate": None if kept.rate is None else round(kept.rate.kg_ha, 2),
                "rate_sigma": None if kept.rate is None else round(kept.rate.sigma_kg_ha, 2),
                "mean": None if kept.mean is None else round(kept.mean, 2),
                "mean_ha": round(kept.used_ha, 3),
                "round_m": None if around is None else round(around),
                "as_of_ms": now_ms,
                "fills": [_row(row, t0) for row in kept.rows],
                "now": now,
            }
        )
    return out


def aboard(found: Sequence[Mapping[str, Any]]) -> tuple[Aboard, ...]:
    """What is on board, as a handover says it."""
    return tuple(
        Aboard(
            each["product"],
            each["now"]["kg"],
            each["unit"],
            each["now"]["ha"],
            each["now"]["ha_sigma"],
            each["now"]["rounds"],
        )
        for each in found
        if each["now"] is not None
    )


def unit(product: str) -> str:
    """What a product is measured in."""
    return "l" if product == "fuel" else "kg"


def _card(product: str, costs: Costs) -> Rate | None:
    name = RATES.get(product)
    if name is None or name in costs.examples:
        return None
    value = getattr(costs.prices, name)
    return Rate.calibrated(value) if value > 0 else None


def _fills(marks: Sequence[Mark], t0_ms: int) -> dict[str, list[Fill]]:
    """Fills by product, in small letters. ``left`` and ``same_mark`` are as they were logged."""
    out: dict[str, list[Fill]] = {}
    for mark in marks:
        product = str(mark.says.get("product") or "").strip().lower()
        amount = _number(mark.says.get("l" if product == "fuel" else "kg"))
        if mark.kind == "fill" and product and amount is not None:
            left, same = _number(mark.says.get("left")), mark.says.get("same_mark") is True
            fill = Fill((mark.t_ms - t0_ms) / 1000, amount, left, same_mark=same)
            out.setdefault(product, []).append(fill)
    return out


def _number(value: Any) -> float | None:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if plain and np.isfinite(value) and value >= 0 else None


def _place(pair: tuple[str, list[Fill]]) -> tuple[int, str]:
    known = list(RATES)
    return (known.index(pair[0]) if pair[0] in known else len(known), pair[0])


def _row(row: Row, t0_ms: int) -> dict[str, Any]:
    """``used`` and ``rate`` None: nothing tells them. ``out``: where it ran empty after this."""

    def when(t_s: float | None) -> int | None:
        return None if t_s is None else moment(t0_ms, t_s)

    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 2)

    out = row.out
    return {
        "t_ms": moment(t0_ms, row.fill.t_s),
        "amount": row.fill.amount,
        "left": row.fill.left,
        "same_mark": row.fill.same_mark,
        "seeded_ha": round(row.seeded_ha, 3),
        "before": rounded(row.before),
        "used": rounded(row.used),
        "rate": rounded(row.rate),
        "level": rounded(row.level),
        "out": None if out is None else
        {"from_ms": when(out.from_s), "at_ms": when(out.at_s), "to_ms": when(out.to_s)},
    }  # fmt: skip


def _aboard(product: str, kept: Ledger, rounds: int | None) -> Aboard:
    assert kept.now is not None
    return Aboard(product, kept.now.kg, unit(product), kept.now.ha, kept.now.ha_sigma, rounds)


def _until(log: Log) -> int:
    """When the newest entry was made, UTC ms."""
    last = int(np.max(log.fixes.t_ms))
    return max([last, *(m.t_ms for m in log.marks)])
