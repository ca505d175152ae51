"""What every request goes through before a route sees it, and what every answer carries.

The order matters: whoever calls under a name that is not ours learns nothing at all; then the way
the request came, then who sends it, then whether a page of ours made the browser send it.
"""

from __future__ import annotations

from flask import Response, current_app, g, redirect, request
from werkzeug.wrappers import Response as BaseResponse

from unsown.routes.door import House, house
from unsown.routes.endpoint import Spec, spec_of
from unsown.routes.problem import RequestError
from unsown.routes.who import identify, is_here, require, secure

FORWARDED = (
    *("Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto"),
    *("X-Forwarded-Port", "X-Forwarded-Server", "X-Real-IP", "Via"),
)
"""Headers that say somebody stands in between."""
_SAFE = ("GET", "HEAD")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), payment=(), usb=()",
    "Server": "unsown",
}


def before() -> BaseResponse | None:
    """Lets a request through to its route, or answers in its place.

    Raises:
        RequestError: it may not be answered.
    """
    home = house()
    _from_where(home)
    _to_whom(home)
    if not secure(request, home) and not is_here(request, home):
        spec = _spec()
        if spec is None or not spec.before_tls:
            return _to_tls(home)
    spec = _spec()
    if spec is None:
        return None  # no such page, or not with this method: Flask says so
    _own_page(home)
    g.who = identify(request, home)
    require(g.who, spec.who, (request.view_args or {}).get("dev"))
    request.max_content_length = spec.most_bytes
    return None


def after(response: Response) -> Response:
    """The headers that every answer carries."""
    response.headers.setdefault("Content-Security-Policy", POLICY)
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def _spec() -> Spec | None:
    if request.url_rule is None or request.endpoint is None:
        return None
    return spec_of(current_app.view_functions[request.endpoint])


def _from_where(home: House) -> None:
    """Headers of a proxy are believed only where one was announced, and then they are needed."""
    found = [name for name in FORWARDED if name in request.headers]
    if found and not home.door.proxy:
        raise RequestError(
            403,
            "forwarded",
            "A proxy passed this on, and this house was not told of one.",
            where=found[0],
            hint="Start it with --proxy and --host-name NAME, and see how-to/reverse-proxy.md.",
        )
    if home.door.proxy and not request.headers.get("X-Forwarded-For"):
        raise RequestError(
            403,
            "forwarded-missing",
            "This house was told of a proxy, but nothing says for whom the proxy asks.",
            where="X-Forwarded-For",
            hint="Let the proxy set X-Forwarded-For, X-Forwarded-Proto and the Host that was "
            "asked for; see how-to/reverse-proxy.md.",
        )


def _to_whom(home: House) -> None:
    """A page of a stranger can make its own name point here; its Host header tells."""
    said = request.environ.get("HTTP_HOST", "")
    if not home.door.knows(said):
        raise RequestError(
            403,
            "host",
            f"This house does not answer to {said[:80]!r}.",
            where="Host",
            hint="Use the address that unsown serve printed, or start it with --host-name.",
        )


def _to_tls(home: House) -> BaseResponse:
    if home.door.proxy:
        raise RequestError(
            403,
            "tls",
            "The proxy was reached without TLS.",
            where="X-Forwarded-Proto",
            hint="Let the proxy answer on https only, and set X-Forwarded-Proto.",
        )
    if request.method in _SAFE and not request.path.startswith("/api/"):
        return redirect("/trust", 302)
    raise RequestError(
        403,
        "tls",
        "From another machine this house answers over TLS only.",
        hint=f"Use {home.door.phones_at}." if home.door.phones_at else "",
    )


def _own_page(home: House) -> None:
    """Whatever a browser adds by itself (cookie, being on this computer) counts only from us."""
    site = request.headers.get("Sec-Fetch-Site")
    if request.method in _SAFE:
        follows = request.headers.get("Sec-Fetch-Mode") == "navigate"
        if site in ("cross-site", "same-site") and not follows:
            raise _foreign("Sec-Fetch-Site")
        return
    if "Authorization" in request.headers:
        return  # no browser adds it by itself
    origin = request.headers.get("Origin")
    scheme = "https" if secure(request, home) else "http"
    if origin is not None:
        if origin.lower() != f"{scheme}://{request.environ.get('HTTP_HOST', '').lower()}":
            raise _foreign("Origin")
    elif site != "same-origin":
        raise _foreign("Origin")


def _foreign(where: str) -> RequestError:
    return RequestError(
        403,
        "origin",
        "This was not sent by a page of this house.",
        where=where,
        hint="Programs send the header Origin with this house's own address, or a token.",
    )
