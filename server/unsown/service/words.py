"""What the service answers with: frozen, ready for JSON by ``dataclasses.asdict``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from unsown.core.errors import UnsownError
from unsown.store.phones import May


class IntakeError(UnsownError):
    """Entries cannot be taken; nothing of what was sent was kept.

    Attributes:
        held: the last number that is held of this writer: send what comes after it.
    """

    def __init__(
        self, code: str, message: str, *, held: int = 0, where: str = "", hint: str = ""
    ) -> None:
        super().__init__(code, message, where=where, hint=hint)
        self.held = held


class FarmError(UnsownError):
    """What was asked of the farm is not there, or cannot be done (``code`` says which).

    Codes: ``unknown`` (no such thing), ``version-old`` comes as ``StoreError``, ``bad-value``,
    ``pairing-wrong``, ``confirm``.
    """


@dataclass(frozen=True)
class Held:
    """What is held of one writer.

    Attributes:
        held: the last number that is held without a gap; 0 where there is none.
        kept: entries that were new.
        again: entries that were held already, or lie under a stone.
        wanted: numbers that are missing although later ones are known, as [from, to] pairs.
        notes: what is odd about what came, such as a clock that is wrong.
        also: another phone that keeps the same log after a handover; None: none is known.
    """

    held: int
    kept: int = 0
    again: int = 0
    wanted: tuple[tuple[int, int], ...] = ()
    notes: tuple[str, ...] = ()
    also: str | None = None


@dataclass(frozen=True)
class Taken:
    """What was taken from a file: ``kind`` of file, its writers, entries kept and had already."""

    name: str
    kind: str
    devs: tuple[str, ...]
    kept: int
    again: int
    days: tuple[str, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Version:
    """A thing that was saved: its id, the number of the version, and what was put right."""

    id: str
    version: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Pairing:
    """A code that pairs one phone until ``until_ms``. It is shown once and kept as a hash."""

    code: str
    until_ms: int
    may: May


@dataclass(frozen=True)
class Claim:
    """What a phone gets for a code: its label, its token (shown once), what it may."""

    dev: str
    token: str
    may: May
    name: str


@dataclass(frozen=True)
class Event:
    """Something that happened, for those who watch: ``work``, ``board`` or ``job``, with data."""

    event: Literal["work", "board", "job"]
    data: Mapping[str, Any] = field(default_factory=dict)


#: Entries stamped this much after they came show a wrong clock, here or there.
ODD_AHEAD_MS = 10 * 60_000
#: Entries stamped this long before they came may do; a log is carried home within a year.
ODD_BEHIND_MS = 400 * 86_400_000
