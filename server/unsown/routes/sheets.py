"""The printed pages: sheet, handover, day slip and their style; and fills typed in from paper."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, make_response
from flask import send_from_directory as send
from werkzeug.wrappers import Response as BaseResponse

from unsown.papers import STYLE, STYLE_PATH, fills, handover, sheet, slip
from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, packed, route
from unsown.service.farm import now_ms

sheets = Blueprint("sheets", __name__)
_ASK_AGAIN = "no-cache"
_COLUMN = shapes.obj(dict.fromkeys(("name", "head", "unit", "kind", "product"), shapes.TEXT))


def _shown(ask: Ask, id: str) -> dict[str, Any]:
    """A paddock's work with its ground, of the season that is asked for, else the newest."""
    season = ask.query["season"] or ask.farm.board(None)["season"]
    return {**ask.farm.work(id, season), "ground": ask.farm.ground(id, season)}


@route(
    sheets,
    "GET",
    "/sheet/<id>",
    Spec(
        "A paddock's sheet to print",
        "look",
        path={"id": shapes.ID},
        query={"season": shapes.SEASON},
        gives={200: "text/html"},
        packs=True,
    ),
)
def paddock(ask: Ask, id: str) -> BaseResponse:
    """Of the newest season where none is named."""
    farm, work = ask.farm, _shown(ask, id)
    return _html(sheet.page(work, farm.paddock(id), _rig(farm, work), farm.settings(), now_ms()))


@route(
    sheets,
    "GET",
    "/handover/<id>",
    Spec(
        "What one driver hands to the next about a paddock, to print",
        "look",
        path={"id": shapes.ID},
        query={"season": shapes.SEASON},
        gives={200: "text/html"},
        packs=True,
    ),
)
def handed(ask: Ask, id: str) -> BaseResponse:
    """Of the newest season where none is named."""
    farm, work = ask.farm, _shown(ask, id)
    return _html(handover.page(work, farm.paddock(id), farm.settings(), now_ms()))


@route(
    sheets,
    "GET",
    "/slip/<day>",
    Spec(
        "The day slip to print",
        "look",
        path={"day": shapes.DAY},
        gives={200: "text/html"},
        packs=True,
        also=(422,),
    ),
)
def of_day(ask: Ask, day: str) -> BaseResponse:
    """As the farm counts its days."""
    return _html(slip.page(ask.farm.slip(day), ask.farm.settings(), now_ms()))


@route(
    sheets,
    "GET",
    STYLE_PATH,
    Spec("The style of the printed pages", "anyone", gives={200: "text/css"}),
)
def style(ask: Ask) -> BaseResponse:
    """It holds nothing of the farm."""
    response = send(STYLE.parent, STYLE.name, mimetype="text/css")
    response.headers["Cache-Control"] = _ASK_AGAIN
    return response


@route(
    sheets,
    "GET",
    "/api/fills",
    Spec(
        "The columns for fills, in the order of the paper's back",
        "desk",
        gives={200: shapes.array(_COLUMN)},
    ),
)
def columns(ask: Ask) -> list[dict[str, str]]:
    """A form that asks in this order is filled in from left to right."""
    return fills.form()


@route(
    sheets,
    "POST",
    "/api/fills",
    Spec(
        "Keep rows of fills that were written on paper, as entries of the desk",
        "desk",
        body=shapes.closed(
            {"day": shapes.DAY, "rows": shapes.array({"type": "object"}, minItems=1, maxItems=200)},
            {"paddock": shapes.ID, "same_mark": shapes.FLAG},
        ),
        gives={
            201: shapes.obj({"seq": shapes.array(shapes.COUNT), "t_ms": shapes.array(shapes.MS)})
        },
        also=(422,),
    ),
)
def fill_in(ask: Ask) -> dict[str, list[int]]:
    """Empty rows are left out; a cell that cannot be read keeps all of them out.

    ``t_ms`` are their times, for an undo. ``same_mark``: each time the bin was filled to where it
    stood after the fill before, so what went in is what was used.
    """
    body, farm = ask.body, ask.farm
    made = fills.entries(
        body["rows"],
        body["day"],
        farm.settings(),
        body.get("paddock"),
        same_mark=body.get("same_mark", False),
    )
    seq = farm.desk_entries(made) if made else []
    return {"seq": seq, "t_ms": [entry["t_ms"] for entry in made]}


def _rig(farm: Any, work: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """The card the work was computed with last; else the only one there is."""
    used = work.get("rigs") or ()
    if used:
        found: Mapping[str, Any] = farm.rig(used[-1]["id"], used[-1]["version"])
        return found
    cards = farm.rigs()
    return cards[0] if len(cards) == 1 else None


def _html(text: str) -> BaseResponse:
    response = make_response(text)
    response.content_type = "text/html; charset=utf-8"
    response.headers["Cache-Control"] = "no-store"
    return packed(response)
