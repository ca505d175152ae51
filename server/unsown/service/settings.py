"""The farm's settings: strictly checked, kept by version, with defaults for what was never set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import time
from typing import Any
from zoneinfo import available_timezones

from sqlalchemy import Connection
from tzlocal import get_localzone_name

from unsown.core.price import EXAMPLE, EXAMPLE_TRIP_MIN, Prices
from unsown.service.calendar import Calendar
from unsown.service.task import Costs
from unsown.service.things import Saved
from unsown.service.words import FarmError
from unsown.store import things
from unsown.store.store import Store
from unsown.store.things import Thing

FARM = "farm"
"""The id of the one settings there are."""

PRICES = tuple(asdict(EXAMPLE))
#: What stands in where nothing is set: an invented farm's, and always told as such.
EXAMPLES: Mapping[str, Any] = {"prices": asdict(EXAMPLE), "trip_min": EXAMPLE_TRIP_MIN}
DEFAULTS: Mapping[str, Any] = {
    "farm": None,
    "units": "ha",
    "land": "paddock",
    "zone": "UTC",  # in place of it: the zone of the computer the store was made on
    "day_start": "04:00",
    "currency": "",
    "prices": dict.fromkeys(PRICES),
    "trip_min": None,
}
_CHOICES = {"units": ("ha", "ac"), "land": ("paddock", "field")}
_ZONE = "zone"
#: What a change of has something computed anew.
DAYS, MONEY = ("zone", "day_start"), ("prices", "trip_min")
_COMPUTED = (*DAYS, *MONEY)


def settle_zone(store: Store, conn: Connection, zone: str | None) -> None:
    """Keeps the zone that days are counted in until one is set: this computer's, or ``zone``.

    It is kept, so that a farm's days do not move with the computer.
    """
    if store.fact(conn, _ZONE) is None:
        known = zone or get_localzone_name()
        store.set_fact(conn, _ZONE, known if known in available_timezones() else "UTC")


def settings(store: Store) -> dict[str, Any]:
    """The farm's settings with the defaults for what was never set, and their ``version``.

    ``example`` is what stands in for a price that was never set; it cannot be saved.
    """
    with store.read() as conn:
        return settings_in(store, conn)


def settings_in(store: Store, conn: Connection) -> dict[str, Any]:
    """The same within a transaction."""
    found = things.get(conn, "settings", FARM)
    body = found.body if found else {}
    out = {
        **DEFAULTS,
        "zone": store.fact(conn, _ZONE, "UTC"),
        **{k: v for k, v in body.items() if k in DEFAULTS},
        "example": EXAMPLES,
    }
    out["prices"] = {**DEFAULTS["prices"], **(body.get("prices") or {})}
    return {"version": found.version if found else 0, **out}


def costs(found: Mapping[str, Any]) -> Costs:
    """What money is reckoned with: the farm's own, an example where it set none.

    Args:
        found: the settings.
    """
    given = found["prices"]
    own = {key: given.get(key) for key in PRICES}
    prices = Prices(**{k: EXAMPLES["prices"][k] if v is None else v for k, v in own.items()})
    trip = found["trip_min"]
    missing = [key for key, value in own.items() if value is None]
    return Costs(
        prices,
        60.0 * (EXAMPLE_TRIP_MIN if trip is None else trip),
        (*missing, *(["trip_min"] if trip is None else [])),
        str(found["currency"]),
    )


def costs_in(conn: Connection, season: int, calendar: Calendar) -> Costs:
    """The same for one season: as it was set last before that season ended.

    So a season keeps its prices, whatever is set later. One that ended before any was set is
    reckoned with those of now.
    """
    versions = things.history(conn, "settings", FARM)
    if season > 0:
        then = [t for t in versions if t.made_ms < calendar.span_ms(season)[1]]
        versions = then if any(map(_priced, then)) else versions
    body = versions[-1].body if versions else {}
    return costs({"prices": {}, "trip_min": None, "currency": "", **body})


def seasons_of(conn: Connection, saved: Thing) -> tuple[int, int]:
    """Which seasons a change of prices is for: those from one on, and those before another."""
    calendar = Calendar(saved.body["zone"], saved.body["day_start"])
    first = next((t for t in things.history(conn, "settings", FARM) if _priced(t)), saved)
    return calendar.season(saved.made_ms), calendar.season(first.made_ms)


def _priced(version: Thing) -> bool:
    money = [*(version.body.get("prices") or {}).values(), version.body.get("trip_min")]
    return any(value is not None for value in money)


def save_settings(
    store: Store, given: Mapping[str, Any], based_on: int | None, now_ms: int, saved: Saved
) -> dict[str, Any]:
    """Keeps the settings that were given over those that are; returns all of them.

    Raises:
        FarmError: ``bad-value``.
        StoreError: ``version-old``.
    """
    now = settings(store)
    new = {k: now[k] for k in DEFAULTS}
    for key, value in given.items():
        if key in ("version", "based_on", "example"):
            continue
        new[key] = _setting(key, value, now)
    with store.write() as conn:
        facts = {"changed": [key for key in _COMPUTED if new[key] != now[key]]}
        things.save(conn, "settings", FARM, "settings", new, facts, "", based_on, now_ms)
        made = things.get(conn, "settings", FARM)
        if made and facts["changed"]:
            saved(conn, made)
    return settings(store)


def calendar(store: Store) -> Calendar:
    """How the farm counts its days."""
    found = settings(store)
    return Calendar(found["zone"], found["day_start"])


def _setting(key: str, value: Any, now: Mapping[str, Any]) -> Any:
    def bad(expected: str) -> FarmError:
        return FarmError("bad-value", f"{key}: {expected} was expected; {value!r} came.", where=key)

    if key in _CHOICES and value not in _CHOICES[key]:
        raise bad(" or ".join(_CHOICES[key]))
    if key == "zone":
        if not isinstance(value, str) or value not in available_timezones():
            raise bad("a time zone such as America/Regina")
    elif key == "day_start":
        try:
            if time.fromisoformat(value).strftime("%H:%M") != value:
                raise ValueError
        except (ValueError, TypeError) as error:
            raise bad("a time of day such as 04:00") from error
    elif key in ("farm", "currency"):
        if not (value is None and key == "farm") and (
            not isinstance(value, str) or len(value) > 80
        ):
            raise bad("a text of at most 80 letters")
    elif key == "trip_min":
        if not _number(value, 1440.0):
            raise bad("minutes from 0 to 1440, or null,")
    elif key == "prices":
        return {**now["prices"], **_prices(value)}
    elif key not in _CHOICES:
        raise FarmError(
            "bad-value",
            f"Unknown setting {key!r}.",
            where=key,
            hint="Known: " + ", ".join(DEFAULTS) + ".",
        )
    return value


def _number(value: Any, most: float) -> bool:
    """Whether it is a number from 0, or null: not set."""
    fine = isinstance(value, int | float) and not isinstance(value, bool)
    return value is None or (fine and 0 <= value <= most)


def _prices(value: Any) -> dict[str, float | None]:
    if not isinstance(value, Mapping):
        raise FarmError("bad-value", "prices: an object was expected.", where="prices")
    for key, number in value.items():
        if key not in PRICES or not _number(number, 1e9 - 1):
            raise FarmError(
                "bad-value",
                f"prices.{key}: a number from 0 or null was expected; {number!r} came.",
                where=f"prices.{key}",
                hint="Known: " + ", ".join(PRICES) + ".",
            )
    return dict(value)
