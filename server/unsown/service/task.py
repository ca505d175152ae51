"""What the computing process is given and what it gives back: plain, so that it can be sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from unsown.core.price import EXAMPLE, EXAMPLE_TRIP_MIN, Prices
from unsown.core.words import Rig
from unsown.service.calendar import Calendar


@dataclass(frozen=True)
class Lines:
    """Lines of one writer, joined."""

    dev: str
    text: bytes


@dataclass(frozen=True)
class Costs:
    """What money is reckoned with. ``examples`` names what the farm has not set itself.

    ``trip_s`` is folding, the road there and back, and unfolding.
    """

    prices: Prices = EXAMPLE
    trip_s: float = 60.0 * EXAMPLE_TRIP_MIN
    examples: tuple[str, ...] = (*asdict(EXAMPLE), "trip_min")
    currency: str = ""


@dataclass(frozen=True)
class Added:
    """A keep-out that a version of the paddock brought: when it was saved, what it is."""

    made_ms: int
    what: str
    hazard: bool


@dataclass(frozen=True)
class Task:
    """One work to compute: the log's lines that may belong to it, its ground and its rigs.

    ``extra`` are lines that are not kept: what would be if they were. ``of_phones`` are the rigs
    by the phones that named them, for where several worked at once.
    """

    paddock: str
    season: int
    key: str
    geojson: Any
    lines: tuple[Lines, ...]
    rigs: tuple[Rig, ...]
    rig_versions: tuple[Mapping[str, Any], ...]
    calendar: Calendar
    notes: tuple[str, ...] = ()
    extra: tuple[Lines, ...] = ()
    costs: Costs = Costs()
    added: tuple[Added, ...] = ()
    of_phones: tuple[Rig, ...] = ()


@dataclass(frozen=True)
class Daily:
    """One day of a work: what the slip shows, and the time line."""

    day: str
    short: Mapping[str, Any]
    body: Mapping[str, Any]


@dataclass(frozen=True)
class Done:
    """What a work came to. ``state`` ``none``: nothing was sown there as far as is known."""

    state: Literal["none", "ready", "failed"]
    reason: Mapping[str, str] | None = None
    short: Mapping[str, Any] = field(default_factory=dict)
    body: Mapping[str, Any] | None = None
    ground: Mapping[str, Any] | None = None
    days: tuple[Daily, ...] = ()
    took_s: float = 0.0
