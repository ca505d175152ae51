"""Files carried home: a log keeps its writers and numbers, any other track gets its own.

A track's writer is named after the file's content, so that the same file twice changes nothing.
The file itself is kept too: what we make of it is not what came.
"""

from __future__ import annotations

import hashlib
import json
import re
import zlib
from collections.abc import Mapping

from sqlalchemy import select

from unsown.core.errors import TrackError
from unsown.formats import guard
from unsown.formats import log as lines
from unsown.formats.track import read_track
from unsown.service import intake
from unsown.service.calendar import Calendar
from unsown.service.intake import Entry
from unsown.service.log import Sort, keep
from unsown.service.settings import calendar
from unsown.service.words import IntakeError, Taken
from unsown.store.schema import file
from unsown.store.store import Store

_MOST_DAYS = 400
Logs = Mapping[str, Mapping[int, Entry]]


def take(store: Store, name: str, data: bytes, dev: str | None, now_ms: int, sort: Sort) -> Taken:
    """Takes a file: its entries in one transaction, whole or not at all.

    Raises:
        TrackError: it cannot be read.
        IntakeError: ``intake-clash``.
    """
    guard.sized(data, name, guard.TRACK_BYTES, TrackError)
    before = _known(store, data)
    if before is not None:
        return before
    found = numbered(data, name)
    logs, notes = found or as_entries(data, name, dev)
    held = keep(store, logs, "file" if found is None else "phone", now_ms, sort)
    notes += [note for each in held.values() for note in each.notes]
    taken = Taken(
        name=name,
        kind="log" if found else "track",
        devs=tuple(held),
        kept=sum(each.kept for each in held.values()),
        again=sum(each.again for each in held.values()),
        days=_days_of(logs, calendar(store)),
        notes=tuple(dict.fromkeys(notes)),
    )
    _remember(store, data, taken, now_ms, whole=found is None)
    return taken


def numbered(data: bytes, name: str) -> tuple[Logs, list[str]] | None:
    """A log whose every line has a writer and a number, by both; and notes. None: something else.

    Lines that are no entries are left out and noted, as when a track is read.

    Raises:
        IntakeError: one number stands on two different entries of the file.
    """
    if not data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"{") or len(data) > guard.TRACK_BYTES:
        return None
    out: dict[str, dict[int, Entry]] = {}
    bad = 0
    for at, line in enumerate(data.removeprefix(b"\xef\xbb\xbf").split(b"\n"), 1):
        if not line.strip():
            continue
        try:
            says = intake.parsed(line.rstrip(b"\r"), _raise)
        except ValueError:
            bad += 1
            continue
        dev, seq = says.get("dev"), says.get("seq")
        if dev is None or seq is None or not re.fullmatch(intake.DEV, dev):
            return None
        first = out.setdefault(dev, {}).setdefault(seq, Entry(line.rstrip(b"\r"), says))
        if not intake.same(first.line, line):
            raise IntakeError(
                "intake-clash",
                f"Number {seq} of {dev!r} stands on two different entries.",
                where=f"{name}, line {at}",
                hint="A file holds each entry once.",
            )
    if not out:
        return None
    return out, [f"{bad} lines are no entries and were left out"] if bad else []


def _raise(_code: str, message: str, _hint: str = "") -> None:
    raise ValueError(message)


def as_entries(data: bytes, name: str, dev: str | None) -> tuple[Logs, list[str]]:
    """Any other track as entries of its own writers: one for each phone that it names.

    Raises:
        TrackError: it cannot be read.
    """
    found = read_track(data, name, dev)
    digest = hashlib.sha256(data).hexdigest()[:12]
    said: dict[str, list[str]] = {}
    for line in lines.write(found, number_lines=True).splitlines():
        said.setdefault(str(json.loads(line)["dev"]), []).append(line)
    out: dict[str, dict[int, Entry]] = {}
    for label, rows in sorted(said.items()):
        clean = re.sub(r"[^A-Za-z0-9._-]+", "-", dev or label).strip("-.")[:40]
        writer = f"file-{digest}" if len(said) == 1 and not dev else f"file-{digest}-{clean}"
        while writer in out:
            writer += "-2"
        mine = [{**json.loads(row), "dev": writer} for row in rows]
        out[writer] = {
            e["seq"]: Entry(line, e) for e, line in zip(mine, intake.written(mine), strict=True)
        }
    notes = [f"left out: {s.count} {s.reason}" for s in found.skipped]
    return out, [*found.notes, *notes]


def _known(store: Store, data: bytes) -> Taken | None:
    """What was taken from the very same file before; None where it is new."""
    digest = hashlib.sha256(data).digest()
    with store.read() as conn:
        said = conn.execute(select(file.c.said).where(file.c.sha256 == digest)).scalar()
    if said is None:
        return None
    was = json.loads(said)
    return Taken(
        name=was["name"],
        kind=was["kind"],
        devs=tuple(was["devs"]),
        kept=0,
        again=was["kept"] + was["again"],
        days=tuple(was["days"]),
        notes=("this file was taken before: nothing changed",),
    )


def _remember(store: Store, data: bytes, taken: Taken, now_ms: int, *, whole: bool) -> None:
    """Keeps a file beside what was taken from it; ``whole`` False where the entries say it all."""
    said = {
        "name": taken.name, "kind": taken.kind, "devs": taken.devs, "kept": taken.kept,
        "again": taken.again, "days": taken.days,
    }  # fmt: skip
    with store.write() as conn:
        digest = hashlib.sha256(data).digest()
        if conn.execute(select(file.c.sha256).where(file.c.sha256 == digest)).first() is None:
            conn.execute(
                file.insert().values(
                    sha256=digest,
                    name=taken.name,
                    size=len(data),
                    data=zlib.compress(data, 6) if whole else None,
                    said=json.dumps(said),
                    taken_ms=now_ms,
                )
            )


def _days_of(logs: Logs, calendar: Calendar) -> tuple[str, ...]:
    """The farm days that entries lie on."""
    days = {calendar.day(e.says["t_ms"]) for some in logs.values() for e in some.values()}
    return tuple(sorted(days)[:_MOST_DAYS])
