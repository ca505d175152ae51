"""What was wasted, in kilograms, litres, hours and money, at the farm's prices of now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from unsown.core.waste import cost
from unsown.service.task import Costs

#: Money is told to this many places: it rests on areas that are known to a few per cent.
_PLACES = 2
_AREAS = ("again_ha", "low_ha", "high_ha", "wished_ha", "unexplained_ha")


def priced(waste: Mapping[str, Any], costs: Costs, pace_ha_h: float) -> dict[str, Any]:
    """The waste with what each of its areas cost, and whose prices that is reckoned with.

    Args:
        waste: ``again_ha`` with its band, ``causes``, ``wished_ha``, ``unexplained_ha``.
        costs: the farm's prices, examples where it set none.
        pace_ha_h: hectares an hour, stops included.
    """
    areas = {key.removesuffix("_ha"): float(waste[key]) for key in _AREAS}
    return {
        **waste,
        "pace_ha_h": round(pace_ha_h, 3),
        "cost": {name: _cost(ha, costs, pace_ha_h) for name, ha in areas.items()},
        "cause_cost": {
            name: _cost(float(ha), costs, pace_ha_h) for name, ha in waste["causes"].items()
        },
        "currency": costs.currency,
        "examples": list(costs.examples),
    }


def _cost(ha: float, costs: Costs, pace_ha_h: float) -> dict[str, float]:
    found = asdict(cost(ha, costs.prices, pace_ha_h))
    return {key: round(value, _PLACES) for key, value in found.items()}


def together(shorts: Iterable[Mapping[str, Any]]) -> dict[str, Any] | None:
    """The waste of several works as one; None where none of them tells any.

    Bands, and how far each cause may be off, are added as if all erred the same way: a season's
    can only be narrower.
    """
    known = [each for each in shorts if "again_ha" in each]
    if not known:
        return None
    names = list(known[0]["causes"])
    sown = sum(each["sown_ha"] + each["part_ha"] + each["outside_ha"] for each in known)
    out = {key: round(sum(each[key] for each in known), 5) for key in _AREAS}
    # works kept from before the causes had a spread tell none
    spread = [each["spread_ha"] for each in known if "spread_ha" in each]
    whole = {n: round(sum(each.get(n, 0.0) for each in spread), 5) for n in names}
    return {
        **out,
        **({"spread_ha": whole} if len(spread) == len(known) else {}),
        "share": round(out["again_ha"] / sown, 5) if sown > 0 else 0.0,
        "causes": {n: round(sum(each["causes"].get(n, 0.0) for each in known), 5) for n in names},
        "finished": all(each["finished"] for each in known),
        "sown_ha": round(sum(each["sown_ha"] for each in known), 5),
        "paddocks": len(known),
    }


def pace_of(shorts: Iterable[Mapping[str, Any]]) -> float | None:
    """Hectares an hour over several works, by what each sowed; None where none tells any."""
    known = [e for e in shorts if e.get("pace_ha_h") and e["sown_ha"] > 0]
    hours = sum(each["sown_ha"] / each["pace_ha_h"] for each in known)
    return sum(each["sown_ha"] for each in known) / hours if hours > 0 else None


def order_for(net_ha: float, share: float, costs: Costs) -> dict[str, Any]:
    """What to order for so much net ground with the farm's own part sown again.

    ``share`` is what was sown again by what was sown. Rates that the farm has not set are left out:
    an example is nothing to order by.
    """
    seeded = net_ha * (1 + share)
    rates = {"seed": "seed_kg_ha", "fertiliser": "fert_kg_ha", "fuel": "fuel_l_ha"}
    return {
        "net_ha": round(net_ha, 2),
        "share": round(share, 5),
        "seeded_ha": round(seeded, 2),
        "needs": [
            {
                "product": product,
                "unit": "l" if product == "fuel" else "kg",
                "rate": getattr(costs.prices, name),
                "amount": round(seeded * getattr(costs.prices, name), 1),
            }
            for product, name in rates.items()
            if name not in costs.examples
        ],
        "unknown": [product for product, name in rates.items() if name in costs.examples],
    }
