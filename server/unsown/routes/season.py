"""What is held of a season, and forgetting it for good."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

season = Blueprint("season", __name__)
_PATH = {"year": shapes.SEASON}


@route(
    season,
    "GET",
    "/api/season/<year>",
    Spec(
        "What is held of a season, and what forgetting it would remove",
        "desk",
        path=_PATH,
        gives={200: {"type": "object"}},
    ),
)
def show(ask: Ask, year: str) -> dict[str, Any]:
    """To be shown before anybody agrees."""
    found: dict[str, Any] = ask.farm.season(int(year))
    return found


@route(
    season,
    "DELETE",
    "/api/season/<year>",
    Spec(
        "Forget a season for good; a stone stays, so that no phone brings it back",
        "desk",
        path=_PATH,
        body=shapes.closed({"confirm": shapes.text(10, description="the year, in digits")}),
        gives={200: {"type": "object"}},
        also=(422,),
    ),
)
def forget(ask: Ask, year: str) -> dict[str, Any]:
    """What was removed."""
    found: dict[str, Any] = ask.farm.forget_season(int(year), ask.body["confirm"])
    return found
