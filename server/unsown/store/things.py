"""Paddocks, rig cards and settings by version: never edited, only followed by a newer one."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import Connection, func, select

from unsown.store.errors import StoreError
from unsown.store.schema import thing, version

Kind = Literal["paddock", "rig", "settings"]


@dataclass(frozen=True)
class Thing:
    """One version of a thing. ``away_ms`` None: in use; ``facts`` were measured at saving."""

    kind: Kind
    id: str
    version: int
    name: str
    body: Any
    facts: Mapping[str, Any]
    why: str
    made_ms: int
    away_ms: int | None


def newest(conn: Connection, kind: Kind) -> list[Thing]:
    """The newest version of every thing of a kind, put away or not, by name."""
    top = (
        select(version.c.id, func.max(version.c.version).label("top"))
        .where(version.c.kind == kind)
        .group_by(version.c.id)
        .subquery()
    )
    rows = conn.execute(
        _all().join(top, (top.c.id == version.c.id) & (top.c.top == version.c.version))
        .where(version.c.kind == kind)
        .order_by(version.c.name, version.c.id)
    )  # fmt: skip
    return [_thing(row) for row in rows]


def shorts(conn: Connection, kind: Kind) -> list[dict[str, Any]]:
    """Id, name and facts of the newest version of everything in use: without the large part."""
    top = (
        select(version.c.id, func.max(version.c.version).label("top"))
        .where(version.c.kind == kind)
        .group_by(version.c.id)
        .subquery()
    )
    rows = conn.execute(
        select(version.c.id, version.c.name, version.c.version, version.c.facts)
        .join(top, (top.c.id == version.c.id) & (top.c.top == version.c.version))
        .join(thing, (thing.c.kind == version.c.kind) & (thing.c.id == version.c.id))
        .where(version.c.kind == kind, thing.c.away_ms.is_(None))
        .order_by(version.c.name, version.c.id)
    )
    return [
        {"id": r.id, "name": r.name, "version": r.version, "facts": json.loads(r.facts)}
        for r in rows
    ]


def get(conn: Connection, kind: Kind, id_: str, number: int | None = None) -> Thing | None:
    """One version of a thing; the newest where ``number`` is None; None where there is none."""
    asked = _all().where(version.c.kind == kind, version.c.id == id_)
    if number is not None:
        asked = asked.where(version.c.version == number)
    row = conn.execute(asked.order_by(version.c.version.desc()).limit(1)).first()
    return None if row is None else _thing(row)


def history(conn: Connection, kind: Kind, id_: str) -> list[Thing]:
    """Every version of a thing, oldest first."""
    rows = conn.execute(
        _all().where(version.c.kind == kind, version.c.id == id_).order_by(version.c.version)
    )
    return [_thing(row) for row in rows]


def save(
    conn: Connection,
    kind: Kind,
    id_: str,
    name: str,
    body: Any,
    facts: Mapping[str, Any],
    why: str,
    based_on: int | None,
    now_ms: int,
) -> int:
    """Adds a version, the first one where there is none yet, and returns its number.

    ``based_on`` is the version that was changed: None or 0 for a new thing.

    Raises:
        StoreError: ``version-old``: somebody saved a newer one meanwhile.
    """
    top = get(conn, kind, id_)
    now = top.version if top else 0
    if (based_on or 0) != now:
        raise StoreError(
            "version-old",
            f"Version {now} of this {kind} is the newest; the change was made to {based_on or 0}.",
            where=id_,
            hint="Load it again and make the change to the newest.",
        )
    if top is None:
        conn.execute(thing.insert().values(kind=kind, id=id_, made_ms=now_ms, away_ms=None))
    conn.execute(
        version.insert().values(
            kind=kind,
            id=id_,
            version=now + 1,
            name=name,
            body=json.dumps(body, ensure_ascii=False, allow_nan=False),
            facts=json.dumps(facts, allow_nan=False),
            why=why,
            made_ms=now_ms,
        )
    )
    return now + 1


def put_away(conn: Connection, kind: Kind, id_: str, now_ms: int | None) -> bool:
    """Hides a thing, or brings it back with None; tells whether there is such a thing."""
    done = conn.execute(
        thing.update().where(thing.c.kind == kind, thing.c.id == id_).values(away_ms=now_ms)
    )
    return bool(done.rowcount)


def _all() -> Any:
    return select(version, thing.c.away_ms).join_from(
        version, thing, (thing.c.kind == version.c.kind) & (thing.c.id == version.c.id)
    )


def _thing(row: Any) -> Thing:
    return Thing(
        kind=row.kind,
        id=row.id,
        version=row.version,
        name=row.name,
        body=json.loads(row.body),
        facts=json.loads(row.facts),
        why=row.why,
        made_ms=row.made_ms,
        away_ms=row.away_ms,
    )
