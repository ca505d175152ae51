"""A work put together for computing, and what was computed of it kept."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, and_, delete, insert, or_, select, update

from unsown.service import settings
from unsown.service.calendar import Calendar
from unsown.service.engine import engine
from unsown.service.fence import fence_of
from unsown.service.rigcards import named_in, rigs_by_phone, rigs_for
from unsown.service.task import Added, Done, Lines, Task
from unsown.service.things import to_paddock
from unsown.store import chunks, index, things
from unsown.store.index import PAD_MS, Work
from unsown.store.schema import daily, work
from unsown.store.store import Store, packed, unpacked
from unsown.store.things import Thing

_DAY_MS = 86_400_000
#: Versions of a paddock that are looked at for keep-outs added lately.
_VERSIONS = 4


@dataclass(frozen=True)
class Members:
    """What may belong to a work: whole chunks, and single marks of others, by (dev, number)."""

    chunk_ids: tuple[int, ...]
    marks: tuple[tuple[str, int, int], ...]
    named: tuple[tuple[int, str], ...]
    said: tuple[tuple[str, tuple[tuple[int, str], ...]], ...]
    heads: tuple[tuple[str, int, int], ...]


def members(conn: Connection, which: Work) -> Members | None:
    """What of the log a work is made of; None where nothing lies in it."""
    touches = index.touches(conn, which)
    if not touches:
        return None
    heads: dict[str, list[int]] = {}
    spans: dict[tuple[str, str], list[int]] = {}
    for row in touches:
        head = heads.setdefault(row.dev, [0, 0])
        head[0], head[1] = max(head[0], row.last), head[1] + row.fixes
        span = spans.setdefault((row.dev, row.day), [row.from_ms, row.to_ms])
        span[0], span[1] = min(span[0], row.from_ms), max(span[1], row.to_ms)
    times = [(a - PAD_MS, b + PAD_MS) for a, b in spans.values()]
    near = index.marks_near(conn, which, times)
    # a phone that was elsewhere speaks of elsewhere; one without a position, and the desk, may be
    # speaking of this work
    elsewhere = index.positioned(conn, [m.day for m in near]) - spans.keys()
    found = {(m.dev, m.seq, m.chunk) for m in near if m.paddock or (m.dev, m.day) not in elsewhere}
    found |= {(u.dev, u.seq, u.chunk) for u in index.undos(conn, [(d, s) for d, s, _ in found])}
    rigs = index.rig_marks(conn, list(heads), max(b for _, b in times))
    lines = _lines_of(conn, [(r.dev, r.seq, r.chunk) for r in rigs])
    first_ms = min(a for a, _ in times)
    of_dev: dict[str, list[bytes]] = {}
    for each, line in zip(rigs, lines, strict=True):
        of_dev.setdefault(each.dev, []).append(line)
    return Members(
        chunk_ids=tuple(sorted({row.chunk for row in touches})),
        marks=tuple(sorted(found)),
        named=tuple(_since(named_in(lines), first_ms)),
        said=tuple(
            (dev, tuple(_since(named_in(some), first_ms))) for dev, some in sorted(of_dev.items())
        ),
        heads=tuple((dev, last, n) for dev, (last, n) in sorted(heads.items())),
    )


def _since(named: list[tuple[int, str]], first_ms: int) -> list[tuple[int, str]]:
    """The last card named before a work begins, and those named while it lasts."""
    before = [pair for pair in sorted(named) if pair[0] <= first_ms]
    return before[-1:] + [pair for pair in sorted(named) if pair[0] > first_ms]


def _lines_of(conn: Connection, refs: Sequence[tuple[str, int, int]]) -> list[bytes]:
    by_chunk = {c.id: c for c in chunks.chunks_by_id(conn, sorted({i for *_, i in refs}))}
    return [by_chunk[i].lines[seq - by_chunk[i].first] for _, seq, i in refs]


def task_of(conn: Connection, which: Work, calendar: Calendar) -> Task | None:
    """A work ready for computing; ``lines`` are left out until ``with_lines``.

    None where nothing that was logged lies in it, or its paddock was put away.
    """
    paddock = things.get(conn, "paddock", which[0])
    found = members(conn, which)
    if found is None or paddock is None or paddock.away_ms is not None:
        return None
    rigs, versions, notes = rigs_for(conn, found.named)
    of_phones = rigs_by_phone(conn, dict(found.said))
    money = settings.costs_in(conn, which[1], calendar)
    lost = index.missing_of(conn, [dev for dev, *_ in found.heads])
    notes += tuple(
        f"entries {first} to {last} of {dev!r} are damaged and were left out"
        for dev, first, last in lost
    )
    said = [
        engine(),
        [which[0], paddock.version],
        which[1],
        list(versions),
        found.named,
        found.said,
        [calendar.zone, calendar.day_start],
        found.heads,
        lost,
        [(dev, seq) for dev, seq, _ in found.marks],
        [asdict(money.prices), money.trip_s],
    ]
    key = hashlib.sha256(json.dumps(said).encode()).hexdigest()[:32]
    return Task(
        which[0], which[1], key, paddock.body, (), rigs, versions, calendar, notes, costs=money,
        of_phones=of_phones, added=_added(conn, which[0]),
    )  # fmt: skip


def _added(conn: Connection, paddock: str) -> tuple[Added, ...]:
    """The keep-outs that the last versions of a paddock brought."""
    out: list[Added] = []
    before: set[tuple[str, str, str]] | None = None
    for version in things.history(conn, "paddock", paddock)[-_VERSIONS:]:
        outs = to_paddock(version.body, version.name).keep_outs
        now = {(k.kind, k.name, k.area.wkt): k for k in outs}
        if before is not None:
            new = [k for key, k in now.items() if key not in before]
            out += [Added(version.made_ms, k.name or k.kind, k.hazard) for k in new]
        before = set(now)
    return tuple(out)


def with_lines(conn: Connection, task: Task) -> tuple[Lines, ...]:
    """The lines of a task.

    Raises:
        StoreError: they are not as they were written.
    """
    found = members(conn, (task.paddock, task.season))
    if found is None:
        return ()
    text: dict[str, list[bytes]] = {}
    for each in chunks.chunks_by_id(conn, found.chunk_ids):
        text.setdefault(each.dev, []).extend(each.lines)
    whole = set(found.chunk_ids)
    single: dict[str, list[bytes]] = {}
    others = [ref for ref in found.marks if ref[2] not in whole]
    for (dev, *_), line in zip(others, _lines_of(conn, others), strict=True):
        single.setdefault(dev, []).append(line)
    return tuple(
        Lines(dev, b"\n".join([*text.get(dev, []), *single.get(dev, [])]))
        for dev in sorted(text.keys() | single.keys())
    )


def keep(store: Store, task: Task, done: Done, calendar: Calendar, now_ms: int) -> bool:
    """Keeps what was computed; tells whether it is still what there is to compute.

    A work of which nothing is left meanwhile is dropped.
    """
    which = (task.paddock, task.season)
    with store.write() as conn:
        now = task_of(conn, which, calendar)
        if now is None:
            index.drop_work(conn, which)
            return True
        _put(conn, which, task.key, done, stale=now.key != task.key, now_ms=now_ms)
        return now.key == task.key


def _put(conn: Connection, which: Work, key: str, done: Done, *, stale: bool, now_ms: int) -> None:
    here = and_(work.c.paddock == which[0], work.c.season == which[1])
    conn.execute(
        update(work).where(here).values(
            stale=int(stale),
            key=key,
            state=done.state,
            reason=json.dumps(done.reason) if done.reason else "",
            made_ms=now_ms,
            took_s=done.took_s,
            short=json.dumps(done.short),
            body=packed(done.body) if done.body is not None else None,
            ground=packed(done.ground) if done.ground is not None else None,
        )
    )  # fmt: skip
    conn.execute(delete(daily).where(daily.c.paddock == which[0], daily.c.season == which[1]))
    for day in done.days:
        conn.execute(
            insert(daily).values(
                paddock=which[0], season=which[1], day=day.day, short=json.dumps(day.short),
                body=packed(day.body),
            )
        )  # fmt: skip


def stale(conn: Connection) -> list[tuple[Work, str]]:
    """The works that may have changed since they were computed, with their last day."""
    rows = conn.execute(
        select(work.c.paddock, work.c.season, work.c.last_day).where(work.c.stale == 1)
    )
    return [((p, s), day) for p, s, day in rows]


def try_again(conn: Connection) -> None:
    """Has works computed anew whose process died: at a new start it may be for another reason."""
    died = and_(work.c.state == "failed", work.c.reason.contains('"worker-died"'))
    conn.execute(update(work).where(died).values(stale=1, key=""))


def settled(store: Store, which: Work, calendar: Calendar) -> bool:
    """Whether there is nothing to compute: it is as it was computed, or nothing of it is left.

    Looked at and noted in one transaction, so that nothing that comes meanwhile is lost.
    """
    with store.write() as conn:
        task, kept = task_of(conn, which, calendar), row(conn, which)
        if task is None:
            index.drop_work(conn, which)
            return True
        if kept is None or kept.key != task.key:
            return False
        here = and_(work.c.paddock == which[0], work.c.season == which[1])
        conn.execute(update(work).where(here).values(stale=0))
        return True


def fail(store: Store, which: Work, reason: Mapping[str, str], now_ms: int) -> None:
    """Notes that a work cannot be computed as things are; what comes later has it tried anew."""
    with store.write() as conn:
        if row(conn, which) is not None:
            _put(conn, which, "", Done("failed", reason), stale=False, now_ms=now_ms)


def row(conn: Connection, which: Work) -> Any:
    """What is kept of a work; None where nothing is."""
    here = and_(work.c.paddock == which[0], work.c.season == which[1])
    return conn.execute(select(work).where(here)).first()


def all_stale(
    conn: Connection,
    paddocks: Iterable[str] | None = None,
    *,
    seasons: ColumnElement[bool] | None = None,
) -> list[Work]:
    """Notes that every work (of these paddocks, of these seasons) may have changed."""
    asked = select(work.c.paddock, work.c.season)
    if seasons is not None:
        asked = asked.where(seasons)
    if paddocks is not None:
        asked = asked.where(work.c.paddock.in_(list(paddocks)))
    found = [(p, s) for p, s in conn.execute(asked)]
    for which in found:
        index.set_stale(conn, which)
    return found


def changed(conn: Connection, saved: Thing) -> list[Work]:
    """What a saved thing has to do with is looked at anew; the works that may change by it.

    A paddock's surroundings, as they are and as they were, are sorted anew. A rig card may be any
    work's. Another zone or day start moves every day; other prices tell another worth.
    """
    if saved.kind == "rig":
        return all_stale(conn)
    if saved.kind == "settings":
        if set(saved.facts["changed"]) & set(settings.DAYS):
            index.forget_all(conn)
            return all_stale(conn)
        # nobody goes back for a patch of an earlier season: its prices stay as they were then
        since, before = settings.seasons_of(conn, saved)
        return all_stale(conn, seasons=or_(work.c.season >= since, work.c.season < before))
    for each in things.history(conn, "paddock", saved.id)[-2:]:
        index.forget(conn, fence_of(each).boxes)
    return all_stale(conn, [saved.id])


def reason_of(found: Any) -> Mapping[str, str] | None:
    """Why a work failed or has nothing, as it was kept."""
    return json.loads(found.reason) if found.reason else None


def body_of(found: Any) -> Any:
    """The body of a work as it was kept."""
    return None if found.body is None else unpacked(found.body)
