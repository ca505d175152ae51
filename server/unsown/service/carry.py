"""What leaves the house as files: tracks, ground, tables and the log, in open formats."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from sqlalchemy import select

from unsown.core.words import Log
from unsown.formats import comma, gpx
from unsown.formats.moments import iso
from unsown.service import board, works
from unsown.service.calendar import Calendar
from unsown.service.fence import fence_of
from unsown.service.pick import pick
from unsown.service.settings import calendar
from unsown.service.things import one
from unsown.service.words import FarmError
from unsown.store import chunks, index
from unsown.store import things as kept
from unsown.store.schema import daily, span
from unsown.store.store import Store

PATCHES = (
    *("paddock", "season", "number", "call", "chance", "kind", "area_m2", "width_m", "length_m"),
    *("lat_deg", "lon_deg"),
)
RUNS = (
    *("paddock", "season", "day", "number", "down_utc", "up_utc", "how", "sure", "phone"),
    *("length_m", "width_m"),
)
DAYS = (
    *("paddock", "season", "day", "sown_ha", "twice_ha", "swept_ha", "down_km", "hours", "runs"),
    *("from_utc", "to_utc", "phones", "questions"),
)
_CHUNKS = 50


@dataclass(frozen=True)
class Carried:
    """A file to carry out: its name, its media type, its content piece by piece."""

    name: str
    media: str
    parts: Iterable[bytes]


def track(store: Store, paddock: str, season: int, day: str | None = None) -> Carried:
    """The fixes of a work (of one farm day) and its lever, GPX 1.1.

    Raises:
        FarmError: ``unknown``: nothing was logged there.
    """
    text = gpx.write(log_of(store, paddock, season, day))
    return Carried(
        _named(store, paddock, season, day, "track.gpx"), "application/gpx+xml", [text.encode()]
    )


def log_of(store: Store, paddock: str, season: int, day: str | None = None) -> Log:
    """The log of a work as the engine reads it; of one farm day where it is named.

    Raises:
        FarmError: ``unknown``: nothing was logged there.
    """
    days = calendar(store)
    with store.read() as conn:
        task = works.task_of(conn, (paddock, season), days)
        lines = works.with_lines(conn, task) if task is not None else ()
    found = None
    if task is not None:
        fence = fence_of(one(store, "paddock", paddock))
        found = pick(replace(task, lines=lines), fence)
    if found is not None and day is not None:
        found = _of_day(found, days, day)
    if found is None or not len(found.fixes):
        raise _nothing(f"on {day}" if day else f"in {season}", paddock)
    return found


def _of_day(log: Log, days: Calendar, day: str) -> Log:
    fixes = log.fixes
    keep = np.array([days.day(t) == day for t in fixes.t_ms.tolist()], dtype=bool)
    names = [name for name in fixes.__dataclass_fields__ if name != "phones"]
    some = replace(fixes, **{name: getattr(fixes, name)[keep] for name in names})
    return replace(log, fixes=some, marks=tuple(m for m in log.marks if days.day(m.t_ms) == day))


def ground(store: Store, paddock: str, season: int) -> Carried:
    """The states of the ground and the patches, GeoJSON: one feature each, with the rig's version.

    Raises:
        FarmError: ``unknown``: nothing is computed there.
    """
    made, work = board.ground(store, (paddock, season)), _work(store, paddock, season)
    if made is None:
        raise _nothing(f"in {season}, or it is not computed", paddock)
    rigs = ", ".join(f"{rig['name']} {rig['version']}" for rig in work.get("rigs") or ())
    about = {"paddock": _name(store, paddock), "season": season, "rig_version": rigs or None}
    features = [
        {**feature, "properties": {**feature["properties"], **about}}
        for feature in made["features"]
        if feature["properties"]["state"] != "run"
    ]
    text = json.dumps({**made, "features": features}, ensure_ascii=False, allow_nan=False)
    name = _named(store, paddock, season, None, "ground.geojson")
    return Carried(name, "application/geo+json", [text.encode()])


def patches(store: Store, paddock: str, season: int) -> Carried:
    """The bare patches as a table.

    Raises:
        FarmError: ``unknown``: nothing is computed there.
    """
    found = _tally(store, paddock, season)["patches"]
    about = {"paddock": _name(store, paddock), "season": season}
    rows = [{**p, **about, "lat_deg": p["lat"], "lon_deg": p["lon"]} for p in found]
    return _table(_named(store, paddock, season, None, "patches.csv"), PATCHES, rows)


def runs(store: Store, paddock: str, season: int) -> Carried:
    """The runs as a table.

    Raises:
        FarmError: ``unknown``: nothing is computed there.
    """
    _tally(store, paddock, season)
    about = {"paddock": _name(store, paddock), "season": season}
    rows = [
        {**run, **about, "down_utc": iso(run["down_ms"]), "up_utc": iso(run["up_ms"])}
        for run in _work(store, paddock, season)["runs"]
    ]
    return _table(_named(store, paddock, season, None, "runs.csv"), RUNS, rows)


def days(store: Store, season: int, paddock: str | None = None) -> Carried:
    """The days of a season as a table, of all paddocks or of one."""
    asked = select(daily.c.paddock, daily.c.day, daily.c.short).where(daily.c.season == season)
    if paddock is not None:
        one(store, "paddock", paddock)
        asked = asked.where(daily.c.paddock == paddock)
    with store.read() as conn:
        found = conn.execute(asked.order_by(daily.c.day, daily.c.paddock)).all()
        names = {thing.id: thing.name for thing in kept.newest(conn, "paddock")}
    rows = [
        {
            **short,
            "paddock": names.get(id_, id_),
            "season": season,
            "day": day,
            "from_utc": _iso(short["from_ms"]),
            "to_utc": _iso(short["to_ms"]),
            "phones": " ".join(short["phones"]),
        }
        for id_, day, short in ((row[0], row[1], json.loads(row[2])) for row in found)
    ]
    name = _named(store, paddock, season, None, "days.csv")
    return _table(name, DAYS, rows)


def lines(store: Store, season: int, paddock: str | None = None, day: str | None = None) -> Carried:
    """The log's own lines, as they came: of a season, a farm day, or all that a work is made of.

    With a paddock, also what else its writers logged in the same stretches, and the desk's answers:
    what it takes to compute the work again elsewhere.

    Raises:
        FarmError: ``unknown``: nothing was logged there.
    """
    counted = calendar(store)
    if paddock is None:
        chosen, single = _chunks_of(store, season, day), ()
    else:
        one(store, "paddock", paddock)
        with store.read() as conn:
            found = works.members(conn, (paddock, season))
            if day is not None and day not in {
                row.day for row in index.touches(conn, (paddock, season))
            }:
                found = None
            rigs = index.rig_marks(conn, [d for d, *_ in found.heads], 2**62) if found else ()
        chosen = list(found.chunk_ids) if found else []
        whole = set(chosen)
        refs = [(r.dev, r.seq, r.chunk) for r in rigs] + list(found.marks if found else ())
        single = tuple(sorted({(dev, seq) for dev, seq, at in refs if at not in whole}))
    if not chosen and not single:
        raise _nothing(f"on {day}" if day else f"in {season}", paddock or "the farm")

    def wanted(t_ms: int) -> bool:
        return counted.day(t_ms) == day if day else counted.season(t_ms) == season

    name = _named(store, paddock, season, day, "log.jsonl")
    return Carried(name, "application/x-ndjson", _lines(store, chosen, single, wanted))


def _chunks_of(store: Store, season: int, day: str | None) -> list[int]:
    asked = select(span.c.chunk).where(span.c.season == season)
    if day is not None:
        asked = asked.where(span.c.day == day)
    with store.read() as conn:
        # chunks that are not sorted yet may belong to any day: their lines are looked at too
        return sorted({row[0] for row in conn.execute(asked)} | set(index.missing(conn, 2**31)))


def _lines(
    store: Store, chosen: list[int], single: Iterable[tuple[str, int]], wanted: Any
) -> Iterator[bytes]:
    for at in range(0, len(chosen), _CHUNKS):
        with store.read() as conn:
            found = list(chunks.chunks_by_id(conn, chosen[at : at + _CHUNKS]))
        for each in found:
            some = [_owned(line, each.dev) for line in each.lines]
            yield b"".join(line + b"\n" for line, t_ms in some if wanted(t_ms))
    for dev, seq in single:  # few: answers, undos, the rig's name, also of other days
        with store.read() as conn:
            line = chunks.lines_between(conn, dev, seq, seq).get(seq)
        if line is not None:
            yield _owned(line, dev)[0] + b"\n"


def _owned(line: bytes, dev: str) -> tuple[bytes, int]:
    """A line with its writer's name in it, as it came where it has one; and its time."""
    says = json.loads(line)
    if "dev" in says:
        return line, says["t_ms"]
    own = json.dumps({"dev": dev, **says}, ensure_ascii=False, separators=(",", ":"))
    return own.encode(), says["t_ms"]


def _work(store: Store, paddock: str, season: int) -> dict[str, Any]:
    return board.show(store, (paddock, season), lambda _which: None)


def _tally(store: Store, paddock: str, season: int) -> Mapping[str, Any]:
    found = _work(store, paddock, season)["tally"]
    if found is None:
        raise _nothing(f"in {season}, or it is not computed", paddock)
    tally: Mapping[str, Any] = found
    return tally


def _table(name: str, columns: tuple[str, ...], rows: Iterable[Mapping[str, Any]]) -> Carried:
    return Carried(name, "text/csv; charset=utf-8", [comma.write(columns, rows)])


def _iso(t_ms: int | None) -> str | None:
    return None if t_ms is None else iso(t_ms)


def _name(store: Store, paddock: str) -> str:
    return one(store, "paddock", paddock).name


def _named(store: Store, paddock: str | None, season: int, day: str | None, what: str) -> str:
    """A file name that any system takes, such as ``dry-ladle-2026-05-14-track.gpx``."""
    words = _name(store, paddock) if paddock else "farm"
    slug = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:40] or "paddock"
    return f"{slug}-{day or season}-{what}"


def _nothing(when: str, where: str) -> FarmError:
    return FarmError("unknown", f"Nothing was logged {when}.", where=where)
