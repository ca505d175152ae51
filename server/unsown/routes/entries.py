"""The log comes in: from phones by number, from the desk as answers and corrections."""

from __future__ import annotations

import zlib
from typing import Any

from flask import Blueprint, request

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route
from unsown.routes.problem import RequestError

entries = Blueprint("entries", __name__)
MOST_BYTES = 8_000_000
"""Most of one sending, as it comes and as it unpacks: some fifteen hours of a phone at 1 Hz."""
_STEP = 65_536
_GZIP = 31  # zlib's own number for: a gzip header is there
_PATH = {"dev": shapes.DEV, "first": shapes.FIRST}


@route(
    entries,
    "PUT",
    "/api/phones/<dev>/entries/<first>",
    Spec(
        "Keep a phone's entries from a number on: whole or not at all, safe to repeat",
        "own",
        path=_PATH,
        lines=True,
        gives={200: shapes.HELD},
        most_bytes=MOST_BYTES,
        also=(400, 409, 415, 422),
    ),
)
def keep(ask: Ask, dev: str, first: str) -> Any:
    """JSON lines; ``held`` in the answer is acknowledged and on the disk."""
    return ask.farm.take_entries(dev, int(first), _unpacked())


@route(
    entries,
    "GET",
    "/api/phones/<dev>/held",
    Spec(
        "The last number held of this phone, and what is wanted again",
        "own",
        path={"dev": shapes.DEV},
        gives={200: shapes.HELD},
    ),
)
def held(ask: Ask, dev: str) -> Any:
    """What comes after it is to be sent."""
    return ask.farm.held(dev)


@route(
    entries,
    "POST",
    "/api/entries",
    Spec(
        "Keep entries made at the desk: answers, levers set right afterwards, undo",
        "desk",
        body=shapes.closed({"entries": shapes.ENTRIES}),
        gives={201: shapes.obj({"seq": shapes.array(shapes.COUNT)})},
        also=(422,),
    ),
)
def desk(ask: Ask) -> dict[str, list[int]]:
    """Their numbers, for undo."""
    return {"seq": ask.farm.desk_entries(ask.body["entries"])}


def _unpacked() -> bytes:
    """The body, unpacked no further than it may be.

    Raises:
        RequestError: packed in an unknown way, damaged, or larger than it may be.
    """
    kind = request.headers.get("Content-Encoding", "identity").strip().lower()
    data = request.get_data(cache=False)
    if kind == "identity":
        return data
    if kind != "gzip":
        raise RequestError(
            415,
            "content-encoding",
            f"gzip or identity was expected; {kind[:40]!r} came.",
            where="Content-Encoding",
        )
    packer = zlib.decompressobj(_GZIP)
    out = bytearray()
    try:
        while data and not packer.eof:
            out += packer.decompress(data, _STEP)
            data = packer.unconsumed_tail
            if len(out) > MOST_BYTES:
                raise RequestError(
                    413,
                    "intake-large",
                    f"It unpacks to more than {MOST_BYTES // 1_000_000} MB.",
                    where="body",
                    hint="Send fewer entries at once.",
                )
    except zlib.error as error:
        raise RequestError(
            422, "gzip", f"The gzip is damaged: {error}.", where="body", hint="Send it again."
        ) from error
    if not packer.eof or packer.unused_data:
        raise RequestError(
            422,
            "gzip",
            "The gzip was cut off." if not packer.eof else "Something follows the gzip.",
            where="body",
            hint="Send it again.",
        )
    return bytes(out)
