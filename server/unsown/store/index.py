"""Which work each chunk of the log belongs to. Derived; may be dropped and made again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, and_, delete, func, insert, select, update

from unsown.store.schema import (
    DERIVED,
    chunk,
    clock,
    daily,
    mark,
    span,
    touch,
    unsorted,
    work,
)

Box = tuple[float, float, float, float]
Work = tuple[str, int]
"""A paddock's id and a season."""
#: How long before its first and after its last fix in a paddock a mark still belongs to a visit.
PAD_MS = 60_000


@dataclass(frozen=True)
class Rows:
    """What the index says of one chunk: rows of its tables, as dicts."""

    spans: Sequence[Mapping[str, Any]]
    touches: Sequence[Mapping[str, Any]]
    marks: Sequence[Mapping[str, Any]]
    clock: Mapping[str, Any] | None


def clear(conn: Connection, chunk_ids: Sequence[int]) -> None:
    """Takes the rows of chunks out."""
    for table in (span, touch, mark, clock):
        column = table.c.chunk
        conn.execute(delete(table).where(column.in_(chunk_ids)))


def write(conn: Connection, chunk_id: int, rows: Rows, *, quiet: bool = False) -> set[Work]:
    """Puts the rows of a chunk that has none in; the works that may be changed by it.

    ``quiet`` True: the same lines in another chunk, so that nothing changes.
    """
    for table, some in ((span, rows.spans), (touch, rows.touches), (mark, rows.marks)):
        if some:
            conn.execute(insert(table), [{"chunk": chunk_id, **row} for row in some])
    if rows.clock:
        conn.execute(insert(clock).values(chunk=chunk_id, **rows.clock))
    conn.execute(delete(unsorted).where(unsorted.c.chunk == chunk_id))
    if quiet:
        return set()
    changed = {(t["paddock"], t["season"]): t["day"] for t in sorted(
        rows.touches, key=lambda t: t["day"])}  # fmt: skip
    for each, day in changed.items():
        set_stale(conn, each, day)
    others = _by_marks(conn, rows.marks) - changed.keys()
    for each in others:
        set_stale(conn, each, "")
    return changed.keys() | others


def _by_marks(conn: Connection, marks: Sequence[Mapping[str, Any]]) -> set[Work]:
    """The works that marks may belong to, by the paddock they name or by their time."""
    out = {(m["paddock"], m["season"]) for m in marks if m["paddock"]}
    times = [(m["t_ms"], m["day"]) for m in marks if not m["paddock"]]
    for m in marks:
        if m["of_seq"] is not None:
            hit = conn.execute(
                select(mark.c.t_ms, mark.c.day, mark.c.paddock, mark.c.season).where(
                    mark.c.dev == m["of_dev"], mark.c.seq == m["of_seq"]
                )
            ).first()
            if hit is not None and hit.paddock:
                out.add((hit.paddock, hit.season))
            elif hit is not None:
                times.append((hit.t_ms, hit.day))
        if m["kind"] == "rig":  # holds for whatever this phone sows from then on
            later = (touch.c.dev == m["dev"]) & (touch.c.to_ms >= m["t_ms"])
            rows = conn.execute(select(touch.c.paddock, touch.c.season).where(later).distinct())
            out |= {(p, s) for p, s in rows}
    for day in sorted({day for _, day in times}):
        mine = [t for t, d in times if d == day]
        rows = conn.execute(
            select(touch.c.paddock, touch.c.season)
            .where(
                touch.c.season == int(day[:4]),
                touch.c.day == day,
                touch.c.from_ms <= max(mine) + PAD_MS,
                touch.c.to_ms >= min(mine) - PAD_MS,
            )
            .distinct()
        )
        out |= {(p, s) for p, s in rows}
    return out


def set_stale(conn: Connection, which: Work, day: str = "") -> None:
    """Notes that a work may have changed; ``day`` is one that it has."""
    paddock, season = which
    here = and_(work.c.paddock == paddock, work.c.season == season)
    row = conn.execute(select(work.c.last_day).where(here)).first()
    if row is None:
        conn.execute(
            insert(work).values(
                paddock=paddock, season=season, stale=1, last_day=day, key="", state="none",
                reason="", made_ms=0, took_s=0.0, short="{}",
            )
        )  # fmt: skip
    else:
        conn.execute(update(work).where(here).values(stale=1, last_day=max(day, row.last_day)))


def missing(conn: Connection, most: int) -> list[int]:
    """Chunks that are to be sorted, oldest first."""
    rows = conn.execute(select(unsorted.c.chunk).order_by(unsorted.c.chunk).limit(most))
    return [int(r[0]) for r in rows]


def missing_of(conn: Connection, devs: Sequence[str]) -> list[tuple[str, int, int]]:
    """Writer, first and last number of chunks of these writers that are not sorted."""
    rows = conn.execute(
        select(chunk.c.dev, chunk.c.first, chunk.c.last)
        .join(unsorted, unsorted.c.chunk == chunk.c.id)
        .where(chunk.c.dev.in_(devs))
        .order_by(chunk.c.dev, chunk.c.first)
    )
    return [(dev, int(a), int(b)) for dev, a, b in rows]


def forget(conn: Connection, boxes: Iterable[Box]) -> None:
    """Has the chunks that have a fix in one of the boxes sorted anew; their rows stay till then."""
    for west, south, east, north in boxes:
        inside = (
            select(span.c.chunk)
            .where(
                span.c.west_deg <= east,
                span.c.east_deg >= west,
                span.c.south_deg <= north,
                span.c.north_deg >= south,
                span.c.chunk.not_in(select(unsorted.c.chunk)),
            )
            .distinct()
        )
        conn.execute(insert(unsorted).from_select(["chunk"], inside))


