"""One route: the right it needs, what it takes, what it gives.

The guard, the check of what comes in and the OpenAPI description all read the same Spec, so none
of them can say something else than the others.
"""

from __future__ import annotations

import dataclasses
import gzip
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import wraps
from typing import Any

import jsonschema_rs
from flask import Blueprint, Response, g, make_response, request
from werkzeug.exceptions import BadRequest, RequestEntityTooLarge
from werkzeug.wrappers import Response as BaseResponse

from unsown.routes.door import House, house
from unsown.routes.problem import RequestError
from unsown.routes.who import Right, Who

Schema = Mapping[str, Any]
JSON_BYTES = 4_000_000
_PACK_FROM = 2_000


@dataclass(frozen=True)
class Spec:
    """What a route is.

    Attributes:
        summary: one line for the description.
        who: the right it needs.
        query: name of a query value -> its schema; ``needs`` names those that must be there.
        path: name of a part of the path -> its schema.
        body: schema of a JSON body; None where there is none.
        form: schema of each field of a multipart body (``format: binary`` for a file).
        lines: a body of JSON lines, gzip allowed, that the route reads itself.
        gives: status -> schema of a JSON answer, or a media type, or None for an empty one.
        most_bytes: a larger body is refused before it is read.
        packs: large answers are sent with gzip to who takes it; only for what holds no secret.
        before_tls: also answered over plain http from another machine.
        also: statuses that it may end with beside the usual ones.
    """

    summary: str
    who: Right
    query: Mapping[str, Schema] = field(default_factory=dict)
    needs: tuple[str, ...] = ()
    path: Mapping[str, Schema] = field(default_factory=dict)
    body: Schema | None = None
    form: Mapping[str, Schema] | None = None
    lines: bool = False
    gives: Mapping[int, Schema | str | None] = field(default_factory=lambda: {204: None})
    most_bytes: int = JSON_BYTES
    packs: bool = False
    before_tls: bool = False
    also: tuple[int, ...] = ()


@dataclass(frozen=True)
class Ask:
    """What a view is given: the house, who asks, and the checked query and body."""

    house: House
    who: Who
    query: Mapping[str, Any]
    body: Any

    @property
    def farm(self) -> Any:
        """The farm."""
        return self.house.farm


View = Callable[..., Any]


def route(blueprint: Blueprint, method: str, rule: str, spec: Spec) -> Callable[[View], View]:
    """Hangs a view on a rule; it is called with an Ask and the parts of the path.

    It gives a Response, or what becomes JSON (mappings, lists, frozen dataclasses) for the first
    status of ``spec.gives``, or a pair of that and a status.
    """

    def hang(view: View) -> View:
        @wraps(view)
        def answered(**path: str) -> BaseResponse:
            _check_path(spec, path)
            ask = Ask(house(), g.who, _query(spec), _body(spec))
            return _response(spec, view(ask, **path))

        answered.spec = spec  # type: ignore[attr-defined]
        name = f"{view.__name__}_{method.lower()}"
        blueprint.add_url_rule(
            rule, name, answered, methods=[method], provide_automatic_options=False
        )
        return view

    return hang


def spec_of(view: View) -> Spec:
    """The Spec of a registered view; one without is a defect of ours and opens nothing."""
    spec: Spec = view.spec  # type: ignore[attr-defined]
    return spec


def json_of(value: Any) -> bytes:
    """JSON in UTF-8. A number that is none (NaN) is a defect of ours and is not sent."""
    return json.dumps(
        value, ensure_ascii=False, allow_nan=False, separators=(",", ":"), default=_plain
    ).encode()


def check(value: Any, schema: Schema, where: str) -> None:
    """Holds a value to its schema.

    Raises:
        RequestError: 400, with the first thing that is wrong and where it stands.
    """
    validator = jsonschema_rs.Draft202012Validator(dict(schema))
    for error in validator.iter_errors(value):
        place = ".".join([where, *(str(part) for part in error.instance_path)])
        raise RequestError(
            400,
            "shape",
            f"{error.message[:300]}.",
            where=place,
            hint="See /api/openapi.json for what is expected.",
        )


