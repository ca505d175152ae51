"""How a phone comes to trust the farm's authority, and how to take that back."""

from __future__ import annotations

from flask import Blueprint, make_response, render_template
from werkzeug.wrappers import Response as BaseResponse

from unsown.routes.endpoint import Ask, Spec, route
from unsown.routes.problem import RequestError
from unsown.yard import code
from unsown.yard.authority import PRIVATE

trust = Blueprint("trust", __name__)


@route(
    trust,
    "GET",
    "/trust",
    Spec("How to trust this house", "anyone", gives={200: "text/html"}, before_tls=True),
)
def page(ask: Ask) -> BaseResponse:
    """The steps for each kind of phone; asked for before there is any trust."""
    door = ask.house.door
    response = make_response(
        render_template(
            "trust.html",
            authority=door.authority,
            fingerprint=_parts(door.authority.fingerprint) if door.authority else (),
            at=door.phones_at,
            qr=code.svg(door.trust_at) if door.trust_at else "",
            private=PRIVATE,
        )
    )
    response.headers["Cache-Control"] = "no-cache"
    return response


@route(
    trust,
    "GET",
    "/trust/authority.crt",
    Spec(
        "The authority's certificate",
        "anyone",
        gives={200: "application/x-x509-ca-cert"},
        before_tls=True,
    ),
)
def certificate(ask: Ask) -> BaseResponse:
    """The certificate alone; its key never leaves this computer."""
    authority = ask.house.door.authority
    if authority is None:
        raise RequestError(
            404,
            "no-authority",
            "This house has no authority of its own, so there is nothing to trust.",
            hint="Start it with --yard to make one.",
        )
    response = make_response(authority.der)
    response.content_type = "application/x-x509-ca-cert"
    response.headers["Content-Disposition"] = 'attachment; filename="farm-authority.crt"'
    return response


def _parts(fingerprint: str) -> list[str]:
    """Eight pairs at a time, where a narrow screen may break the line."""
    return [fingerprint[at : at + 24] for at in range(0, len(fingerprint), 24)]
