"""What is worth going back for, out of the service's ``worth``: for lists and for what is next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

ASK = "ask first"
"""The label of what an open answer may close."""
#: In a list those driven to come first, in that order; then these.
_AFTER = (ASK, "your call", "look first", "leave")


@dataclass(frozen=True)
class Going:
    """What a list needs of the worth: the patches in driving order, and the label of each.

    ``order`` holds every patch that was weighed, those driven to first and in that order;
    ``first`` is the first one worth it on the way, entered from the side ``from_side``.
    ``minutes`` and ``net`` are without what is to be asked about first.
    Money is in the farm's currency, ``currency`` may be empty.
    """

    order: tuple[int, ...]
    labels: Mapping[int, str]
    minutes: float
    worth_m2: float
    net: float
    later: str
    later_net: float
    trip_min: float
    currency: str
    examples: tuple[str, ...]
    first: int | None = None
    from_side: str = ""

    def of(self, label: str) -> tuple[int, ...]:
        """The patches with a label, in order."""
        return tuple(n for n in self.order if self.labels[n] == label)

    def borrowed(self) -> str:
        """Which of the figures are an invented farm's, in words; empty where all are its own."""
        prices = [name for name in self.examples if name != "trip_min"]
        count = f"{len(prices)} of the prices" if len(prices) > 1 else "One of the prices"
        said = [count] if prices else []
        said += ["the time of the road"] if "trip_min" in self.examples else []
        many = len(said) > 1 or len(prices) > 1
        told = " and ".join(said)
        are = "are examples" if many else "is an example"
        return f"{told[0].upper()}{told[1:]} {are}: set your own." if said else ""

    def money(self, value: float) -> str:
        """An amount to two figures, such as ``about C$ 290``: prices are guesses too."""
        sign = "−" if value <= -0.5 else ""
        step = 10 ** max(len(f"{abs(value):.0f}") - 2, 0)
        return f"about {sign}{f'{self.currency[:12]} {round(abs(value) / step) * step}'.strip()}"


def going_of(worth: Mapping[str, Any] | None) -> Going | None:
    """The worth for a list; None where nothing was weighed."""
    now = (worth or {}).get("now")
    if worth is None or now is None:
        return None
    groups: Sequence[Mapping[str, Any]] = now["groups"]
    labels = {n: str(g["label"]) for g in groups for n in g["patches"]}
    driven = [n for s in now["stops"] for n in groups[s["group"]]["patches"]]
    rest = [n for label in _AFTER for n, its in labels.items() if its == label]
    later = worth["later"]
    sure = [s for s in now["stops"] if groups[s["group"]]["label"] != ASK]
    start = sure[0]["run"] if sure else {}
    asked = {s["group"] for s in now["stops"]} - {s["group"] for s in sure}
    return Going(
        order=tuple(dict.fromkeys([*driven, *rest, *labels])),
        labels=labels,
        minutes=now.get("sure_s", now["seconds"]) / 60,
        worth_m2=now["worth_m2"],
        net=now["net"] - sum(groups[index]["net"] for index in asked),
        later=later["label"],
        later_net=later["net"],
        trip_min=worth["trip_s"] / 60,
        currency=str(worth.get("currency") or ""),
        examples=tuple(worth.get("examples") or ()),
        first=min(map(int, start.get("covers") or ()), default=None),
        from_side=str(start.get("from_side") or ""),
    )
