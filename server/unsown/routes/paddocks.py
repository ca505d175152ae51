"""Paddocks with their keep-outs, by version: never edited, superseded."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

paddocks = Blueprint("paddocks", __name__)
_PATH = {"id": shapes.ID}
_LISTED = ("id", "name", "version", "net_ha", "keep_out_ha", "boundary", "bounds", "away")


@route(
    paddocks,
    "GET",
    "/api/paddocks",
    Spec(
        "Every paddock in use, without its shape",
        "look",
        query={"away": {"enum": ["yes", "no"], "description": "yes: those put away too"}},
        gives={200: shapes.array(shapes.PADDOCK)},
    ),
)
def every(ask: Ask) -> list[dict[str, Any]]:
    """By name."""
    rows = ask.farm.paddocks(away=ask.query["away"] == "yes")
    return [{key: row[key] for key in _LISTED if key in row} for row in rows]


@route(
    paddocks,
    "POST",
    "/api/paddocks",
    Spec(
        "Keep a new paddock: a boundary feature, then its keep-outs",
        "desk",
        body=shapes.closed({"geojson": shapes.GEOJSON}, {"why": shapes.WHY}),
        gives={201: shapes.SAVED},
        also=(422,),
    ),
)
def make(ask: Ask) -> Any:
    """Says what was put right in its shape."""
    return ask.farm.save_paddock(None, ask.body["geojson"], None, ask.body.get("why", ""))


@route(
    paddocks,
    "GET",
    "/api/paddocks/<id>",
    Spec(
        "One paddock with its shape and history",
        "look",
        path=_PATH,
        query={"version": shapes.VERSION},
        gives={200: shapes.PADDOCK},
        packs=True,
    ),
)
def one(ask: Ask, id: str) -> dict[str, Any]:
    """The newest version, or the one named."""
    found = ask.farm.paddock(id, ask.query["version"])
    return {**found, "history": ask.farm.paddock_history(id)}


@route(
    paddocks,
    "PUT",
    "/api/paddocks/<id>",
    Spec(
        "Keep a newer version of a paddock",
        "desk",
        path=_PATH,
        body=shapes.closed(
            {"based_on": shapes.VERSION, "geojson": shapes.GEOJSON}, {"why": shapes.WHY}
        ),
        gives={200: shapes.SAVED},
        also=(409, 422),
    ),
)
def change(ask: Ask, id: str) -> Any:
    """What was computed with the older version is computed anew."""
    body = ask.body
    return ask.farm.save_paddock(id, body["geojson"], body["based_on"], body.get("why", ""))


@route(
    paddocks,
    "DELETE",
    "/api/paddocks/<id>",
    Spec("Put a paddock away: hidden, not removed", "desk", path=_PATH),
)
def away(ask: Ask, id: str) -> None:
    """Its log stays."""
    ask.farm.put_away(id)


@route(
    paddocks,
    "POST",
    "/api/paddocks/<id>/back",
    Spec("Bring a paddock back that was put away", "desk", path=_PATH),
)
def back(ask: Ask, id: str) -> None:
    """As it was."""
    ask.farm.put_away(id, back=True)
