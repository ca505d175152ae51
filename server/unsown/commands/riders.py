"""Whose rig a card is of, where several rigs worked at once: ``--rig PHONE=CARD``, or the log."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from unsown.core.errors import UnsownError
from unsown.core.words import Log, Rig


@dataclass(frozen=True)
class Given:
    """A card's file, and the phones that ride on its rig; none: all that no other card names."""

    card: Path
    phones: tuple[str, ...] = ()


def given(text: str) -> Given:
    """``drill.toml``, or ``north=drill.toml``, or ``north,spare=drill.toml``."""
    phones, sign, card = text.partition("=")
    if not sign or Path(text).exists():
        return Given(Path(text))
    return Given(Path(card), tuple(name.strip() for name in phones.split(",") if name.strip()))


def named(rigs: Sequence[Rig], asked: Sequence[Given], phones: Sequence[str]) -> tuple[Rig, ...]:
    """The cards with their phones.

    Raises:
        UnsownError: a card is said to be of a phone that logged nothing.
    """
    for each in asked:
        strange = [name for name in each.phones if name not in phones]
        if strange:
            raise UnsownError(
                "rig-phone",
                f"--rig {strange[0]}={each.card}: no phone {strange[0]!r} logged a position; there"
                f" are {', '.join(map(repr, phones))}.",
                hint="A phone is called as its log says, or as its track's file is.",
            )
    return tuple(replace(rig, phones=g.phones) for rig, g in zip(rigs, asked, strict=True))


def by_log(rigs: Sequence[Rig], log: Log) -> tuple[Rig, ...] | None:
    """The cards with the phones that named them in the log; None where one phone named none."""
    cards: dict[str, set[str]] = {}
    for mark in log.marks:
        if mark.kind == "rig":
            cards.setdefault(mark.phone, set()).add(str(mark.says.get("card", "")))
    names = {rig.name for rig in rigs}
    if any(not cards.get(phone, set()) & names for phone in log.fixes.phones):
        return None
    return tuple(
        replace(rig, phones=tuple(p for p in log.fixes.phones if rig.name in cards[p]))
        for rig in rigs
    )
