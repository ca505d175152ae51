"""The farm's settings: units, words, day start, prices."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

settings = Blueprint("settings", __name__)
_PRICE = shapes.maybe({"type": "number", "minimum": 0, "exclusiveMaximum": 1e9})
_GIVEN = shapes.closed(
    {"based_on": shapes.BASED_ON},
    {
        "farm": shapes.maybe(shapes.text(80)),
        "units": {"enum": ["ha", "ac"]},
        "land": {"enum": ["paddock", "field"]},
        "zone": shapes.text(60, description="IANA time zone, such as America/Regina"),
        "day_start": {"type": "string", "pattern": r"^([01][0-9]|2[0-3]):[0-5][0-9]$"},
        "currency": shapes.text(80),
        "prices": {"type": "object", "additionalProperties": _PRICE},
        "trip_min": shapes.maybe({"type": "number", "minimum": 0, "maximum": 1440}),
    },
)


@route(
    settings,
    "GET",
    "/api/settings",
    Spec("The farm's settings", "look", gives={200: shapes.SETTINGS}),
)
def read(ask: Ask) -> dict[str, Any]:
    """All of them, defaults where nothing was set."""
    found: dict[str, Any] = ask.farm.settings()
    return found


@route(
    settings,
    "PUT",
    "/api/settings",
    Spec(
        "Set what is given, leave the rest",
        "desk",
        body=_GIVEN,
        gives={200: shapes.SETTINGS},
        also=(409, 422),
    ),
)
def write(ask: Ask) -> dict[str, Any]:
    """A new version of the settings."""
    given = dict(ask.body)
    found: dict[str, Any] = ask.farm.save_settings(given, given.pop("based_on"))
    return found
