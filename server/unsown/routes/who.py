"""Who asks: the desk, a phone that keeps the log, a phone that looks, or nobody."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from flask import Request

from unsown.routes.door import House, here
from unsown.routes.problem import RequestError

Right = Literal["anyone", "look", "desk", "own"]
"""``look``: desk, keeper or rider. ``own``: the keeper whose log it is. ``anyone``: no need."""
SECURE_COOKIE, PLAIN_COOKIE = "__Host-unsown", "unsown"


@dataclass(frozen=True)
class Who:
    """``kind`` is desk, keeper, rider or nobody; ``dev`` is a phone's label."""

    kind: Literal["desk", "keeper", "rider", "nobody"]
    dev: str = ""
    by_token: bool = False


def secure(request: Request, house: House) -> bool:
    """Whether the browser speaks TLS, to us or to the proxy in front."""
    if house.door.proxy:
        return last_of(request.headers.get("X-Forwarded-Proto", "")) == "https"
    return bool(request.environ.get("unsown.tls"))


def asker(request: Request, house: House) -> str:
    """The address that asks, told by the proxy where there is one."""
    forwarded = last_of(request.headers.get("X-Forwarded-For", "")) if house.door.proxy else ""
    return forwarded or request.remote_addr or ""


def is_here(request: Request, house: House) -> bool:
    """Whether the one that asks sits at this computer."""
    return not house.door.proxy and here(request.remote_addr)


def last_of(text: str) -> str:
    """The last of a comma-separated list: what the nearest proxy put there itself."""
    return text.rpartition(",")[2].strip().lower()


def cookie_name(request: Request, house: House) -> str:
    """Under TLS a name that browsers let no other host and no plain page set."""
    return SECURE_COOKIE if secure(request, house) else PLAIN_COOKIE


def identify(request: Request, house: House) -> Who:
    """Who asks. A token that is shown decides alone, whatever cookie comes with it.

    Raises:
        RequestError: 401, a token that is unknown or was withdrawn.
    """
    shown = request.headers.get("Authorization")
    if shown is not None:
        return _by_token(shown, house)
    door = house.door
    if door.passphrase is None:
        return Who("desk")
    token = request.cookies.get(cookie_name(request, house), "")
    if door.sessions is not None and token and door.sessions.holds(token):
        return Who("desk")
    return Who("nobody")


def still(request: Request, house: House) -> Callable[[], bool]:
    """Whether the one who asks may still look, for answers that go on for long."""
    shown = request.headers.get("Authorization")
    cookie = request.cookies.get(cookie_name(request, house), "")
    sessions = house.door.sessions

    def may() -> bool:
        if shown is not None:
            try:
                return _by_token(shown, house).kind != "nobody"
            except RequestError:
                return False
        return sessions is None or sessions.holds(cookie)

    return may


def require(who: Who, right: Right, dev: str | None) -> None:
    """Holds the one who asks to the right a route needs.

    Raises:
        RequestError: 401 for nobody, 403 for somebody who may not.
    """
    if right == "anyone":
        return
    if who.kind == "nobody":
        raise RequestError(
            401,
            "who",
            "Nobody has said the passphrase here, and no phone's token came with this.",
            hint="Say the passphrase on the desk's page, or pair the phone.",
            headers={"WWW-Authenticate": 'Bearer realm="unsown"'},
        )
    allowed = {
        "look": True,
        "desk": who.kind == "desk",
        "own": who.kind == "keeper" and who.dev == dev,
    }[right]
    if not allowed:
        needed = {"desk": "the desk", "own": "the phone that keeps this log"}[right]
        what = f"a phone that {'keeps' if who.kind == 'keeper' else 'looks'}"
        raise RequestError(
            403,
            "right",
            f"This is for {needed}; {what if who.kind != 'desk' else 'the desk'} asked.",
            hint="Do it at the desk." if right == "desk" else "",
        )


def _by_token(shown: str, house: House) -> Who:
    kind, _, token = shown.partition(" ")
    token = token.strip()
    phone = house.farm.phone_of(token) if kind.lower() == "bearer" and token else None
    if phone is None or phone.withdrawn_ms is not None:
        raise RequestError(
            401,
            "token",
            "This token is not known here, or was withdrawn.",
            where="Authorization",
            hint="Pair the phone again: at the desk, under phones. Its log stays on it until then.",
            headers={"WWW-Authenticate": 'Bearer realm="unsown", error="invalid_token"'},
        )
    return Who(phone.may, phone.dev, by_token=True)
