"""A season as a whole: what is held of it, and forgetting it for good under a stone."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Connection, delete, func, select, update

from unsown.service.calendar import Calendar
from unsown.service.money import order_for, pace_of, priced, together
from unsown.service.settings import costs, settings_in
from unsown.service.words import FarmError
from unsown.store import chunks, index, stones, things
from unsown.store.schema import chunk, daily, disputed, file, span, work
from unsown.store.store import Store

_AT_ONCE = 50


def season(store: Store, year: int) -> dict[str, Any]:
    """What is held of a season, and the stones that lie on it."""
    with store.read() as conn:
        total = func.coalesce(func.sum(span.c.entries), 0), func.coalesce(func.sum(span.c.fixes), 0)
        entries, fixes = conn.execute(select(*total).where(span.c.season == year)).one()
        days = conn.execute(select(span.c.day).where(span.c.season == year).distinct()).all()
        devs = conn.execute(
            select(chunk.c.dev).join(span, span.c.chunk == chunk.c.id)
            .where(span.c.season == year).distinct()
        ).all()  # fmt: skip
        shorts = conn.execute(select(work.c.short).where(work.c.season == year)).all()
        laid = [s for s in stones.every(conn) if s["season"] == year]
        found = settings_in(store, conn)
        net_ha = sum(row["facts"]["net_ha"] for row in things.shorts(conn, "paddock"))
    known = [json.loads(s) for (s,) in shorts if s != "{}"]
    money, again, pace = costs(found), together(known), pace_of(known)
    return {
        "season": year,
        "entries": int(entries),
        "fixes": int(fixes),
        "days": sorted(d for (d,) in days),
        "phones": sorted(d for (d,) in devs),
        "paddocks": len(known),
        "sown_ha": round(sum(k["sown_ha"] for k in known), 5),
        "twice_ha": round(sum(k["twice_ha"] for k in known), 5),
        "bare_ha": round(sum(k["bare_ha"] for k in known), 5),
        "waste": priced(again, money, pace) if again and pace else None,
        "order": order_for(net_ha, again["share"], money) if again else None,
        "stones": laid,
    }


def forget(
    store: Store, year: int, confirm: str, calendar: Calendar, now_ms: int
) -> dict[str, Any]:
    """Removes every entry of a season and lays a stone: no phone and no file brings it back.

    The numbers stay counted as held. What was computed of the season goes, and so do files and
    disputed lines of it. Backups made before still have it.

    Raises:
        FarmError: ``confirm``: it is not the year in digits.
    """
    if confirm != str(year) or year < 1:
        raise FarmError(
            "confirm",
            f"To forget the season for good, {year} was expected as confirmation.",
            hint="A backup that was made before still has it.",
        )
    return bury(store, year, calendar.span_ms(year), now_ms)


def bury(store: Store, year: int, span_ms: tuple[int, int], now_ms: int) -> dict[str, Any]:
    """Lays the stone, without asking: a restored backup may hold what was forgotten since."""
    from_ms, until_ms = span_ms
    with store.write() as conn:
        near = span.c.season.in_((year - 1, year, year + 1))  # days may have been counted otherwise
        rows = conn.execute(select(span.c.chunk).where(near).distinct())
        ids = {r[0] for r in rows} | set(index.missing(conn, 2**31))
        gone = _forget_of(conn, sorted(ids), from_ms, until_ms)
        stones.lay(conn, year, from_ms, until_ms, gone, now_ms)
        _forget_beside(conn, year, from_ms, until_ms)
        for table in (daily, work):
            conn.execute(delete(table).where(table.c.season == year))
    store.shrink()
    return {"season": year, "entries": gone}


def _forget_of(conn: Connection, ids: list[int], from_ms: int, until_ms: int) -> int:
    dead: dict[str, list[int]] = {}
    for at in range(0, len(ids), _AT_ONCE):
        for each in list(chunks.chunks_by_id(conn, ids[at : at + _AT_ONCE])):
            lines = dict(enumerate(each.lines, each.first))
            mine = {n for n, x in lines.items() if from_ms <= json.loads(x)["t_ms"] < until_ms}
            if mine:
                dead.setdefault(each.dev, []).extend(mine)
                chunks.replace(conn, [each], {n: x for n, x in lines.items() if n not in mine})
    for dev, numbers in dead.items():
        chunks.bury(conn, dev, numbers)
    return sum(map(len, dead.values()))


def _forget_beside(conn: Connection, year: int, from_ms: int, until_ms: int) -> None:
    """Disputed lines of the season, and the content of files that hold any of its days."""
    for row in conn.execute(select(disputed.c.id, disputed.c.line)).all():
        if from_ms <= json.loads(row.line)["t_ms"] < until_ms:
            conn.execute(delete(disputed).where(disputed.c.id == row.id))
    for row in conn.execute(select(file.c.sha256, file.c.said)).all():
        if any(day.startswith(f"{year:04d}") for day in json.loads(row.said)["days"]):
            conn.execute(update(file).where(file.c.sha256 == row.sha256).values(data=None))
