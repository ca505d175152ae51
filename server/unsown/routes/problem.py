"""Every way a request can fail, as one JSON object or one plain page: a status and what to do."""

from __future__ import annotations

import contextlib
from typing import Any

from flask import Response, make_response, render_template, request
from werkzeug.exceptions import HTTPException

from unsown.core.errors import UnsownError

#: Code of an error -> status. The first ending that fits counts; anything else is 422.
_STATUS = {
    "unknown": 404,
    "pairing-wrong": 403,
    "pairing-label": 409,
    "version-old": 409,
    "intake-clash": 409,
    "intake-gap": 409,
    "intake-large": 413,
    "file-large": 413,
    "zip-bomb": 413,
    "store-full": 507,
    "store-readonly": 503,
    "store-busy": 503,
    "store-damaged": 500,
    "store-io": 500,
    "store-failed": 500,
}
DRAINED = 16_000_000
_STEP = 65_536
_HINTS = {
    404: "Look at /api/openapi.json for what there is.",
    405: "Look at /api/openapi.json for what may be done here.",
    413: "Send less at once.",
}


class RequestError(UnsownError):
    """A request that cannot be answered; ``status`` is the one of HTTP, ``headers`` go with it."""

    def __init__(
        self,
        status: int,
        code: str,
        message: str,
        *,
        where: str = "",
        hint: str = "",
        headers: dict[str, str] | None = None,
    ) -> None:
        super().__init__(code, message, where=where, hint=hint)
        self.status = status
        self.headers = headers or {}


def status_of(error: UnsownError) -> int:
    """The status that an error of ours is told with."""
    if isinstance(error, RequestError):
        return error.status
    return _STATUS.get(error.code, 422)


def of_ours(error: UnsownError) -> Response:
    """An error of ours as an answer; of entries it also says what is held."""
    says: dict[str, Any] = {
        "error": {
            "code": error.code,
            "message": error.message,
            "where": error.where,
            "hint": error.hint,
        }
    }
    held = getattr(error, "held", None)
    if held is not None:
        says["held"] = held
    response = _told(status_of(error), says)
    if isinstance(error, RequestError):
        response.headers.extend(error.headers)
    elif response.status_code == 503:
        response.headers["Retry-After"] = "5"
    return response


def of_http(error: HTTPException) -> Response:
    """An error of the web's own (no such page, wrong method, too large) in the same words."""
    status = error.code or 500
    name = (error.name or "error").lower().replace(" ", "-")
    message = (error.description or error.name or "It failed.").strip()
    response = _told(
        status,
        {"error": {"code": name, "message": message, "where": "", "hint": _HINTS.get(status, "")}},
    )
    for key, value in error.get_headers():
        if key.lower() not in ("content-type", "content-length"):
            response.headers[key] = value
    return response


def _told(status: int, says: dict[str, Any]) -> Response:
    if request.path.startswith("/api/"):
        response = make_response(says, status)
    else:
        response = make_response(render_template("problem.html", **says["error"]), status)
    if request.method not in ("GET", "HEAD"):
        _drain()
        response.headers["Connection"] = "close"
    return response


def _drain() -> None:
    """Reads what is left of a refused body of bearable length, and keeps none of it.

    A connection closed with bytes unread is reset, and the answer is lost with it: a phone would
    take that for no network and try for ever.
    """
    length = request.content_length
    if length is None or length > DRAINED:
        return
    source = request.environ["wsgi.input"]
    with contextlib.suppress(OSError):
        while source.read(_STEP):
            pass
