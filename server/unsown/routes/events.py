"""What happens, told as it happens (server-sent events, WHATWG HTML 9.2).

Every listener holds one of the server's threads: so there are few of them, each second it is looked
whether each is still there, and each ends after a while and comes back by itself. A page that is
loaded again left a moment ago: who finds no place waits until those who left were noticed. Who
vanished without a word, as a phone out of reach, is noticed by a heartbeat.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from typing import Any

from flask import Blueprint, Response, request

from unsown.routes.endpoint import Ask, Spec, json_of, route
from unsown.routes.listeners import MOST, Listeners
from unsown.routes.problem import RequestError
from unsown.routes.who import still

events = Blueprint("events", __name__)
HEARTBEAT_S = 15.0
_LOOK_S = 1.0  # how long a closing house may have to wait for a listener
_PATIENCE_S = 2.5 * _LOOK_S  # who left is noticed within two looks
LONGEST_S = 600.0
_AGAIN_MS = 3_000


class _Stream:
    """One listener's stream; closing it gives the place back, once, however it ends."""

    def __init__(
        self, source: Iterator[Any], listeners: Listeners, stays: Callable[[], bool]
    ) -> None:
        self._source, self._listeners, self._stays = source, listeners, stays
        now = time.monotonic()
        self._ends, self._beat, self._asked = now + LONGEST_S, now + HEARTBEAT_S, now
        self._first, self._open = True, True

    def __iter__(self) -> _Stream:
        return self

    def __next__(self) -> bytes:
        if self._first:
            self._first = False
            return f"retry: {_AGAIN_MS}\n\n".encode()
        while self._goes_on(time.monotonic()):
            happened = next(self._source)
            now = time.monotonic()
            if happened is not None and self._goes_on(now):
                self._beat = now + HEARTBEAT_S
                kind, data = happened.event.encode(), json_of(happened.data)
                return b"event: %s\ndata: %s\n\n" % (kind, data)
            if now >= self._beat:
                self._beat = now + HEARTBEAT_S
                return b": still here\n\n"
        raise StopIteration

    def _goes_on(self, now: float) -> bool:
        if self._listeners.closing.is_set() or now >= self._ends:
            return False
        if now - self._asked >= _LOOK_S:
            self._asked = now
            return self._stays()
        return True

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
    if not listeners.enter(_PATIENCE_S):
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
    may = still(request, ask.house)
    hung_up: Callable[[], bool] = request.environ.get("unsown.hung_up", lambda: False)

    def stays() -> bool:
        """It is there, and was not withdrawn or left meanwhile."""
        return not hung_up() and may()

    response = Response(_Stream(source, listeners, stays), content_type="text/event-stream")
    response.headers["X-Accel-Buffering"] = "no"  # proxies would keep it back
    return response
