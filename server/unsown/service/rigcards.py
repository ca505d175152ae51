"""Which rig card a work was sown with: the one a phone named, else the one that was saved last."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from unsown.core.words import Rig
from unsown.formats.rig import read_rig
from unsown.service.things import toml
from unsown.store import things
from unsown.store.things import Thing

Named = tuple[int, str]
"""From when (UTC ms) a phone named a card, and the card's name or id."""


def rigs_for(
    conn: Connection, named: Sequence[Named]
) -> tuple[tuple[Rig, ...], tuple[Mapping[str, Any], ...], tuple[str, ...]]:
    """The rigs for ``find``, each from its own time on; which versions they are; and notes.

    A later version of a card is a correction, and holds for everything, unless it says from when
    it holds: then the one before holds until then. A name that no card has is noted.
    """
    cards = things.newest(conn, "rig")
    if not cards:
        return (), (), ()
    used: list[tuple[int | None, Thing]] = []
    notes: list[str] = []
    for named_ms, name in sorted(named):
        hit = next((t for t in cards if name in (t.id, t.name)), None)
        if hit is None:
            notes.append(f"a phone named the rig {name!r}, which has no card here")
        elif not used or used[-1][1].id != hit.id:
            used.append((named_ms if used else None, hit))
    if not used:
        live = [t for t in cards if t.away_ms is None] or cards
        last = max(live, key=lambda t: (t.made_ms, t.id))
        used = [(None, last)]
        if len(live) > 1:
            notes.append(f"no phone named its rig: the card saved last, {last.name!r}, was taken")
    rigs: list[Rig] = []
    versions: dict[tuple[str, int], Mapping[str, Any]] = {}
    for from_ms, card in used:
        for thing, rig in _chain(conn, card):
            start = max((m for m in (from_ms, rig.from_ms) if m is not None), default=None)
            rigs.append(replace(rig, from_ms=start))
            about = {"id": thing.id, "name": thing.name, "version": thing.version}
            versions[thing.id, thing.version] = about
    rigs[0] = replace(rigs[0], from_ms=None)
    return tuple(rigs), tuple(versions.values()), tuple(notes)


def rigs_by_phone(conn: Connection, said: Mapping[str, Sequence[Named]]) -> tuple[Rig, ...]:
    """The rigs where several worked at once: each phone's own, by the cards that it named.

    Phones that named one and the same card share it. A phone that named none, or one that has no
    card here, has none.
    """
    cards = things.newest(conn, "rig")
    known = {name for t in cards for name in (t.id, t.name)}
    shared: dict[str, list[str]] = {}
    rigs: list[Rig] = []
    for dev, named in sorted(said.items()):
        if not named or any(name not in known for _, name in named):
            continue
        ids = list(
            dict.fromkeys(t.id for _, n in sorted(named) for t in cards if n in (t.id, t.name))
        )
        if len(ids) == 1:
            shared.setdefault(ids[0], []).append(dev)
        else:
            rigs += [replace(rig, phones=(dev,)) for rig in rigs_for(conn, named)[0]]
    for card, devs in shared.items():
        rigs += [replace(rig, phones=tuple(devs)) for rig in rigs_for(conn, [(0, card)])[0]]
    return tuple(rigs)


def _chain(conn: Connection, card: Thing) -> list[tuple[Thing, Rig]]:
    """The versions of a card that hold at any time, the earliest first."""
    out: list[tuple[Thing, Rig]] = []
    for thing in reversed(things.history(conn, "rig", card.id)):
        rig = read_rig(toml(thing.body), f"rig card {thing.name!r}, version {thing.version}")
        if not out or _start(rig) < _start(out[-1][1]):
            out.append((thing, rig))
        if rig.from_ms is None:
            break
    return out[::-1]


def _start(rig: Rig) -> float:
    return float("-inf") if rig.from_ms is None else float(rig.from_ms)


def named_in(lines: Sequence[bytes]) -> list[Named]:
    """The cards that log lines of kind ``rig`` name."""
    rows = [json.loads(line) for line in lines]
    return [(int(r["t_ms"]), str(r["card"])) for r in rows if r.get("kind") == "rig"]
