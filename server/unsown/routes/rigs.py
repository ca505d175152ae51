"""Rig cards by version, with their sketch to scale."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, make_response

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

rigs = Blueprint("rigs", __name__)
_PATH = {"id": shapes.ID}
_VALUE = {"type": ["number", "string", "null"]}
_CARD = {
    "type": "object",
    "maxProperties": 20,
    "additionalProperties": {
        "anyOf": [_VALUE, {"type": "object", "maxProperties": 40, "additionalProperties": _VALUE}]
    },
    "description": "the keys of docs/reference/rig-card.md, its tables as objects",
}


@route(
    rigs,
    "GET",
    "/api/rigs",
    Spec(
        "Every rig card in use",
        "look",
        query={"away": {"enum": ["yes", "no"], "description": "yes: those put away too"}},
        gives={200: shapes.array(shapes.RIG)},
    ),
)
def every(ask: Ask) -> list[dict[str, Any]]:
    """By name."""
    found: list[dict[str, Any]] = ask.farm.rigs(away=ask.query["away"] == "yes")
    return found


@route(
    rigs,
    "POST",
    "/api/rigs",
    Spec(
        "Keep a new rig card",
        "desk",
        body=shapes.closed({"card": _CARD}, {"why": shapes.WHY}),
        gives={201: shapes.SAVED},
        also=(422,),
    ),
)
def make(ask: Ask) -> Any:
    """Says which defaults change an answer."""
    return ask.farm.save_rig(None, ask.body["card"], None, ask.body.get("why", ""))


@route(
    rigs,
    "GET",
    "/api/rigs/<id>",
    Spec(
        "One rig card with its history",
        "look",
        path=_PATH,
        query={"version": shapes.VERSION},
        gives={200: shapes.RIG},
    ),
)
def one(ask: Ask, id: str) -> dict[str, Any]:
    """The newest version, or the one named."""
    found = ask.farm.rig(id, ask.query["version"])
    return {**found, "history": ask.farm.rig_history(id)}


@route(
    rigs,
    "PUT",
    "/api/rigs/<id>",
    Spec(
        "Keep a newer version of a rig card",
        "desk",
        path=_PATH,
        body=shapes.closed({"based_on": shapes.VERSION, "card": _CARD}, {"why": shapes.WHY}),
        gives={200: shapes.SAVED},
        also=(409, 422),
    ),
)
def change(ask: Ask, id: str) -> Any:
    """What was computed with the older version is computed anew."""
    body = ask.body
    return ask.farm.save_rig(id, body["card"], body["based_on"], body.get("why", ""))


@route(rigs, "DELETE", "/api/rigs/<id>", Spec("Put a rig card away", "desk", path=_PATH))
def away(ask: Ask, id: str) -> None:
    """Hidden, not removed."""
    ask.farm.put_rig_away(id)


@route(rigs, "POST", "/api/rigs/<id>/back", Spec("Bring a rig card back", "desk", path=_PATH))
def back(ask: Ask, id: str) -> None:
    """As it was."""
    ask.farm.put_rig_away(id, back=True)


@route(
    rigs,
    "GET",
    "/api/rigs/<id>/sketch.svg",
    Spec(
        "The rig drawn to scale from its card",
        "look",
        path=_PATH,
        query={"version": shapes.VERSION},
        gives={200: "image/svg+xml"},
    ),
)
def sketch(ask: Ask, id: str) -> Response:
    """Side view and plan."""
    from unsown.formats.rig import read_rig  # noqa: PLC0415 - drawing loads much
    from unsown.formats.sketch import draw_rig  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    found = ask.farm.rig(id, ask.query["version"])
    units = Units(ask.farm.settings()["units"] == "ac")
    drawn = draw_rig(read_rig(found["toml"].encode(), found["name"]), units)
    response = make_response(drawn)
    response.content_type = "image/svg+xml"
    return response
