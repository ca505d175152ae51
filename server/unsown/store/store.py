"""The database: opened with the promises we give, read in snapshots, written one at a time."""

from __future__ import annotations

import contextlib
import json
import os
import threading
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine, event, func, make_url, select
from sqlalchemy.exc import DBAPIError

from unsown.store.errors import StoreError, told
from unsown.store.place import NAME
from unsown.store.schema import fact
from unsown.store.upgrade import upgrade

#: Marks the file as ours: "unsn".
APPLICATION_ID = 0x756E736E
_WAIT_MS = 10_000
_PRAGMAS = (
    "PRAGMA journal_mode = WAL",  # readers never wait, a kill loses nothing
    "PRAGMA synchronous = FULL",  # what was acknowledged survives a power cut
    "PRAGMA foreign_keys = ON",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA temp_store = MEMORY",
)


class Store:
    """One database, at the newest schema.

    Use ``read()`` for a consistent snapshot and ``write()`` for a transaction that is whole or
    not at all; both turn the database's troubles into ``StoreError``.
    """

    def __init__(self, url: str) -> None:
        """Opens it, and brings an older one up to date.

        Args:
            url: a database URL as SQLAlchemy takes it, such as ``sqlite:////home/x/unsown.db``.

        Raises:
            StoreError: it cannot be opened, is damaged, or was made by a newer program.
        """
        self.url = make_url(url)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self.where = str(self.url.database or self.url.render_as_string(hide_password=True))
        self._writing = threading.Lock()
        self.engine = create_engine(self.url, **self._options())
        if self.is_sqlite:
            event.listen(self.engine, "connect", _connected)
        event.listen(self.engine, "begin", self._begun)
        try:
            with self._told():
                upgrade(self)
        except BaseException:
            self.engine.dispose()
            raise

    @classmethod
    def at(cls, folder: Path) -> Store:
        """The SQLite file in a data folder; its owner's alone: positions are personal."""
        with contextlib.suppress(OSError):  # what is wrong is told when it is opened
            os.close(os.open(folder / NAME, os.O_CREAT | os.O_RDWR, 0o600))
        return cls(f"sqlite:///{(folder / NAME).absolute().as_posix()}")

    def close(self) -> None:
        """Closes every connection."""
        self.engine.dispose()

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A snapshot: what others write meanwhile is not seen."""
        with self._told(), self.engine.connect() as conn, _clean(conn), conn.begin():
            yield conn

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """A transaction, alone; whole when the block ends, not at all when it raises."""
        with self._told(), self._writing, self.engine.connect() as raw:
            conn = raw.execution_options(unsown_writes=True)
            with _clean(conn), conn.begin():
                yield conn

    def fact(self, conn: Connection, key: str, default: str | None = None) -> str | None:
        """What the store knows of itself under ``key``."""
        found = conn.execute(select(fact.c.value).where(fact.c.key == key)).scalar()
        return default if found is None else str(found)

    def set_fact(self, conn: Connection, key: str, value: str) -> None:
        """Sets what the store knows of itself."""
        conn.execute(fact.delete().where(fact.c.key == key))
        conn.execute(fact.insert().values(key=key, value=value))

    def check(self) -> list[str]:
        """What the database finds wrong with itself; empty when it is whole."""
        if not self.is_sqlite:
            with self.read() as conn:
                conn.execute(select(func.count()).select_from(fact))
            return []
        with self.read() as conn:
            rows = [str(r[0]) for r in conn.exec_driver_sql("PRAGMA integrity_check")]
            keys = [f"foreign key: {tuple(r)}" for r in conn.exec_driver_sql(
                "PRAGMA foreign_key_check")]  # fmt: skip
        return [row for row in rows if row != "ok"] + keys

    def shrink(self) -> None:
        """Leaves nothing of what was deleted in the file: SQLite would keep it in free pages."""
        if not self.is_sqlite:
            return
        with self._told(), self._writing, self.engine.connect() as conn:
            raw = conn.connection.cursor()
            raw.execute("VACUUM")
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            raw.close()

    def _options(self) -> dict[str, Any]:
        if not self.is_sqlite:
            # a snapshot to read in, as SQLite gives one by itself
            return {"pool_pre_ping": True, "isolation_level": "REPEATABLE READ"}
        return {
            "connect_args": {"timeout": _WAIT_MS / 1000, "check_same_thread": False},
            "pool_size": 8,
            "max_overflow": 40,
        }

    def _begun(self, conn: Connection) -> None:
        if self.is_sqlite:
            writes = conn.get_execution_options().get("unsown_writes")
            conn.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except (DBAPIError, OSError) as error:
            raise told(error, self.where) from error


@contextmanager
def _clean(conn: Connection) -> Iterator[None]:
    """Drops a connection on which something was raised.

    A row loop that was left half way keeps SQLite's snapshot open past the rollback, and whoever
    got the connection next would read of a time long gone.
    """
    try:
        yield
    except BaseException:
        conn.invalidate()
        raise


def _connected(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions begin where we say, not where the driver does
    cursor = connection.cursor()
    for pragma in _PRAGMAS:
        cursor.execute(pragma)
    if cursor.execute("PRAGMA application_id").fetchone()[0] == 0:
        tables = cursor.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        if not tables:
            cursor.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    ours = cursor.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
    cursor.close()
    if not ours:
        raise StoreError(
            "store-foreign",
            "This is a database of another program.",
            hint="Give another folder with --data.",
        )


def packed(value: Any) -> bytes:
    """JSON, packed for a column."""
    return zlib.compress(json.dumps(value, separators=(",", ":"), allow_nan=False).encode(), 6)


def unpacked(data: bytes) -> Any:
    """What ``packed`` packed."""
    return json.loads(zlib.decompress(data))
