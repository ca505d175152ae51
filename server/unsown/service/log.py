"""Keeping entries: compared with what is held, all of them or none; what clashes is kept apart."""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection

from unsown.service.index import odd_notes
from unsown.service.intake import DEV, Entry, parsed, read_lines, same, written
from unsown.service.rivals import rival_of
from unsown.service.words import FarmError, Held, IntakeError
from unsown.store import chunks, stones
from unsown.store.chunks import Chunk
from unsown.store.store import Store

DESK = "desk"
#: A phone is told of another keeper for so long after both logged, ms.
LATELY_MS = 3 * 3_600_000
_SHOWN = 3


Sort = Callable[[Connection, list[tuple[Chunk, list[Any]]]], object]
"""Takes fresh chunks with what their lines say, inside the transaction that keeps them."""


def take(store: Store, dev: str, first: int, body: bytes, now_ms: int, sort: Sort) -> Held:
    """Entries that a phone sent, from number ``first`` on; what is held then.

    Raises:
        IntakeError: not entries, numbers that leave a gap (``intake-gap``), or a number that
            is held with other content (``intake-clash``; both are kept to look at).
        StoreError: no room, no right, damaged: nothing was kept.
    """
    if not re.fullmatch(DEV, dev) or first < 1:
        raise IntakeError(
            "intake-dev", f"A label and a number from 1 were expected; {dev!r}, {first} came."
        )
    try:
        entries = read_lines(dev, first, body)
        return keep(store, {dev: entries}, "phone", now_ms, sort, gaps=False)[dev]
    except IntakeError as error:
        error.held = held(store, dev).held
        raise


def held(store: Store, dev: str, now_ms: int | None = None) -> Held:
    """The last number held of a writer, and what is wanted of it below what is known.

    With the time also whether another phone keeps the same log, or did so lately.
    """
    with store.read() as conn:
        also = None if now_ms is None else rival_of(conn, dev, now_ms, LATELY_MS)
        return Held(chunks.held(conn, dev), wanted=tuple(chunks.wanted(conn, dev)), also=also)


def keep(
    store: Store,
    logs: Mapping[str, Mapping[int, Entry]],
    kind: str,
    now_ms: int,
    sort: Sort,
    *,
    gaps: bool = True,
) -> dict[str, Held]:
    """Entries of one or several writers in one transaction.

    ``gaps`` True takes them whatever numbers are missing before, as in a file of some days.

    Raises:
        IntakeError: ``intake-clash``; nothing was kept but the clashing lines, apart.
            ``intake-gap``: nothing was kept.
    """
    out: dict[str, Held] = {}
    clash: dict[str, dict[int, bytes]] = {}
    with store.write() as conn:
        graves = stones.spans(conn)
        found = {dev: _compared(conn, dev, entries) for dev, entries in logs.items()}
        for dev, (*_, other) in found.items():
            if other:
                clash[dev] = other
        for dev, (new, again, _) in ({} if clash else found).items():
            chunks.enrol(conn, dev, kind, now_ms)
            if not gaps:
                _follows(conn, dev, min(logs[dev]))
            out[dev] = _kept(conn, dev, new, again, graves, now_ms, sort, old=gaps)
    if clash:
        _dispute(store, clash, kind, now_ms)
    return out


def _follows(conn: Connection, dev: str, first: int) -> None:
    """Refuses entries that begin after a gap."""
    next_ = chunks.held(conn, dev) + 1
    if first > next_:
        raise IntakeError(
            "intake-gap",
            f"Number {next_} was expected next; the entries begin at {first}.",
            hint=f"Send from {next_} on.",
        )


def _compared(
    conn: Connection, dev: str, entries: Mapping[int, Entry]
) -> tuple[dict[int, Entry], int, dict[int, bytes]]:
    """New entries, how many are held already, and lines that clash with what is held."""
    first, last = min(entries), max(entries)
    ours = chunks.lines_between(conn, dev, first, last)
    gone = chunks.under_stone(conn, dev, first, last)
    new, again, other = {}, 0, {}
    for seq, entry in entries.items():
        if seq in gone:
            again += 1
        elif seq not in ours:
            new[seq] = entry
        elif same(ours[seq], entry.line):
            again += 1
        else:
            other[seq] = entry.line
    return new, again, other