def forget_all(conn: Connection) -> None:
    """Has every chunk sorted anew; what was computed stays."""
    conn.execute(delete(unsorted))
    for table in (clock, mark, touch, span):
        conn.execute(delete(table))
    conn.execute(insert(unsorted).from_select(["chunk"], select(chunk.c.id)))


def drop(conn: Connection) -> None:
    """Drops everything that is derived, and has every chunk sorted anew."""
    for table in DERIVED:
        conn.execute(delete(table))
    forget_all(conn)


def seasons(conn: Connection) -> list[int]:
    """The seasons that any entry lies in, newest first; one look into the index for each."""
    out: list[int] = []
    while True:
        asked = select(func.min(span.c.season)).where(span.c.season > (out[-1] if out else 0))
        found = conn.execute(asked).scalar()
        if found is None:
            return out[::-1]
        out.append(int(found))


def loose(conn: Connection, season: int) -> tuple[int, list[str]]:
    """Fixes of a season near no paddock, and the days that have any."""
    rows = conn.execute(
        select(span.c.day, func.sum(span.c.loose))
        .where(span.c.season == season)
        .group_by(span.c.day)
        .order_by(span.c.day)
    ).all()
    found = [(day, int(n)) for day, n in rows if n]
    return sum(n for _, n in found), [day for day, _ in found]


def touches(conn: Connection, which: Work) -> list[Any]:
    """The touch rows of a work, by writer and time."""
    return list(
        conn.execute(
            select(touch)
            .where(touch.c.paddock == which[0], touch.c.season == which[1])
            .order_by(touch.c.dev, touch.c.from_ms, touch.c.last)
        )
    )


def marks_near(conn: Connection, which: Work, spans_ms: Sequence[tuple[int, int]]) -> list[Any]:
    """Marks that name the work's paddock, or name none and lie in one of the time spans."""
    columns = (mark.c.dev, mark.c.seq, mark.c.chunk, mark.c.day, mark.c.paddock)
    rows = list(
        conn.execute(select(*columns).where(mark.c.paddock == which[0], mark.c.season == which[1]))
    )
    for first, last in spans_ms:
        rows += conn.execute(
            select(*columns).where(
                mark.c.paddock.is_(None), mark.c.t_ms >= first, mark.c.t_ms <= last
            )
        )
    return list({(r.dev, r.seq): r for r in rows}.values())


def positioned(conn: Connection, days: Iterable[str]) -> set[tuple[str, str]]:
    """The writers that have a fix anywhere on these days, with the day."""
    wanted = sorted(set(days))
    rows = conn.execute(
        select(chunk.c.dev, span.c.day)
        .join(span, span.c.chunk == chunk.c.id)
        .where(
            span.c.season.in_({int(d[:4]) for d in wanted}),
            span.c.day.in_(wanted),
            span.c.fixes > 0,
        )
        .distinct()
    )
    return {(dev, day) for dev, day in rows}


def undos(conn: Connection, of: Iterable[tuple[str, int]]) -> list[Any]:
    """The undos of these entries, wherever they stand, and the undos of those."""
    wanted = set(of)
    out: dict[tuple[str, int], Any] = {}
    columns = (mark.c.dev, mark.c.seq, mark.c.chunk, mark.c.of_dev, mark.c.of_seq)
    rows = list(conn.execute(select(*columns).where(mark.c.of_seq.is_not(None))))
    grown = True
    while grown:
        new = {(r.dev, r.seq): r for r in rows if (r.of_dev, r.of_seq) in wanted}
        grown = not new.keys() <= out.keys()
        out |= new
        wanted |= new.keys()
    return list(out.values())


def rig_marks(conn: Connection, devs: Sequence[str], until_ms: int) -> list[Any]:
    """The entries of writers that name a rig card, up to a time, in order."""
    return list(
        conn.execute(
            select(mark.c.dev, mark.c.seq, mark.c.chunk, mark.c.t_ms)
            .where(mark.c.kind == "rig", mark.c.dev.in_(devs), mark.c.t_ms <= until_ms)
            .order_by(mark.c.t_ms, mark.c.dev, mark.c.seq)
        )
    )


def shifts(conn: Connection, since_ms: int) -> list[Any]:
    """The entries since a time that say who drives, in order."""
    return list(
        conn.execute(
            select(mark.c.dev, mark.c.seq, mark.c.t_ms)
            .where(mark.c.kind == "shift", mark.c.t_ms >= since_ms)
            .order_by(mark.c.t_ms, mark.c.dev, mark.c.seq)
        )
    )


def levers(conn: Connection, dev: str, after_seq: int, until_ms: int) -> list[int]:
    """When a phone logged its lever after an entry of its own, up to a time, ms, in order."""
    rows = conn.execute(
        select(mark.c.t_ms)
        .where(
            mark.c.dev == dev,
            mark.c.kind.in_(("lever", "flow")),
            mark.c.seq > after_seq,
            mark.c.t_ms <= until_ms,
        )
        .order_by(mark.c.t_ms)
    )
    return [int(t) for (t,) in rows]


def without_touch(conn: Connection, which: Work) -> bool:
    """Whether nothing that was logged lies in a work any more."""
    here = and_(touch.c.paddock == which[0], touch.c.season == which[1])
    return conn.execute(select(touch.c.chunk).where(here).limit(1)).first() is None


def drop_work(conn: Connection, which: Work) -> None:
    """Drops what was computed of a work."""
    for table in (daily, work):
        conn.execute(delete(table).where(table.c.paddock == which[0], table.c.season == which[1]))
