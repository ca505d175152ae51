"""Seasons that were forgotten: what lies under a stone is not kept, and cannot come back."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, select

from unsown.store.schema import stone


def spans(conn: Connection) -> list[tuple[int, int]]:
    """The times under stones, as (from ms, until ms)."""
    return [(int(a), int(b)) for a, b in conn.execute(select(stone.c.from_ms, stone.c.until_ms))]


def every(conn: Connection) -> list[dict[str, Any]]:
    """The stones, oldest season first."""
    rows = conn.execute(select(stone).order_by(stone.c.season, stone.c.id))
    return [{"season": r.season, "made_ms": r.made_ms, "entries": r.entries} for r in rows]


def lay(
    conn: Connection, season: int, from_ms: int, until_ms: int, entries: int, now_ms: int
) -> None:
    """Lays a stone on a season."""
    conn.execute(
        stone.insert().values(
            season=season, from_ms=from_ms, until_ms=until_ms, made_ms=now_ms, entries=entries
        )
    )
