"""Carrying in and out: a track or log file from elsewhere, and what leaves as open files."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, Response

from unsown.core.errors import TrackError
from unsown.formats import guard
from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route
from unsown.service import carry as out
from unsown.service.carry import Carried
from unsown.store.store import Store

carry = Blueprint("carry", __name__)
#: What a form adds around its file.
_FRAME_BYTES = 100_000
_QUERY = {"paddock": shapes.ID, "season": shapes.SEASON, "day": shapes.DAY}
_OF_ONE = ("paddock", "season")


@dataclass(frozen=True)
class _File:
    """One file that can be carried out: what it is, what may and must be asked, who makes it."""

    summary: str
    media: str
    may: tuple[str, ...]
    needs: tuple[str, ...]
    make: Callable[[Store, Mapping[str, Any]], Carried]


FILES = {
    "track.gpx": _File(
        "A paddock's track with the lever, GPX 1.1",
        "application/gpx+xml",
        may=("paddock", "season", "day"),
        needs=_OF_ONE,
        make=lambda store, q: out.track(store, q["paddock"], q["season"], q["day"]),
    ),
    "ground.geojson": _File(
        "A paddock's states of the ground and patches, GeoJSON (RFC 7946)",
        "application/geo+json",
        may=_OF_ONE,
        needs=_OF_ONE,
        make=lambda store, q: out.ground(store, q["paddock"], q["season"]),
    ),
    "patches.csv": _File(
        "A paddock's bare patches, CSV (RFC 4180)",
        "text/csv",
        may=_OF_ONE,
        needs=_OF_ONE,
        make=lambda store, q: out.patches(store, q["paddock"], q["season"]),
    ),
    "runs.csv": _File(
        "A paddock's runs, CSV",
        "text/csv",
        may=_OF_ONE,
        needs=_OF_ONE,
        make=lambda store, q: out.runs(store, q["paddock"], q["season"]),
    ),
    "days.csv": _File(
        "The days of a season, of all paddocks or one, CSV",
        "text/csv",
        may=_OF_ONE,
        needs=("season",),
        make=lambda store, q: out.days(store, q["season"], q["paddock"]),
    ),
    "log.jsonl": _File(
        "The log's own lines of a season, a day or a paddock, JSON lines",
        "application/x-ndjson",
        may=("paddock", "season", "day"),
        needs=("season",),
        make=lambda store, q: out.lines(store, q["season"], q["paddock"], q["day"]),
    ),
}


@route(
    carry,
    "POST",
    "/api/carry/in",
    Spec(
        "Take a track or a log file; the same file twice changes nothing",
        "desk",
        form={"file": shapes.FILE},
        gives={201: shapes.TAKEN},
        most_bytes=guard.TRACK_BYTES + _FRAME_BYTES,
        also=(409, 422),
    ),
)
def bring(ask: Ask) -> Any:
    """GPX, NMEA 0183, CSV, GeoJSON or our log; whole or not at all."""
    file = ask.body["file"]
    data = file.stream.read(guard.TRACK_BYTES + 1)
    name = (file.filename or "file").replace("\\", "/").rpartition("/")[2][:80] or "file"
    guard.sized(data, name, guard.TRACK_BYTES, TrackError)
    return ask.farm.take_file(name, data)


def _hang(name: str) -> None:
    file = FILES[name]
    spec = Spec(
        file.summary,
        "desk",
        query={key: _QUERY[key] for key in file.may},
        needs=file.needs,
        gives={200: file.media},
        also=(404,),
    )

    def view(ask: Ask) -> Response:
        made = file.make(ask.farm.store, {**dict.fromkeys(_QUERY), **ask.query})
        response = Response(made.parts, content_type=made.media)
        response.headers.set("Content-Disposition", "attachment", filename=made.name)
        response.headers["Cache-Control"] = "no-store"
        return response

    view.__name__ = name.replace(".", "_")
    view.__doc__ = file.summary
    route(carry, "GET", f"/api/carry/out/{name}", spec)(view)


for _name in FILES:
    _hang(_name)
