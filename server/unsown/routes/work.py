"""What the days came to: the board, a paddock's work, its ground and time line, tries, the slip."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route

work = Blueprint("work", __name__)
_PATH = {"id": shapes.ID}
_SEASON = {"season": shapes.SEASON}


@route(
    work,
    "GET",
    "/api/board",
    Spec(
        "The farm board of a season; the newest where none is named",
        "look",
        query=_SEASON,
        gives={200: shapes.BOARD},
    ),
)
def board(ask: Ask) -> dict[str, Any]:
    """Never waits for a computation."""
    found: dict[str, Any] = ask.farm.board(ask.query["season"])
    return found


@route(
    work,
    "GET",
    "/api/work/<id>",
    Spec(
        "What a paddock came to in a season",
        "look",
        path=_PATH,
        query=_SEASON,
        needs=("season",),
        gives={200: shapes.WORK},
        packs=True,
    ),
)
def one(ask: Ask, id: str) -> dict[str, Any]:
    """As far as it is computed; ``stale`` where newer entries wait to be."""
    found: dict[str, Any] = ask.farm.work(id, ask.query["season"])
    return found


@route(
    work,
    "GET",
    "/api/work/<id>/ground",
    Spec(
        "States of the ground, patches and runs",
        "look",
        path=_PATH,
        query=_SEASON,
        needs=("season",),
        gives={200: {"type": "object"}},
        packs=True,
    ),
)
def ground(ask: Ask, id: str) -> dict[str, Any]:
    """GeoJSON as ``--geojson`` writes it, with the runs as lines; empty before it is computed."""
    found = ask.farm.ground(id, ask.query["season"])
    return found or {"type": "FeatureCollection", "features": []}


@route(
    work,
    "GET",
    "/api/work/<id>/timeline",
    Spec(
        "Speed, lever, questions and places of one day",
        "look",
        path=_PATH,
        query={**_SEASON, "day": shapes.DAY},
        needs=("season", "day"),
        gives={200: shapes.TIMELINE},
        packs=True,
        also=(422,),
    ),
)
def timeline(ask: Ask, id: str) -> dict[str, Any]:
    """At most 3000 points of each."""
    found: dict[str, Any] = ask.farm.timeline(id, ask.query["season"], ask.query["day"])
    return found


@route(
    work,
    "POST",
    "/api/work/<id>/try",
    Spec(
        "Compute with entries that are not kept, to see what they would change",
        "desk",
        path=_PATH,
        body=shapes.closed({"season": shapes.SEASON, "entries": shapes.ENTRIES}),
        gives={202: shapes.obj({"job": shapes.ID})},
        also=(422,),
    ),
)
def attempt(ask: Ask, id: str) -> dict[str, str]:
    """The job to ask for."""
    return {"job": ask.farm.try_entries(id, ask.body["season"], ask.body["entries"])}


@route(
    work,
    "GET",
    "/api/jobs/<id>",
    Spec("How far a try is, and what it changes", "desk", path=_PATH, gives={200: shapes.JOB}),
)
def job(ask: Ask, id: str) -> dict[str, Any]:
    """``before`` and ``after`` once it is ready."""
    found: dict[str, Any] = ask.farm.job(id)
    return found


@route(
    work,
    "GET",
    "/api/slip/<day>",
    Spec(
        "A day's numbers, paddock by paddock",
        "look",
        path={"day": shapes.DAY},
        gives={200: {"type": "object"}},
        also=(422,),
    ),
)
def slip(ask: Ask, day: str) -> dict[str, Any]:
    """As the farm counts its days."""
    found: dict[str, Any] = ask.farm.slip(day)
    return found
