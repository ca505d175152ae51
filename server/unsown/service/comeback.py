"""After a backup was brought back: what the replaced store knew, and the phones will send again."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, insert, select, update

from unsown.service import season
from unsown.store import backup, chunks
from unsown.store.backup import Left
from unsown.store.schema import fact, phone, stone, writer
from unsown.store.store import Store


def come_back(folder: Path, given: Path, now_ms: int) -> tuple[Left, dict[str, int]]:
    """Brings a backup back, under the folder's lock.

    Numbers that phones were told are held, and are not any more, are wanted again. The desk gets a
    new label, since its later numbers are gone and would be given twice. Phones that were paired
    or withdrawn, and seasons that were forgotten, since the backup stay so where the replaced
    store could be read.

    Returns:
        What was left of the replaced store, and how many numbers each phone will send again.

    Raises:
        StoreError: nothing was changed.
    """
    left = backup.restore(folder, given)
    store = Store.at(folder)
    try:
        with store.write() as conn:
            conn.execute(fact.delete().where(fact.c.key == "desk"))
            store.set_fact(conn, "restored_ms", str(now_ms))
            _phones(conn, left, now_ms)
            again = _wanted(conn, left)
        _stones(store, left, now_ms)
    finally:
        store.close()
    return left, again


def _phones(conn: Connection, left: Left, now_ms: int) -> None:
    for row in left.phones:
        there = conn.execute(select(phone.c.dev).where(phone.c.dev == row["dev"])).first()
        if there is None:
            chunks.enrol(conn, row["dev"], "phone", now_ms)
            conn.execute(insert(phone).values(**{c.name: row[c.name] for c in phone.c}))
        elif row["withdrawn_ms"] is not None:
            gone = update(phone).where(phone.c.dev == row["dev"])
            conn.execute(gone.values(withdrawn_ms=row["withdrawn_ms"]))


def _wanted(conn: Connection, left: Left) -> dict[str, int]:
    out = {}
    for dev, (kind, known) in left.known.items():
        if kind != "phone" or known <= 0:
            continue
        chunks.enrol(conn, dev, kind, 0)
        now = conn.execute(select(writer.c.known).where(writer.c.dev == dev)).scalar_one()
        if known > now:
            conn.execute(update(writer).where(writer.c.dev == dev).values(known=known))
            out[dev] = sum(b - a + 1 for a, b in chunks.wanted(conn, dev))
    return out


def _stones(store: Store, left: Left, now_ms: int) -> None:
    with store.read() as conn:
        have = {(r.season, r.made_ms) for r in conn.execute(select(stone))}
    for row in left.stones:
        if (row["season"], row["made_ms"]) not in have:
            season.bury(store, row["season"], (row["from_ms"], row["until_ms"]), now_ms)