def _kept(
    conn: Connection,
    dev: str,
    new: Mapping[int, Entry],
    again: int,
    graves: Sequence[tuple[int, int]],
    now_ms: int,
    sort: Sort,
    *,
    old: bool,
) -> Held:
    dead = {n for n, e in new.items() if any(a <= e.says["t_ms"] < b for a, b in graves)}
    made = chunks.put(conn, dev, {n: e.line for n, e in new.items() if n not in dead}, now_ms)
    if dead:
        chunks.bury(conn, dev, dead)
    upto, known = chunks.advance(conn, dev, list(new))
    sort(conn, [(c, [new[n].says for n in range(c.first, c.last + 1)]) for c in made])
    notes = odd_notes({n: e.says for n, e in new.items() if n not in dead}, now_ms, old=old)
    if dead:
        notes.append(f"{len(dead)} entries are of a season that was forgotten: not kept")
    return Held(
        held=upto,
        kept=len(new) - len(dead),
        again=again + len(dead),
        wanted=tuple(chunks.wanted(conn, dev)) if known > upto else (),
        notes=tuple(notes),
    )


def _dispute(
    store: Store, clash: Mapping[str, Mapping[int, bytes]], kind: str, now_ms: int
) -> None:
    with store.write() as conn:
        for dev, lines in clash.items():
            chunks.enrol(conn, dev, kind, now_ms)
            chunks.dispute(conn, dev, lines, now_ms)
        dev = next(iter(clash))
        held_now = chunks.held(conn, dev)
    numbers = ", ".join(map(str, list(clash[dev])[:_SHOWN]))
    more = f" and {len(clash[dev]) - _SHOWN} more" if len(clash[dev]) > _SHOWN else ""
    raise IntakeError(
        "intake-clash",
        f"Another content is held of {dev!r} under number {numbers}{more}; both are kept to look "
        "at, and nothing else of this sending was.",
        held=held_now,
        hint="A phone whose log began anew has to be paired anew, so that it gets a new label.",
    )


def desk_writer(store: Store, conn: Connection) -> str:
    """The label under which this store's desk writes: no other store's desk has the same."""
    found = store.fact(conn, "desk")
    if found is None:
        found = f"{DESK}-{secrets.token_hex(3)}"
        store.set_fact(conn, "desk", found)
    return found


def write_desk(
    store: Store, entries: Sequence[Mapping[str, Any]], now_ms: int, sort: Sort
) -> list[int]:
    """Entries that were made at the desk: they get the desk's next numbers, which it returns.

    An ``undo`` names whose entry it hides by ``of_dev`` (or ``dev``); the desk's own otherwise.

    Raises:
        FarmError: ``bad-value``: one is no entry; nothing was kept.
    """
    with store.write() as conn:
        dev = desk_writer(store, conn)
        chunks.enrol(conn, dev, "desk", now_ms)
        first = chunks.held(conn, dev) + 1
        lines = desk_lines(dev, first, entries)
        made = chunks.put(conn, dev, dict(enumerate(lines, first)), now_ms)
        chunks.advance(conn, dev, range(first, first + len(lines)))
        sort(conn, [(c, [json.loads(line) for line in c.lines]) for c in made])
    return list(range(first, first + len(lines)))


def desk_lines(dev: str, first: int, entries: Sequence[Mapping[str, Any]]) -> list[bytes]:
    """The lines of desk entries, numbered from ``first`` on and held to the schema.

    Raises:
        FarmError: ``bad-value``.
    """
    if not entries:
        raise FarmError("bad-value", "At least one entry was expected.")
    out = []
    for at, given in enumerate(entries):
        if not isinstance(given, Mapping):
            raise FarmError("bad-value", f"Entry {at + 1}: an object was expected.")
        says = {k: v for k, v in given.items() if k not in ("v", "dev", "seq")}
        if given.get("kind") == "undo" and "dev" in given:
            says.setdefault("of_dev", given["dev"])
        try:
            line = written([{"v": 1, "dev": dev, "seq": first + at, **says}])[0]
        except (TypeError, ValueError) as error:
            raise FarmError("bad-value", f"Entry {at + 1} is not plain JSON: {error}.") from error

        def refuse(_code: str, message: str, hint: str = "", at: int = at) -> None:
            raise FarmError("bad-value", f"Entry {at + 1}: {message}", hint=hint)

        parsed(line, refuse)
        out.append(line)
    return out
