"""Paddocks, rig cards and settings: read strictly, kept by version, given back ready for JSON."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

from sqlalchemy import Connection

from unsown.core.errors import PaddockError
from unsown.core.land import land_of
from unsown.core.plane import Plane
from unsown.core.words import Paddock
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig, write_rig
from unsown.service.words import FarmError, Version
from unsown.store import things
from unsown.store.store import Store
from unsown.store.things import Kind, Thing

Saved = Callable[[Connection, Thing], object]
"""Told inside the transaction that saves a thing, with what was saved."""


def to_paddock(geojson: Any, where: str = "the paddock") -> Paddock:
    """GeoJSON as it was saved -> Paddock.

    Raises:
        PaddockError: see ``formats.boundary``.
    """
    try:
        text = json.dumps(geojson, allow_nan=False).encode()
    except (TypeError, ValueError) as error:
        raise PaddockError("json-bad", f"Plain JSON was expected: {error}.", where=where) from error
    return read_paddock(text, where)


def save_paddock(
    store: Store,
    id_: str | None,
    geojson: Any,
    based_on: int | None,
    why: str,
    now_ms: int,
    saved: Saved,
) -> Version:
    """Keeps a paddock, or a newer version of one.

    Raises:
        PaddockError: it cannot be read, or has no name.
        FarmError: no such paddock.
        StoreError: ``version-old``.
    """
    paddock = to_paddock(geojson)
    if not paddock.name.strip():
        raise PaddockError(
            "paddock-name",
            "The paddock needs a name.",
            hint='Give it in the boundary feature, as "properties": {"name": "..."}.',
        )
    facts = measured(paddock, now_ms)
    made = _save(store, "paddock", id_, paddock.name, geojson, facts, why, based_on, now_ms, saved)
    return Version(made.id, made.version, tuple(paddock.notes))


def measured(paddock: Paddock, now_ms: int) -> dict[str, Any]:
    """What a boundary comes to with the keep-outs that hold now."""
    assert paddock.area is not None  # a file always has one
    west, south, east, north = paddock.area.bounds
    plane = Plane((south + north) / 2, (west + east) / 2)
    land = land_of(paddock, plane, now_ms, None, 0.0)
    return {
        "net_ha": round(float(land.open.area) / 1e4, 5),
        "keep_out_ha": round(float(land.keep_out.area) / 1e4, 5),
        "bounds": [west, south, east, north],
        "boundary": paddock.boundary,
    }


def save_rig(
    store: Store,
    id_: str | None,
    card: Mapping[str, Any],
    based_on: int | None,
    why: str,
    now_ms: int,
    saved: Saved,
) -> Version:
    """Keeps a rig card, or a newer version of one.

    Raises:
        RigError: the card cannot be used.
        FarmError, StoreError: as for a paddock.
    """
    rig = read_rig(toml(card), "the rig card")
    made = _save(store, "rig", id_, rig.name, dict(card), {}, why, based_on, now_ms, saved)
    return Version(made.id, made.version, rig.notes)


def toml(card: Mapping[str, Any]) -> bytes:
    """A card's keys as the text of its file, so that both are held to the same rules."""
    lines, tables = [], []
    for key, value in card.items():
        if isinstance(value, Mapping):
            tables += ["", f"[{json.dumps(str(key))}]"]
            tables += [
                f"{json.dumps(str(k))} = {_toml(v)}" for k, v in value.items() if v is not None
            ]
        elif key == "from" and isinstance(value, str):
            lines.append(f"from = {value}")
        elif value is not None:
            lines.append(f"{json.dumps(str(key))} = {_toml(value)}")
    return "\n".join([*lines, *tables, ""]).encode()


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return repr(value)
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")


def paddock_json(thing: Thing) -> dict[str, Any]:
    """A paddock as the pages get it."""
    return {
        "id": thing.id,
        "name": thing.name,
        "version": thing.version,
        "net_ha": thing.facts["net_ha"],
        "keep_out_ha": thing.facts["keep_out_ha"],
        "boundary": thing.facts["boundary"],
        "bounds": thing.facts["bounds"],
        "away": thing.away_ms is not None,
        "geojson": as_collection(thing.body),
    }


def as_collection(geojson: Any) -> dict[str, Any]:
    """A paddock's GeoJSON as what reads it may count on: a collection, also of a lone boundary."""
    if geojson.get("type") == "FeatureCollection":
        found: dict[str, Any] = geojson
        return found
    return {"type": "FeatureCollection", "features": [geojson]}


def rig_json(thing: Thing) -> dict[str, Any]:
    """A rig card as the pages get it."""
    rig = read_rig(toml(thing.body), thing.name)
    return {
        "id": thing.id,
        "name": thing.name,
        "version": thing.version,
        "card": thing.body,
        "notes": list(rig.notes),
        "away": thing.away_ms is not None,
        "toml": write_rig(rig),
        "rig": {k: v for k, v in asdict(rig).items() if k != "notes"},
    }


def history(store: Store, kind: Kind, id_: str) -> list[dict[str, Any]]:
    """Every version of a thing, oldest first: number, when, why, name."""
    with store.read() as conn:
        rows = things.history(conn, kind, id_)
    if not rows:
        raise unknown(kind, id_)
    return [{"version": t.version, "t_ms": t.made_ms, "why": t.why, "name": t.name} for t in rows]


def one(store: Store, kind: Kind, id_: str, version: int | None = None) -> Thing:
    """One version of a thing, the newest where none is named.

    Raises:
        FarmError: ``unknown``.
    """
    with store.read() as conn:
        found = things.get(conn, kind, id_, version)
    if found is None:
        raise unknown(kind, id_, version)
    return found


def unknown(kind: str, id_: str, version: int | None = None) -> FarmError:
    """The error for a thing that is not there."""
    which = f" with a version {version}" if version is not None else ""
    return FarmError("unknown", f"There is no {kind} {id_!r}{which}.")


def _save(
    store: Store,
    kind: Kind,
    id_: str | None,
    name: str,
    body: Any,
    facts: Mapping[str, Any],
    why: str,
    based_on: int | None,
    now_ms: int,
    saved: Saved,
) -> Version:
    with store.write() as conn:
        if id_ is not None and things.get(conn, kind, id_) is None:
            raise unknown(kind, id_)
        which = id_ or secrets.token_hex(4)
        number = things.save(conn, kind, which, name, body, facts, why, based_on, now_ms)
        made = things.get(conn, kind, which)
        if made is not None:
            saved(conn, made)
    return Version(which, number)
