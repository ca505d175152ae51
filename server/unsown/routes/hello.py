"""What anybody may know about the house, and what the desk has to know about its door."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from unsown import __version__
from unsown.routes import shapes
from unsown.routes.endpoint import Ask, Spec, route
from unsown.service.engine import engine
from unsown.yard import code

hello = Blueprint("hello", __name__)


@route(
    hello,
    "GET",
    "/api/hello",
    Spec("Who answers, and who it takes the one who asks for", "anyone", gives={200: shapes.HELLO}),
)
def say(ask: Ask) -> dict[str, Any]:
    """The farm's name is told only to those who may look."""
    door = ask.house.door
    known = ask.who.kind != "nobody"
    return {
        "unsown": 1,
        "version": __version__,
        "engine": engine(),
        "who": ask.who.kind,
        "passphrase": door.passphrase is not None,
        "yard": bool(door.phones_at),
        "farm": ask.farm.settings().get("farm") if known else None,
        "dev": ask.who.dev or None,
    }


@route(
    hello,
    "GET",
    "/api/yard",
    Spec("How phones reach the house, and what ends soon", "desk", gives={200: shapes.YARD}),
)
def yard(ask: Ask) -> dict[str, Any]:
    """The address as text and as a square code, the authority's fingerprint, notices."""
    door = ask.house.door
    at = door.phones_at
    return {
        "address": at or None,
        "trust": door.trust_at or None,
        "qr": code.svg(door.trust_at or at) if at else None,
        "fingerprint": door.authority.fingerprint if door.authority else None,
        "notices": [
            {"code": one.code, "message": one.message, "hint": one.hint} for one in door.notices()
        ],
    }
