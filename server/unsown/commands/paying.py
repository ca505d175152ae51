"""What is worth going back for, as ``unsown find --back`` says it, at the prices given."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Any

from unsown.core.errors import UnsownError
from unsown.core.price import EXAMPLE, EXAMPLE_TRIP_MIN, Prices

if TYPE_CHECKING:
    from unsown.commands.find import Day
    from unsown.core.plane import Plane
    from unsown.core.words import Tally

TRIP = "trip_min"


def prices(given: Sequence[str]) -> tuple[Prices, float, tuple[str, ...]]:
    """Prices from texts such as ``seed_price_kg=0.46``; minutes of the road; what is an example.

    Raises:
        UnsownError: a text names no price, or gives no number from 0.
    """
    own: dict[str, float] = {}
    known = (*asdict(EXAMPLE), TRIP)
    for text in given:
        name, _, value = text.partition("=")
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if name not in known or not 0 <= number < 1e9:
            raise UnsownError(
                "price",
                f"A price such as seed_price_kg=0.46 was expected; {text!r} came.",
                where="--price",
                hint="Known: " + ", ".join(known) + ".",
            )
        own[name] = number
    trip = own.get(TRIP, EXAMPLE_TRIP_MIN)
    made = replace(EXAMPLE, **{name: value for name, value in own.items() if name != TRIP})
    return made, trip, tuple(name for name in known if name not in own)


def to_object(
    given: Sequence[str], tally: Tally, plane: Plane, day: Day, *, acres: bool
) -> dict[str, Any]:
    """The key ``worth`` of ``--back --json``; docs/reference/json.md has every part.

    ``acres``: its sentences are for people who count in acres and feet.
    """
    from unsown.core.back import back, way_out  # noqa: PLC0415
    from unsown.formats.going import to_worth  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    at, trip, examples = prices(given)
    gate, which = way_out(tally, plane, day.log.fixes, day.paddock.gates)
    found = back(tally, day.rigs, at, gate, trip * 60)
    said = to_worth(found, tally, plane, (), Units(acres), gate=which)
    return {**said, "examples": list(examples)}