def _check_path(spec: Spec, path: Mapping[str, str]) -> None:
    for name, text in path.items():
        if name in spec.path:
            value = _typed(text, spec.path[name], f"path.{name}")
            check(value, spec.path[name], f"path.{name}")


def _query(spec: Spec) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for name, schema in spec.query.items():
        texts = request.args.getlist(name)
        if len(texts) > 1:
            raise RequestError(400, "shape", "It was given twice.", where=f"query.{name}")
        if texts:
            out[name] = _typed(texts[0], schema, f"query.{name}")
            check(out[name], schema, f"query.{name}")
        elif name in spec.needs:
            raise RequestError(
                400, "shape", "It was expected and did not come.", where=f"query.{name}"
            )
        else:
            out[name] = schema.get("default")
    return out


def _typed(text: str, schema: Schema, where: str) -> Any:
    if schema.get("type") != "integer":
        return text
    plain = text.isascii() and text.removeprefix("-").isdigit() and len(text) < 20
    if not plain or str(int(text)) != text:
        raise RequestError(
            400, "shape", f"A whole number was expected; {text[:40]!r} came.", where=where
        )
    return int(text)


def _body(spec: Spec) -> Any:
    if spec.body is not None:
        return _json_body(spec.body)
    if spec.form is not None:
        return _form(spec.form)
    return None


def _json_body(schema: Schema) -> Any:
    if request.mimetype != "application/json":
        raise RequestError(
            415,
            "media-type",
            f"JSON was expected (Content-Type application/json); {request.mimetype[:60]!r} came.",
            where="Content-Type",
        )
    try:
        value = json.loads(request.get_data(), parse_constant=_no_constant)
    except RequestEntityTooLarge:
        raise
    except (ValueError, RecursionError) as error:
        raise RequestError(400, "json", f"JSON was expected: {error}.", where="body") from error
    check(value, schema, "body")
    return value


def _form(fields: Mapping[str, Schema]) -> dict[str, Any]:
    if request.mimetype != "multipart/form-data":
        raise RequestError(
            415,
            "media-type",
            f"A multipart form was expected; {request.mimetype[:60]!r} came.",
            where="Content-Type",
        )
    out: dict[str, Any] = {}
    for name, schema in fields.items():
        if schema.get("format") == "binary":
            files = request.files.getlist(name)
            if len(files) != 1:
                raise RequestError(
                    400, "shape", f"One file was expected; {len(files)} came.", where=f"form.{name}"
                )
            out[name] = files[0]
        elif name in request.form:
            check(request.form[name], schema, f"form.{name}")
            out[name] = request.form[name]
    return out


def _response(spec: Spec, said: Any) -> BaseResponse:
    if isinstance(said, BaseResponse):
        return said
    status = next(iter(spec.gives))
    if isinstance(said, tuple) and len(said) == 2 and isinstance(said[1], int):
        said, status = said
    if said is None:
        return make_response("", 204 if spec.gives.get(status) is None else status)
    data = json_of(said)
    response: Response = make_response(data, status)
    response.content_type = "application/json"
    return packed(response) if spec.packs else response


def packed(response: Response) -> Response:
    """The answer with gzip, where it is large and the other side takes it."""
    response.headers["Vary"] = "Accept-Encoding"
    data = response.get_data()
    if len(data) >= _PACK_FROM and "gzip" in request.accept_encodings:
        response.set_data(gzip.compress(data, 5))
        response.headers["Content-Encoding"] = "gzip"
    return response


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"{type(value).__name__} cannot be said in JSON")


def _no_constant(name: str) -> Any:
    raise BadRequest(f"{name} is not a JSON number")
