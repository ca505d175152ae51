"""The farm pack: what a phone carries to the paddock, where there is no signal."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

pack = Blueprint("pack", __name__)
_SHAPE = shapes.obj(
    {
        "season": shapes.SEASON,
        "settings": shapes.SETTINGS,
        "paddocks": shapes.array(shapes.PADDOCK),
        "rigs": shapes.array(shapes.RIG),
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
def carry(ask: Ask) -> dict[str, Any]:
    """The newest season where none is named."""
    farm = ask.farm
    season = farm.board(ask.query["season"])["season"]
    paddocks = farm.paddocks()
    found = {row["id"]: farm.ground(row["id"], season) for row in paddocks}
    return {
        "season": season,
        "settings": farm.settings(),
        "paddocks": paddocks,
        "rigs": farm.rigs(),
        "ground": {id_: made for id_, made in found.items() if made is not None},
    }
