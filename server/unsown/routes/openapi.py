"""The description of the API (OpenAPI 3.1), made from the routes themselves."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from flask import Blueprint, Flask, current_app
from werkzeug.routing import Rule

from unsown import __version__
from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Schema, Spec, route, spec_of

openapi = Blueprint("openapi", __name__)
_ERROR = {"$ref": "#/components/schemas/Error"}
_WHY = {
    400: "What came does not have the shape described here.",
    401: "Nobody has said the passphrase here, or the phone's token is not known (any more).",
    403: "The one who asks may not, or it came from elsewhere: wrong host, origin, or no TLS.",
    404: "There is no such thing.",
    409: "It was changed meanwhile, or something else is held under that number.",
    413: "It is larger than what is taken.",
    415: "Another kind of body was expected.",
    422: "The shape is right, but it cannot be used; the message says why.",
    429: "Too many tries; Retry-After says when to go on.",
    503: "Not now; Retry-After says when to try again.",
    507: "There is no room left to write. Nothing acknowledged is lost.",
}


@route(
    openapi,
    "GET",
    "/api/openapi.json",
    Spec("This description", "anyone", gives={200: {"type": "object"}}),
)
def description(ask: Ask) -> dict[str, Any]:
    """The description of the app that answers."""
    return describe(current_app)


def describe(app: Flask) -> dict[str, Any]:
    """The OpenAPI description of every route under ``/api``."""
    paths: dict[str, dict[str, Any]] = {}
    for rule, method, spec, name in sorted(_api(app), key=lambda row: (row[0].rule, row[1])):
        path = re.sub(r"<(?:[a-z]+:)?([a-z_]+)>", r"{\1}", rule.rule)
        paths.setdefault(path, {})[method.lower()] = _operation(rule, spec, name, method)
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "Unsown, the home service",
            "version": __version__,
            "summary": "What the desk's pages and the phones ask of the farm's own computer.",
            "description": "See docs/reference/api.md for who may what, and docs/reference/json.md "
            "for the keys of a tally. Every answer that is an error has the shape of Error.",
            "license": {"name": "MIT", "identifier": "MIT"},
        },
        "paths": paths,
        "components": {
            "schemas": shapes.NAMED,
            "securitySchemes": {
                "desk": {"type": "apiKey", "in": "cookie", "name": "__Host-unsown",
                    "description": "A session of the desk, opened with the passphrase. Over plain "
                    "http on this computer the cookie is called unsown; where only this computer "
                    "can reach the house, no session is needed."},
                "phone": {"type": "http", "scheme": "bearer",
                    "description": "A paired phone's own token."},
            },
        },
    }  # fmt: skip


def text_of(app: Flask) -> str:
    """The description as it stands in docs/reference/openapi.json."""
    return json.dumps(describe(app), indent=1, ensure_ascii=False) + "\n"


def _api(app: Flask) -> Iterator[tuple[Rule, str, Spec, str]]:
    for rule in app.url_map.iter_rules():
        if rule.rule.startswith("/api/"):
            method = next(iter((rule.methods or set()) - {"HEAD", "OPTIONS"}))
            yield rule, method, spec_of(app.view_functions[rule.endpoint]), rule.endpoint


def _operation(rule: Rule, spec: Spec, name: str, method: str) -> dict[str, Any]:
    out: dict[str, Any] = {
        "operationId": name.partition(".")[2],
        "tags": [name.partition(".")[0]],
        "summary": spec.summary,
        "security": {
            "anyone": [{}],
            "look": [{"desk": []}, {"phone": []}],
            "desk": [{"desk": []}],
            "own": [{"phone": []}],
        }[spec.who],
        "responses": {
            str(status): _answer(status, shape)
            for status, shape in sorted({**dict(spec.gives), **_errors(rule, spec, method)}.items())
        },
    }
    parameters = [
        _parameter(part, "path", spec.path.get(part, {"type": "string"}), needed=True)
        for part in sorted(rule.arguments)
    ]
    parameters += [
        _parameter(part, "query", shape, needed=part in spec.needs)
        for part, shape in spec.query.items()
    ]
    if spec.lines:
        parameters.append(
            _parameter("Content-Encoding", "header", {"enum": ["gzip", "identity"]}, needed=False)
        )
    if parameters:
        out["parameters"] = parameters
    body = _body(spec)
    if body:
        out["requestBody"] = {"required": True, "content": body}
    return out


def _errors(rule: Rule, spec: Spec, method: str) -> dict[int, Schema | str | None]:
    takes = spec.body is not None or spec.form is not None or spec.lines
    found = {403, 401, *spec.also}
    found |= {400} if takes or spec.query or spec.path else set()
    found |= {413} if takes else set()
    found |= {415} if spec.body is not None or spec.form is not None else set()
    found |= {404} if rule.arguments else set()
    found |= {503, 507} if method != "GET" else set()
    return dict.fromkeys(found - set(spec.gives), _ERROR)


def _parameter(name: str, place: str, schema: Schema, *, needed: bool) -> dict[str, Any]:
    plain = {key: value for key, value in schema.items() if key != "description"}
    out = {"name": name, "in": place, "required": needed, "schema": plain}
    return out | ({"description": schema["description"]} if "description" in schema else {})


def _answer(status: int, shape: Schema | str | None) -> dict[str, Any]:
    out: dict[str, Any] = {"description": _WHY.get(status, "Done.")}
    if isinstance(shape, str):
        out["content"] = {shape: {"schema": {"type": "string"}}}
    elif isinstance(shape, Mapping):
        out["content"] = {"application/json": {"schema": shape}}
    return out


def _body(spec: Spec) -> dict[str, Any]:
    if spec.body is not None:
        return {"application/json": {"schema": spec.body}}
    if spec.form is not None:
        files = [name for name, schema in spec.form.items() if schema.get("format") == "binary"]
        form = {"type": "object", "properties": dict(spec.form), "required": files}
        return {"multipart/form-data": {"schema": form}}
    if spec.lines:
        return {"application/x-ndjson": {"schema": {"type": "string"}}}
    return {}
