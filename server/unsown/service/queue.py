"""Which work is computed next: those that are waited for first, none while its log streams in."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from unsown.store.index import Work

#: A work waits until nothing came for this long, but not longer than that, s.
QUIET_S, MOST_WAIT_S = 2.0, 30.0
#: A work that streams in rests this many times as long as its last computation took.
REST = 2.0


@dataclass
class _Waiting:
    first_s: float
    due_s: float
    day: str
    urgent: bool


class Queue:
    """Works that wait, with when each is due. Not safe to call from several threads at once."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._waiting: dict[Work, _Waiting] = {}
        self._rest_until: dict[Work, float] = {}

    def __len__(self) -> int:
        return len(self._waiting)

    def __contains__(self, which: Work) -> bool:
        return which in self._waiting

    def add(self, which: Work, day: str = "", *, urgent: bool = False) -> None:
        """Something came for a work; ``urgent`` where somebody waits for the answer."""
        now = self._clock()
        row = self._waiting.setdefault(which, _Waiting(now, now, day, urgent))
        row.day = max(row.day, day)
        row.urgent = row.urgent or urgent
        if row.urgent:
            row.due_s = now
        else:
            rest = self._rest_until.get(which, 0.0)
            row.due_s = max(min(now + QUIET_S, row.first_s + MOST_WAIT_S), rest)

    def took(self, which: Work, seconds: float) -> None:
        """A work was computed: it rests before it is again."""
        self._rest_until[which] = self._clock() + REST * seconds

    def take(self) -> Work | None:
        """The next work that is due, out of the queue: urgent ones, then the newest day."""
        now = self._clock()
        due = [(r.urgent, r.day, w) for w, r in self._waiting.items() if r.due_s <= now]
        if not due:
            return None
        which = max(due)[2]
        del self._waiting[which]
        return which

    def wait_s(self) -> float | None:
        """How long until the next work is due; None where none waits."""
        if not self._waiting:
            return None
        return max(min(r.due_s for r in self._waiting.values()) - self._clock(), 0.0)
