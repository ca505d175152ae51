"""Phones: pairing by a code that is good once, what each may, and taking it back."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, request

from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route
from unsown.routes.session import too_fast
from unsown.routes.who import asker
from unsown.yard import code

phones = Blueprint("phones", __name__)
_CLAIMS = {
    "name": shapes.text(60),
    "dev": shapes.text(
        64, pattern="^phone-[0-9a-z]{12}$", description="the label the phone logs under already"
    ),
    "was": shapes.text(200, description="its token of before, where that label was paired here"),
}
_DISPUTE = shapes.obj(
    {
        "dev": {"type": "string"},
        "seq": {"type": "integer"},
        "held": shapes.maybe({"type": "string"}),
        "came": {"type": "string"},
        "received_ms": shapes.MS,
    }
)


@route(
    phones,
    "POST",
    "/api/pairings",
    Spec(
        "A code that pairs one phone within ten minutes",
        "desk",
        body=shapes.closed({"may": shapes.MAY}, {"name": shapes.text(60)}),
        gives={201: shapes.PAIRING},
        also=(422,),
    ),
)
def begin(ask: Ask) -> dict[str, Any]:
    """The code as text and in a square code, in the part of an address that is never sent."""
    made = ask.farm.new_pairing(ask.body["may"], ask.body.get("name", ""))
    base = ask.house.door.phones_at or request.host_url.rstrip("/")
    url = f"{base}/cab/#pair={made.code}"
    return {"code": made.code, "until_ms": made.until_ms, "may": made.may, "url": url,
            "qr": code.svg(url)}  # fmt: skip


@route(
    phones,
    "POST",
    "/api/pairings/claim",
    Spec(
        "Give a code for a token of the phone's own",
        "anyone",
        body=shapes.closed({"code": shapes.text(64)}, _CLAIMS),
        gives={201: shapes.CLAIM},
        most_bytes=10_000,
        also=(409, 429),
    ),
)
def claim(ask: Ask) -> Any:
    """The token is shown this once; here it is kept as a hash."""
    pace, who = ask.house.door.claims, asker(request, ask.house)
    wait = pace.wait(who)
    if wait:
        raise too_fast("pairing code", wait)
    body = ask.body
    made = ask.farm.claim(body["code"], body.get("name", ""), body.get("dev"), body.get("was", ""))
    pace.forgive(who)
    return made


@route(
    phones,
    "GET",
    "/api/phones",
    Spec("Every phone that was paired", "desk", gives={200: shapes.array(shapes.PHONE)}),
)
def every(ask: Ask) -> Any:
    """Those withdrawn too, with when."""
    return ask.farm.phones()


@route(
    phones,
    "GET",
    "/api/disputes",
    Spec(
        "Entries that came under a number already used, beside what is held there",
        "desk",
        gives={200: shapes.array(_DISPUTE)},
    ),
)
def disputes(ask: Ask) -> Any:
    """Refused, and both kept: somebody has to look which is right."""
    return ask.farm.disputes()


@route(
    phones,
    "DELETE",
    "/api/phones/<dev>",
    Spec("Withdraw a phone: its token is good no longer", "desk", path={"dev": shapes.DEV}),
)
def withdraw(ask: Ask, dev: str) -> None:
    """At once. Its log stays."""
    ask.farm.withdraw(dev)
