"""The farm's settings: strictly checked, kept by version, with defaults for what was never set."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import time
from typing import Any
from zoneinfo import available_timezones

from sqlalchemy import Connection
from tzlocal import get_localzone_name

from unsown.service.calendar import Calendar
from unsown.service.things import Saved
from unsown.service.words import FarmError
from unsown.store import things
from unsown.store.store import Store

FARM = "farm"
"""The id of the one settings there are."""

PRICES = (
    *("seed_kg_ha", "seed_price_kg", "fert_kg_ha", "fert_price_kg", "fuel_l_ha", "fuel_price_l"),
    *("tractor_h", "yield_t_ha", "grain_price_t", "weed_penalty_ha"),
)
DEFAULTS: Mapping[str, Any] = {
    "farm": None,
    "units": "ha",
    "land": "paddock",
    "zone": "UTC",  # in place of it: the zone of the computer the store was made on
    "day_start": "04:00",
    "currency": "",
    "prices": dict.fromkeys(PRICES),
}
_CHOICES = {"units": ("ha", "ac"), "land": ("paddock", "field")}
_ZONE = "zone"


def settle_zone(store: Store, conn: Connection, zone: str | None) -> None:
    """Keeps the zone that days are counted in until one is set: this computer's, or ``zone``.

    It is kept, so that a farm's days do not move with the computer.
    """
    if store.fact(conn, _ZONE) is None:
        known = zone or get_localzone_name()
        store.set_fact(conn, _ZONE, known if known in available_timezones() else "UTC")


def settings(store: Store) -> dict[str, Any]:
    """The farm's settings with the defaults for what was never set, and their ``version``."""
    with store.read() as conn:
        found = things.get(conn, "settings", FARM)
        zone = store.fact(conn, _ZONE, "UTC")
    body = found.body if found else {}
    out = {**DEFAULTS, "zone": zone, **{k: v for k, v in body.items() if k in DEFAULTS}}
    out["prices"] = {**DEFAULTS["prices"], **(body.get("prices") or {})}
    return {"version": found.version if found else 0, **out}


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
        if key in ("version", "based_on"):
            continue
        new[key] = _setting(key, value, now)
    with store.write() as conn:
        things.save(conn, "settings", FARM, "settings", new, {}, "", based_on, now_ms)
        made = things.get(conn, "settings", FARM)
        if made and (new["zone"], new["day_start"]) != (now["zone"], now["day_start"]):
            saved(conn, made)
    return settings(store)


def calendar(store: Store) -> Calendar:
    """How the farm counts its days."""
    found = settings(store)
    return Calendar(found["zone"], found["day_start"])


def _setting(key: str, value: Any, now: Mapping[str, Any]) -> Any:
    def bad(expected: str) -> FarmError:
        return FarmError("bad-value", f"{key}: {expected} was expected; {value!r} came.", where=key)

    if key in _CHOICES:
        if value not in _CHOICES[key]:
            raise bad(" or ".join(_CHOICES[key]))
    elif key == "zone":
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
    elif key == "prices":
        return {**now["prices"], **_prices(value)}
    else:
        raise FarmError(
            "bad-value",
            f"Unknown setting {key!r}.",
            where=key,
            hint="Known: " + ", ".join(DEFAULTS) + ".",
        )
    return value


def _prices(value: Any) -> dict[str, float | None]:
    if not isinstance(value, Mapping):
        raise FarmError("bad-value", "prices: an object was expected.", where="prices")
    for key, number in value.items():
        fine = isinstance(number, int | float) and not isinstance(number, bool)
        if key not in PRICES or not (number is None or (fine and 0 <= number < 1e9)):
            raise FarmError(
                "bad-value",
                f"prices.{key}: a number from 0 or null was expected; {number!r} came.",
                where=f"prices.{key}",
                hint="Known: " + ", ".join(PRICES) + ".",
            )
    return dict(value)
