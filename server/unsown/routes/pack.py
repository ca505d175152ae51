"""The farm pack: what a phone carries to the paddock, where there is no signal."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

pack = Blueprint("pack", __name__)
_LAND = {"description": "the paddock as it was read: rings of [lon, lat] in degrees, open"}
_CHAIN = {"description": "its versions that hold at any time, the earliest first"}
_PADDOCK = {"allOf": [shapes.PADDOCK, shapes.obj({"land": {**shapes.ANY, **_LAND}})]}
_RIG = {
    "allOf": [
        shapes.RIG,
        shapes.obj({"made_ms": shapes.MS, "chain": {**shapes.array(shapes.ANY), **_CHAIN}}),
    ]
}
_SHAPE = shapes.obj(
    {
        "season": shapes.SEASON,
        "settings": shapes.SETTINGS,
        "paddocks": shapes.array(_PADDOCK),
        "rigs": shapes.array(_RIG),
        "ground": {"type": "object", "additionalProperties": {"type": "object"}},
    }
)


@route(
    pack,
    "GET",
    "/api/pack",
    Spec(
        "Paddocks, rig cards, settings, and the ground so far by paddock",
        "look",
        query={"season": shapes.SEASON},
        gives={200: _SHAPE},
        packs=True,
    ),
)
def carry(ask: Ask) -> Any:
    """The newest season where none is named."""
    farm = ask.farm
    return farm.pack(farm.board(ask.query["season"])["season"])
