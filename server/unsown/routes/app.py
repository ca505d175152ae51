"""The app: a farm and a door in, a WSGI application out."""

from __future__ import annotations

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException

from unsown.core.errors import UnsownError
from unsown.routes import guard, problem
from unsown.routes.carry import carry
from unsown.routes.door import Door, House
from unsown.routes.endpoint import spec_of
from unsown.routes.entries import entries
from unsown.routes.events import events
from unsown.routes.hello import hello
from unsown.routes.openapi import openapi
from unsown.routes.outlines import outlines
from unsown.routes.pack import pack
from unsown.routes.paddocks import paddocks
from unsown.routes.phones import phones
from unsown.routes.rigs import rigs
from unsown.routes.season import season
from unsown.routes.session import session
from unsown.routes.settings import settings
from unsown.routes.sheets import sheets
from unsown.routes.shell import shell
from unsown.routes.trust import trust
from unsown.routes.work import work
from unsown.service.farm import Farm

BLUEPRINTS = (
    *(hello, session, phones, entries, settings, outlines, paddocks, rigs, work, events, pack),
    *(season, carry, sheets, openapi, trust, shell),
)


def create_app(farm: Farm, door: Door) -> Flask:
    """The app for one farm; every route of it names the right it needs.

    Raises:
        AttributeError: a route has no Spec: a defect of ours that opens nothing.
    """
    app = Flask("unsown.routes", static_folder=None, template_folder="pages")
    app.extensions["unsown"] = House(farm, door)
    app.config["MAX_FORM_MEMORY_SIZE"] = 500_000
    app.config["MAX_FORM_PARTS"] = 20
    app.config["TRAP_HTTP_EXCEPTIONS"] = False
    app.before_request(guard.before)
    app.after_request(guard.after)
    app.register_error_handler(UnsownError, problem.of_ours)
    app.register_error_handler(HTTPException, problem.of_http)
    app.register_error_handler(Exception, _defect(app))
    for blueprint in BLUEPRINTS:
        app.register_blueprint(blueprint)
    for view in app.view_functions.values():
        spec_of(view)
    return app


def _defect(app: Flask):  # type: ignore[no-untyped-def]
    def told(error: Exception) -> Response:
        # the path names no secret: those come in bodies and headers only
        app.logger.error("%s %r failed", request.method, request.path, exc_info=error)
        return problem.of_ours(
            problem.RequestError(
                500,
                "defect",
                f"A defect in the program ({type(error).__name__}). Nothing that was "
                "acknowledged is lost.",
                hint="What unsown serve printed says where; report that.",
            )
        )

    return told
