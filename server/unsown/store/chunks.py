"""The log entries as they came, byte for byte, under the number each writer gave them.

Lines lie packed in chunks of neighbouring numbers. A chunk is a way of keeping: which lines are
there, and when each came, does not depend on how they were grouped. Nothing here reads a line.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, func, select

from unsown.store.errors import StoreError
from unsown.store.schema import buried, chunk, disputed, unsorted, writer

#: Most lines that one chunk is made of; small ones are sealed into chunks of this many.
LINES = 600
#: Most disputed lines that are kept of one writer: evidence, not a way to fill the disk.
MOST_DISPUTED = 1_000
_AT_ONCE = 200


@dataclass(frozen=True)
class Chunk:
    """Lines ``first`` to ``last`` of one writer; ``received`` as [first number, ms] pairs."""

    id: int
    dev: str
    first: int
    last: int
    lines: tuple[bytes, ...]
    received: tuple[tuple[int, int], ...]


def enrol(conn: Connection, dev: str, kind: str, now_ms: int) -> None:
    """Makes a writer known, if it is not yet."""
    if conn.execute(select(writer.c.dev).where(writer.c.dev == dev)).first() is None:
        conn.execute(writer.insert().values(dev=dev, kind=kind, held=0, known=0, made_ms=now_ms))


def held(conn: Connection, dev: str) -> int:
    """The number up to which everything of a writer is held (or lies under a stone); 0: none."""
    return int(conn.execute(select(writer.c.held).where(writer.c.dev == dev)).scalar() or 0)


def wanted(conn: Connection, dev: str) -> list[tuple[int, int]]:
    """The numbers that are missing below the highest ever heard of, as (first, last)."""
    row = conn.execute(select(writer.c.held, writer.c.known).where(writer.c.dev == dev)).first()
    if row is None or row.known <= row.held:
        return []
    out, at = [], int(row.held) + 1
    for first, last in _ranges(conn, dev, int(row.held) + 1, int(row.known)):
        if first > at:
            out.append((at, first - 1))
        at = max(at, last + 1)
    return [*out, (at, int(row.known))] if at <= row.known else out


def lines_between(conn: Connection, dev: str, first: int, last: int) -> dict[int, bytes]:
    """The lines of a writer that are held between two numbers, both included."""
    out: dict[int, bytes] = {}
    for each in chunks_of(conn, dev, first, last):
        rows = enumerate(each.lines, each.first)
        out.update((seq, line) for seq, line in rows if first <= seq <= last)
    return out


def under_stone(conn: Connection, dev: str, first: int, last: int) -> set[int]:
    """The numbers between two that lie under a stone."""
    rows = conn.execute(
        select(buried.c.first, buried.c.last).where(
            buried.c.dev == dev, buried.c.first <= last, buried.c.last >= first
        )
    )
    return {n for a, b in rows for n in range(max(a, first), min(b, last) + 1)}


def put(conn: Connection, dev: str, lines: Mapping[int, bytes], received_ms: int) -> list[Chunk]:
    """Keeps lines whose numbers are not held yet; the chunks that were made.

    The caller has compared what is held already, and moves ``held`` on by ``advance`` after.
    """
    made = []
    for first, run in _runs(sorted(lines), lines):
        for at in range(0, len(run), LINES):
            part = run[at : at + LINES]
            made.append(_insert(conn, dev, first + at, part, ((first + at, received_ms),)))
    return made


def bury(conn: Connection, dev: str, numbers: Iterable[int]) -> None:
    """Counts numbers as held without keeping their lines."""
    old = conn.execute(select(buried.c.first, buried.c.last).where(buried.c.dev == dev)).all()
    spans = sorted([(a, b) for a, b in old] + [(n, n) for n in numbers])
    merged: list[list[int]] = []
    for a, b in spans:
        if merged and a <= merged[-1][1] + 1:
            merged[-1][1] = max(merged[-1][1], b)
        else:
            merged.append([a, b])
    conn.execute(buried.delete().where(buried.c.dev == dev))
    if merged:
        conn.execute(buried.insert(), [{"dev": dev, "first": a, "last": b} for a, b in merged])


def advance(conn: Connection, dev: str, fresh: Sequence[int]) -> tuple[int, int]:
    """Moves ``held`` over everything that follows it without a gap, after ``fresh`` numbers came.

    Returns:
        ``held``, and the highest number ever heard of.
    """
    row = conn.execute(select(writer.c.held, writer.c.known).where(writer.c.dev == dev)).one()
    at, known = int(row.held), int(row.known)
    if not fresh:
        return at, known
    first, last = min(fresh), max(fresh)
    if known == at and first == at + 1 and last - at == len(fresh):
        at = last  # as nearly always: they follow what is held, and nothing lies beyond
    else:
        for start, end in _ranges(conn, dev, at + 1, max(known, last)):
            if start > at + 1:
                break
            at = max(at, end)
    known = max(known, last, at)
    conn.execute(writer.update().where(writer.c.dev == dev).values(held=at, known=known))
    return at, known


def dispute(conn: Connection, dev: str, lines: Mapping[int, bytes], now_ms: int) -> None:
    """Keeps lines that say something else than what is held under their number."""
    kept = conn.execute(
        select(func.count()).select_from(disputed).where(disputed.c.dev == dev)
    ).scalar_one()
    for seq, line in list(lines.items())[: max(MOST_DISPUTED - int(kept), 0)]:
        digest = hashlib.sha256(line).digest()
        there = select(disputed.c.id).where(
            disputed.c.dev == dev, disputed.c.seq == seq, disputed.c.sha256 == digest
        )
        if conn.execute(there).first() is None:
            conn.execute(
                disputed.insert().values(
                    dev=dev, seq=seq, line=line, sha256=digest, received_ms=now_ms
                )
            )


def disputes(conn: Connection) -> list[dict[str, Any]]:
    """Every disputed line beside the one that is held, oldest first."""
    out = []
    for row in conn.execute(select(disputed).order_by(disputed.c.id)):
        ours = lines_between(conn, row.dev, row.seq, row.seq).get(row.seq)
        out.append(
            {
                "dev": row.dev,
                "seq": row.seq,
                "held": None if ours is None else ours.decode(),
                "came": row.line.decode(),
                "received_ms": row.received_ms,
            }
        )
    return out


def chunks_of(conn: Connection, dev: str, first: int = 1, last: int = 2**62) -> Iterator[Chunk]:
    """The chunks of a writer that hold any number between two, in order."""
    at = first
    while True:
        rows = conn.execute(
            select(chunk)
            .where(chunk.c.dev == dev, chunk.c.last >= at, chunk.c.first <= last)
            .order_by(chunk.c.first)
            .limit(_AT_ONCE)
        ).all()  # not row by row: a loop that is left half way would keep its snapshot
        for row in rows:
            yield opened(row)
            at = row.last + 1
        if len(rows) < _AT_ONCE:
            return


def chunks_by_id(conn: Connection, ids: Sequence[int]) -> Iterator[Chunk]:
    """The chunks with these ids, by writer and number within each few hundred."""
    for at in range(0, len(ids), _AT_ONCE):
        part = ids[at : at + _AT_ONCE]
        rows = conn.execute(
            select(chunk).where(chunk.c.id.in_(part)).order_by(chunk.c.dev, chunk.c.first)
        ).all()
        for row in rows:
            yield opened(row)


def opened(row: Any) -> Chunk:
    """A row of the table ``chunk``, unpacked and checked.

    Raises:
        StoreError: the lines are not what was written.
    """
    try:
        text = zlib.decompress(row.lines)
    except zlib.error:
        text = b""
    if hashlib.sha256(text).digest() != row.sha256:
        raise StoreError(
            "store-damaged",
            f"Entries {row.first} to {row.last} of {row.dev!r} are not as they were written.",
            hint="The disk may be failing. Copy the store away; bring back the last backup.",
        )
    received = tuple((int(a), int(b)) for a, b in json.loads(row.received))
    return Chunk(row.id, row.dev, row.first, row.last, tuple(text.split(b"\n")), received)


def replace(conn: Connection, old: Sequence[Chunk], new: Mapping[int, bytes]) -> list[Chunk]:
    """Puts lines of one writer into fresh chunks in place of old ones; when each came stays.

    ``new`` may hold less than ``old`` (a season was forgotten), never anything else.
    """
    came = sorted(pair for each in old for pair in each.received)
    conn.execute(chunk.delete().where(chunk.c.id.in_([each.id for each in old])))
    made = []
    for first, run in _runs(sorted(new), new):
        for at in range(0, len(run), LINES):
            part, start = run[at : at + LINES], first + at
            end = start + len(part) - 1
            before = [ms for n, ms in came if n <= start]
            pairs = [(start, before[-1]), *((n, ms) for n, ms in came if start < n <= end)]
            made.append(_insert(conn, old[0].dev, start, part, tuple(pairs)))
    return made


def _insert(
    conn: Connection,
    dev: str,
    first: int,
    lines: Sequence[bytes],
    received: tuple[tuple[int, int], ...],
) -> Chunk:
    text = b"\n".join(lines)
    last = first + len(lines) - 1
    made = conn.execute(
        chunk.insert().values(
            dev=dev,
            first=first,
            last=last,
            lines=zlib.compress(text, 3),
            sha256=hashlib.sha256(text).digest(),
            received=json.dumps(received, separators=(",", ":")),
        )
    ).inserted_primary_key
    id_ = int(made[0]) if made else 0
    conn.execute(unsorted.insert().values(chunk=id_))
    return Chunk(id_, dev, first, last, tuple(lines), received)


def _runs(numbers: Sequence[int], lines: Mapping[int, bytes]) -> Iterator[tuple[int, list[bytes]]]:
    """Lines of neighbouring numbers, with the first number of each such run."""
    start = 0
    for at in range(1, len(numbers) + 1):
        if at == len(numbers) or numbers[at] != numbers[at - 1] + 1:
            yield numbers[start], [lines[n] for n in numbers[start:at]]
            start = at


def _ranges(conn: Connection, dev: str, first: int, last: int) -> list[tuple[int, int]]:
    """What is held or buried between two numbers, as (first, last), in order."""
    out = []
    for table in (chunk, buried):
        rows = conn.execute(
            select(table.c.first, table.c.last).where(
                table.c.dev == dev, table.c.last >= first, table.c.first <= last
            )
        )
        out += [(int(a), int(b)) for a, b in rows]
    return sorted(out)
