"""What goes on behind the intake: sorting what is not sorted yet, sealing small chunks."""

from __future__ import annotations

import json
import logging
import threading
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, func, select

from unsown.service.calendar import Calendar
from unsown.service.fence import Fence, Fences
from unsown.service.index import rows_of
from unsown.service.settings import calendar
from unsown.store import chunks, index, things
from unsown.store.chunks import Chunk
from unsown.store.errors import StoreError
from unsown.store.index import Work
from unsown.store.schema import chunk
from unsown.store.store import Store

_LOG = logging.getLogger("unsown")
#: Chunks sorted in one transaction: short enough that an intake does not wait long.
_AT_ONCE = 10
#: A run of small chunks is sealed once it holds this many lines.
SEAL_LINES = chunks.LINES
#: Numbers that are looked at for small chunks: the newest of a writer; older ones are sealed.
_LOOK_BACK = 50_000


class Clerk:
    """Keeps the index of the log up to date."""

    def __init__(self, store: Store, touched: Callable[[Iterable[Work]], None]) -> None:
        self._store = store
        self._touched = touched
        self._fences = Fences()
        self._lock = threading.Lock()
        self._damaged: set[int] = set()
        self._known: tuple[Mapping[str, Fence], Calendar] | None = None

    def forget(self) -> None:
        """Things were saved: fences and calendar are looked at anew."""
        with self._lock:
            self._known = None

    def sort(
        self, conn: Connection, made: Iterable[tuple[Chunk, Any]], *, quiet: bool = False
    ) -> set[Work]:
        """Sorts fresh chunks, given with what their lines say, inside the caller's transaction.

        Returns the works that may be changed by them; ``quiet`` True where nothing is.
        """
        fences, days = self._now(conn)
        out: set[Work] = set()
        for each, says in made:
            out |= index.write(conn, each.id, rows_of(each, says, fences, days), quiet=quiet)
        return out

    def left(self, conn: Connection) -> bool:
        """Whether there is anything to sort that can be."""
        return bool(self._waiting(conn, 1))

    def catch_up(self) -> bool:
        """Sorts some chunks that are not sorted; tells whether any were left.

        A damaged chunk is passed over until the next start, so that it holds nothing else up.

        Raises:
            StoreError: the store cannot be read or written.
        """
        with self._store.read() as conn:
            ids = self._waiting(conn, _AT_ONCE)
        if not ids:
            return False
        try:
            self._catch_up(ids)
        except StoreError as error:
            if error.code != "store-damaged":
                raise
            for id_ in ids:
                self._alone(id_)
        return True

    def _waiting(self, conn: Connection, most: int) -> list[int]:
        ids = index.missing(conn, most + len(self._damaged))
        return [i for i in ids if i not in self._damaged][:most]

    def _alone(self, id_: int) -> None:
        try:
            self._catch_up([id_])
        except StoreError as error:
            if error.code != "store-damaged":
                raise
            self._damaged.add(id_)
            _LOG.error("sorting the log: %s", error)

    def _catch_up(self, ids: list[int]) -> None:
        with self._store.read() as conn:
            some = list(chunks.chunks_by_id(conn, ids))
        said = [(each, [json.loads(line) for line in each.lines]) for each in some]
        with self._store.write() as conn:
            there = {r[0] for r in conn.execute(select(chunk.c.id).where(chunk.c.id.in_(ids)))}
            index.clear(conn, sorted(there))
            works = self.sort(conn, [(c, s) for c, s in said if c.id in there])
        self._touched(works)

    def seal(self) -> int:
        """Puts runs of small chunks into chunks of the usual size; how many runs there were.

        Which lines are held, and when each came, stays as it is.
        """
        sealed = 0
        with self._store.read() as conn:
            devs = [r[0] for r in conn.execute(select(chunk.c.dev).distinct())]
        for dev in devs:
            with self._store.read() as conn:
                runs = _small_runs(conn, dev)
            for first, last in runs:
                with self._store.write() as conn:
                    old = list(chunks.chunks_of(conn, dev, first, last))
                    lines = {n: line for c in old for n, line in enumerate(c.lines, c.first)}
                    new = chunks.replace(conn, old, lines)
                    said = [(c, [json.loads(x) for x in c.lines]) for c in new]
                    self.sort(conn, said, quiet=True)
                sealed += 1
        return sealed

    def _now(self, conn: Connection) -> tuple[Mapping[str, Fence], Calendar]:
        with self._lock:
            if self._known is None:
                rows = things.newest(conn, "paddock")
                self._known = self._fences.of(rows), calendar(self._store)
            return self._known


def _small_runs(conn: Connection, dev: str) -> list[tuple[int, int]]:
    """Runs of neighbouring small chunks that together fill one, as (first, last) numbers."""
    newest = select(func.max(chunk.c.last)).where(chunk.c.dev == dev).scalar_subquery()
    rows = conn.execute(
        select(chunk.c.first, chunk.c.last)
        .where(chunk.c.dev == dev, chunk.c.last > newest - _LOOK_BACK)
        .order_by(chunk.c.first)
    )
    out: list[tuple[int, int]] = []
    start, end, count = 0, 0, 0
    for first, last in rows:
        size = last - first + 1
        if size > SEAL_LINES // 2 or (count and first != end + 1):
            start, end, count = 0, 0, 0
            if size > SEAL_LINES // 2:
                continue
        start, end, count = (first if not count else start), last, count + size
        if count >= SEAL_LINES:
            out.append((start, end))
            start, end, count = 0, 0, 0
    return out
