"""A boundary from a file or a driven lap, to be looked at and edited before it is kept."""

from __future__ import annotations

import threading
from typing import Any

from flask import Blueprint

from unsown.core.errors import PaddockError
from unsown.formats import guard
from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route
from unsown.routes.problem import RequestError
from unsown.service import bring
from unsown.service.farm import now_ms

outlines = Blueprint("outlines", __name__)
#: What a form adds around its file.
_FRAME_BYTES = 100_000
#: A lap takes seconds of one core, in the request's own thread: one at a time, and who waits longer
#: than this is told to come again.
_ONE_LAP, _WAIT_S = threading.Lock(), 20.0


@route(
    outlines,
    "POST",
    "/api/paddocks/read",
    Spec(
        "Read a boundary file without keeping it",
        "desk",
        form={"file": shapes.FILE},
        gives={200: shapes.BROUGHT},
        most_bytes=guard.PADDOCK_BYTES + _FRAME_BYTES,
        also=(422,),
    ),
)
def read(ask: Ask) -> dict[str, Any]:
    """GeoJSON, KML, KMZ, zipped shapefile, GeoPackage; what was put right is in the notes."""
    file = ask.body["file"]
    data = file.stream.read(guard.PADDOCK_BYTES + 1)
    return bring.from_file(shapes.file_name(file.filename), _sized(data, file.filename), now_ms())


@route(
    outlines,
    "POST",
    "/api/paddocks/lap",
    Spec(
        "The boundary round the first lap that was driven on a day",
        "desk",
        body=shapes.closed({"season": shapes.SEASON, "day": shapes.DAY}, {"dev": shapes.DEV}),
        gives={200: shapes.BROUGHT},
        also=(404, 422),
    ),
)
def lap(ask: Ask) -> dict[str, Any]:
    """With what no tool can reach as a keep-out, and how exact its area is where that shows."""
    body = ask.body
    if not _ONE_LAP.acquire(timeout=_WAIT_S):
        raise RequestError(
            503,
            "lap-busy",
            "Another lap is being worked out.",
            hint="Ask again in a moment.",
            headers={"Retry-After": "10"},
        )
    try:
        return bring.from_lap(ask.farm.store, body["season"], body["day"], body.get("dev"))
    finally:
        _ONE_LAP.release()


def _sized(data: bytes, name: str | None) -> bytes:
    guard.sized(data, shapes.file_name(name), guard.PADDOCK_BYTES, PaddockError)
    return data
