"""Saying the passphrase at the desk, and leaving again."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, make_response, request

from unsown.routes.door import house
from unsown.routes.endpoint import Ask, Spec, route
from unsown.routes.problem import RequestError
from unsown.routes.who import SECURE_COOKIE, asker, cookie_name, is_here
from unsown.yard.passphrase import LONGEST
from unsown.yard.sessions import DAYS

session = Blueprint("session", __name__)
_SAID = {
    "type": "object",
    "required": ["passphrase"],
    "properties": {"passphrase": {"type": "string", "maxLength": LONGEST}},
    "additionalProperties": False,
}


@route(
    session,
    "POST",
    "/api/session",
    Spec(
        "Open a session of the desk with the passphrase",
        "anyone",
        body=_SAID,
        most_bytes=10_000,
        also=(429,),
    ),
)
def begin(ask: Ask) -> Response | None:
    """Gives the cookie of a new session."""
    door = ask.house.door
    if door.passphrase is None or door.sessions is None:
        return None  # nobody is asked here: nothing to open
    pace = door.login_here if is_here(request, ask.house) else door.login
    who = asker(request, ask.house)
    wait = pace.wait(who)
    if wait:
        raise too_fast("passphrase", wait)
    if not door.passphrase.fits(ask.body["passphrase"]):
        raise RequestError(
            403, "passphrase", "This is not the passphrase.", where="body.passphrase",
            hint="It was printed when the house was first started; unsown serve "
            "--new-passphrase makes another.",
        )  # fmt: skip
    pace.forgive(who)
    return _with_cookie(door.sessions.open(), DAYS * 86_400)


@route(session, "DELETE", "/api/session", Spec("End this session of the desk", "anyone"))
def end(ask: Ask) -> Response:
    """Ends the session everywhere, not only in this browser."""
    door = ask.house.door
    token = request.cookies.get(cookie_name(request, ask.house), "")
    if door.sessions is not None and token:
        door.sessions.close(token)
    return _with_cookie("", 0)


def too_fast(what: str, wait: int) -> RequestError:
    """The answer to somebody who tries too often."""
    return RequestError(
        429, "too-fast", f"Too many tries of a {what}; {wait} seconds to wait.", where=what,
        hint="Wait, then try once more.", headers={"Retry-After": str(wait)},
    )  # fmt: skip


def _with_cookie(value: str, seconds: int) -> Response:
    name = cookie_name(request, house())
    response: Any = make_response("", 204)
    response.set_cookie(
        name, value, max_age=seconds, httponly=True, samesite="Strict", path="/",
        secure=name == SECURE_COOKIE,
    )  # fmt: skip
    out: Response = response
    return out
