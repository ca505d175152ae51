"""Tries: what a work would come to with some more entries. Nothing of a try is kept."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from unsown.service.words import FarmError
from unsown.store.index import Work

#: Tries that are remembered.
_MOST = 50
AREAS = ("sown_ha", "bare_ha", "doubt_ha", "twice_ha")


@dataclass
class Try:
    """One try: its entries as the desk gave them, and what came out so far."""

    id: str
    which: Work
    entries: tuple[Mapping[str, Any], ...]
    state: str = "waiting"
    stage: str = ""
    part: float = 0.0
    before: Mapping[str, Any] | None = None
    after: Mapping[str, Any] | None = None
    reason: Mapping[str, str] | None = None

    def json(self) -> dict[str, Any]:
        """As the pages get it."""
        return {
            "job": self.id,
            "paddock": self.which[0],
            "season": self.which[1],
            "state": self.state,
            "stage": self.stage,
            "part": self.part,
            "before": self.before,
            "after": self.after,
            "reason": self.reason,
        }


class Tries:
    """The tries that wait, run and are done."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._all: OrderedDict[str, Try] = OrderedDict()

    def add(self, which: Work, entries: tuple[Mapping[str, Any], ...]) -> Try:
        """A new try; an older one of the same work that still waits is given up for it."""
        new = Try(secrets.token_hex(8), which, entries)
        with self._lock:
            for old in self._all.values():
                if old.which == which and old.state == "waiting":
                    old.state = "replaced"
            self._all[new.id] = new
            while len(self._all) > _MOST:
                self._all.popitem(last=False)
        return new

    def next(self) -> Try | None:
        """The oldest that waits."""
        with self._lock:
            return next((t for t in self._all.values() if t.state == "waiting"), None)

    def busy(self) -> bool:
        """Whether any waits or runs."""
        with self._lock:
            return any(t.state in ("waiting", "computing") for t in self._all.values())

    def get(self, id_: str) -> Try:
        """A try by its id.

        Raises:
            FarmError: ``unknown``.
        """
        with self._lock:
            found = self._all.get(id_)
        if found is None:
            raise FarmError("unknown", f"There is no job {id_!r}.", hint="Ask for it again.")
        return found


def areas(short: Mapping[str, Any]) -> dict[str, Any] | None:
    """What a try compares, out of what the board shows; None where nothing is computed."""
    return {k: short[k] for k in AREAS} if short else None
