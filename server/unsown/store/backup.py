"""A copy of the whole store in one file, made while it is written to; and bringing one back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from unsown.store.errors import StoreError, told
from unsown.store.place import NAME
from unsown.store.store import APPLICATION_ID
from unsown.store.upgrade import scripts

_BESIDE = ("-wal", "-shm")


@dataclass(frozen=True)
class Left:
    """What a replaced store knew that the backup may not.

    Attributes:
        kept_as: where the replaced store lies now; None where there was none.
        known: the highest number ever heard of, by writer, with the writer's kind.
        phones: rows of the table ``phone``.
        stones: rows of the table ``stone``.
    """

    kept_as: Path | None = None
    known: dict[str, tuple[str, int]] = field(default_factory=dict)
    phones: tuple[dict[str, Any], ...] = ()
    stones: tuple[dict[str, Any], ...] = ()


def backup(folder: Path, out: Path) -> int:
    """Writes a consistent copy of the store and checks it; the service may run meanwhile.

    Args:
        folder: the data folder.
        out: the file to make.

    Returns:
        How many bytes it has.

    Raises:
        StoreError: no store there, ``out`` exists already, no room, or the copy is not whole.
    """
    source = folder / NAME
    if not source.is_file():
        raise StoreError(
            "store-missing",
            "There is no store in this folder.",
            where=str(folder),
            hint="Give the data folder with --data.",
        )
    if out.exists():
        raise StoreError(
            "backup-exists",
            "The file exists already: a backup is never written over.",
            where=str(out),
            hint="Give another name, such as one with today's date.",
        )
    part = out.with_name(f".{out.name}.{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=rw", uri=True)) as conn:
            conn.execute("PRAGMA busy_timeout = 10000")
            conn.execute("VACUUM INTO ?", (str(part),))
        part.chmod(0o600)  # positions are personal
        _checked(part)
        _synced(part)
        part.replace(out)
        _synced(out.parent)
    except (sqlite3.Error, OSError) as error:
        raise told(error, str(out)) from error
    finally:
        part.unlink(missing_ok=True)
    return out.stat().st_size


def restore(folder: Path, given: Path) -> Left:
    """Puts a backup in the store's place; the store that was there is kept beside it.

    The caller holds the folder's lock.

    Raises:
        StoreError: the file is no backup, is damaged, or there is no room: nothing was changed.
    """
    if not given.is_file():
        raise StoreError("backup-missing", "There is no such file.", where=str(given))
    part, target = folder / f".{NAME}.part", folder / NAME
    try:
        shutil.copyfile(given, part)
        part.chmod(0o600)
        _checked(part, given)
        _synced(part)
        left = _put_aside(folder, target) if target.exists() else Left()
        part.replace(target)
        _synced(folder)
    except (sqlite3.Error, OSError) as error:
        raise told(error, str(given)) from error
    finally:
        part.unlink(missing_ok=True)
    return left


def _checked(path: Path, name: Path | None = None) -> None:
    """Refuses what is not a whole store of ours."""
    where = str(name or path)
    bad = StoreError(
        "backup-damaged",
        "The file is not a whole backup of a store.",
        where=where,
        hint="Take an earlier backup.",
    )
    with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as conn:
        try:
            ours = conn.execute("PRAGMA application_id").fetchone()[0]
            wrong = [r[0] for r in conn.execute("PRAGMA integrity_check") if r[0] != "ok"]
            now = conn.execute("SELECT version_num FROM alembic_version").fetchone()
        except sqlite3.DatabaseError as error:
            if "full" in str(error):
                raise
            raise bad from error
    if ours != APPLICATION_ID or wrong or now is None:
        raise bad
    if now[0] not in {each.revision for each in scripts().walk_revisions()}:
        raise StoreError(
            "store-newer",
            f"The backup was made by a newer unsown (its schema is {now[0]}).",
            where=where,
            hint="Install that version or a later one.",
        )


def _put_aside(folder: Path, target: Path) -> Left:
    """Moves the store that is there to a name of its own, and reads what it knew, if it can."""
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    aside = folder / f"unsown-before-{stamp}.db"
    count = 1
    while aside.exists():
        count += 1
        aside = folder / f"unsown-before-{stamp}-{count}.db"
    found = _known(target)
    for ending in ("", *_BESIDE):
        was = target.with_name(target.name + ending)
        if was.exists():
            was.replace(aside.with_name(aside.name + ending))
    return Left(aside, *found)


def _known(path: Path) -> tuple[Any, ...]:
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True)) as conn:
            conn.row_factory = sqlite3.Row
            conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            writers = conn.execute("SELECT * FROM writer").fetchall()
            known = {r["dev"]: (r["kind"], int(r["known"])) for r in writers}
            phones = tuple(dict(r) for r in conn.execute("SELECT * FROM phone"))
            stones = tuple(dict(r) for r in conn.execute("SELECT * FROM stone"))
            return known, phones, stones
    except (sqlite3.Error, KeyError):  # damaged: that is why a backup is brought back
        return {}, (), ()


def _synced(path: Path) -> None:
    """Waits until what was written is on the disk."""
    try:
        number = os.open(path, os.O_RDONLY)
    except PermissionError:  # a folder cannot be opened on every system
        return
    try:
        os.fsync(number)
    except OSError:
        if not path.is_dir():
            raise
    finally:
        os.close(number)
