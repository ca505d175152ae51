"""What happens, told as it happens (server-sent events, WHATWG HTML 9.2).

Every listener holds one of the server's threads: so there are few of them, each is asked by a
heartbeat whether it is still there, and each ends after a while and comes back by itself.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

from flask import Blueprint, Response

from unsown.routes.endpoint import Ask, Spec, json_of, route
from unsown.routes.listeners import MOST, Listeners
from unsown.routes.problem import RequestError

events = Blueprint("events", __name__)
HEARTBEAT_S = 15.0
_LOOK_S = 1.0  # how long a closing house may have to wait for a listener
LONGEST_S = 600.0
_AGAIN_MS = 3_000


class _Stream:
    """One listener's stream; closing it gives the place back, once, however it ends."""

    def __init__(self, source: Iterator[Any], listeners: Listeners, longest_s: float) -> None:
        self._source, self._listeners = source, listeners
        self._ends = time.monotonic() + longest_s
        self._first, self._open = True, True
        self._beat = time.monotonic() + HEARTBEAT_S

    def __iter__(self) -> _Stream:
        return self

    def __next__(self) -> bytes:
        if self._first:
            self._first = False
            return f"retry: {_AGAIN_MS}\n\n".encode()
        while not self._listeners.closing.is_set() and time.monotonic() < self._ends:
            happened = next(self._source)
            now = time.monotonic()
            if happened is not None:
                self._beat = now + HEARTBEAT_S
                kind, data = happened.event.encode(), json_of(happened.data)
                return b"event: %s\ndata: %s\n\n" % (kind, data)
            if now >= self._beat:
                self._beat = now + HEARTBEAT_S
                return b": still here\n\n"
        raise StopIteration

    def close(self) -> None:
        if self._open:
            self._open = False
            self._listeners.leave()
            close = getattr(self._source, "close", None)
            if close is not None:
                close()


@route(
    events,
    "GET",
    "/api/events",
    Spec("Work and board as they change", "look", gives={200: "text/event-stream"}, also=(503,)),
)
def listen(ask: Ask) -> Response:
    """``work``, ``board`` and ``job``, each with JSON data."""
    listeners = ask.house.listeners
    if not listeners.enter():
        raise RequestError(
            503, "listeners", f"{MOST} pages listen already.",
            hint="The page works without; it asks again by itself.",
            headers={"Retry-After": "30"},
        )  # fmt: skip
    try:
        source = ask.farm.subscribe(_LOOK_S)
    except BaseException:
        listeners.leave()
        raise
    response = Response(_Stream(source, listeners, LONGEST_S), content_type="text/event-stream")
    response.headers["X-Accel-Buffering"] = "no"  # proxies would keep it back
    return response
