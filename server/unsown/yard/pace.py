"""Slows guessing down: so many tries in a window of time, for each who asks and for all."""

from __future__ import annotations

import math
import threading
from collections import deque
from collections.abc import Callable

_MOST_KNOWN = 1000


class Pace:
    """Counts tries in a sliding window; safe to use from several threads.

    Args:
        each: most tries in the window from one address.
        all_: most tries in the window from all addresses together.
        window_s: seconds.
        clock: seconds that never go back.
    """

    def __init__(self, each: int, all_: int, window_s: float, clock: Callable[[], float]) -> None:
        self.each, self.all, self.window_s = each, all_, window_s
        self._clock = clock
        self._lock = threading.Lock()
        self._by: dict[str, deque[float]] = {}
        self._every: deque[float] = deque()

    def wait(self, who: str) -> int:
        """Takes one try; 0 if it may be made, else the whole seconds to wait (it is not taken)."""
        with self._lock:
            now = self._clock()
            self._forget(now)
            own = self._by.get(who, deque())
            full = [q for q, most in ((own, self.each), (self._every, self.all)) if len(q) >= most]
            if full:
                return max(1, math.ceil(max(q[0] for q in full) + self.window_s - now))
            if who in self._by or len(self._by) < _MOST_KNOWN:
                self._by.setdefault(who, own).append(now)
            self._every.append(now)
            return 0

    def forgive(self, who: str) -> None:
        """Gives the last try back: it was right, and only guessing is to be slowed."""
        with self._lock:
            own = self._by.get(who)
            if own:
                last = own.pop()
                if last in self._every:
                    self._every.remove(last)

    def _forget(self, now: float) -> None:
        old = now - self.window_s
        for queue in (self._every, *self._by.values()):
            while queue and queue[0] <= old:
                queue.popleft()
        self._by = {who: queue for who, queue in self._by.items() if queue}
