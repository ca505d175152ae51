"""The pages as they were built: the desk's, the phone's, and what they load."""

from __future__ import annotations

import re
from mimetypes import guess_type
from pathlib import Path

from flask import Blueprint, Response, make_response, redirect, render_template, request
from flask import send_from_directory as send
from werkzeug.exceptions import NotFound
from werkzeug.security import safe_join
from werkzeug.wrappers import Response as BaseResponse

from unsown.routes.endpoint import Ask, Spec, packed, route

shell = Blueprint("shell", __name__)
PAGES = Path(__file__).parent / "pages"
#: A name with the hash of its content in it never changes what it means.
_HASHED = re.compile(r"-[A-Za-z0-9_-]{8,}\.[a-z0-9.]+\Z")
_FOR_GOOD = "public, max-age=31536000, immutable"
_ASK_AGAIN = "no-cache"
_MANIFEST = "application/manifest+json"
#: What a phone fetches over a farm's network: three times as small when it is packed.
_TEXTS = (".js", ".css", ".html", ".svg")


@route(shell, "GET", "/", Spec("To the desk", "anyone", gives={302: None}))
def root(ask: Ask) -> BaseResponse:
    """The desk is where one begins."""
    return redirect("/desk/", 302)


@route(shell, "GET", "/desk/", Spec("The desk's page", "anyone", gives={200: "text/html"}))
def desk(ask: Ask) -> BaseResponse:
    """The page itself holds nothing of the farm: what it shows, it asks for."""
    return _page(ask, "desk.html")


@route(
    shell, "GET", "/desk/<path:rest>", Spec("The desk's page", "anyone", gives={200: "text/html"})
)
def desk_at(ask: Ask, rest: str) -> BaseResponse:
    """Places within the desk are the page's own business."""
    return _page(ask, "desk.html")


@route(shell, "GET", "/cab", Spec("To the phone's page", "anyone", gives={302: None}))
def to_cab(ask: Ask) -> BaseResponse:
    """As people type it."""
    return redirect("/cab/", 302)


@route(shell, "GET", "/cab/", Spec("The phone's page", "anyone", gives={200: "text/html"}))
def cab(ask: Ask) -> BaseResponse:
    """The page that phones keep."""
    return _page(ask, "cab/index.html")


@route(shell, "GET", "/cab/<path:name>", Spec("A file of the phone's page", "anyone"))
def cab_file(ask: Ask, name: str) -> BaseResponse:
    """Its service worker has to come from its own folder, to be master there."""
    return _file(ask, f"cab/{name}")


@route(shell, "GET", "/static/<path:name>", Spec("A file of the pages", "anyone"))
def static(ask: Ask, name: str) -> BaseResponse:
    """What the pages load."""
    return _file(ask, name)


@route(shell, "GET", "/plain.css", Spec("The style of plain pages", "anyone", before_tls=True))
def plain(ask: Ask) -> BaseResponse:
    """The style of the pages that stand without being built."""
    response = send(PAGES, "plain.css", mimetype="text/css")
    response.headers["Cache-Control"] = _ASK_AGAIN
    return response


@route(shell, "GET", "/favicon.ico", Spec("The sign of the pages", "anyone", before_tls=True))
def sign(ask: Ask) -> BaseResponse:
    """Browsers ask for it by this name on pages that name none."""
    if not (ask.house.door.static / "icon.svg").is_file():
        return make_response("", 204)
    return _file(ask, "icon.svg")


def _page(ask: Ask, name: str) -> BaseResponse:
    if not (ask.house.door.static / name).is_file():
        return make_response(render_template("unbuilt.html"), 503)
    return _file(ask, name)


def _file(ask: Ask, name: str) -> BaseResponse:
    response: Response
    static = ask.house.door.static
    beside = safe_join(str(static), f"{name}.gz")  # packed when it was built
    if "gzip" in request.accept_encodings and beside is not None and Path(beside).is_file():
        response = send(static, f"{name}.gz", conditional=True, mimetype=guess_type(name)[0])
        response.headers["Content-Encoding"] = "gzip"
        response.headers["Vary"] = "Accept-Encoding"
        response.headers["Cache-Control"] = _FOR_GOOD if _HASHED.search(name) else _ASK_AGAIN
        return response
    # send_from_directory joins safely: no name leads out of the folder
    response = send(static, name, conditional=True)
    if response.status_code == 200 and request.method == "GET" and not response.content_type:
        raise NotFound
    if name.endswith(".webmanifest"):
        response.content_type = _MANIFEST
    response.headers["Cache-Control"] = _FOR_GOOD if _HASHED.search(name) else _ASK_AGAIN
    if response.status_code == 200 and request.method == "GET" and name.endswith(_TEXTS):
        response.direct_passthrough = False
        response.get_data()  # read here, to be packed, and then the file is done with
        response.close()
        return packed(response)
    return response
