"""Who listens to what happens: few at once, and all let go when the house closes."""

from __future__ import annotations

import threading

MOST = 12
"""Most that listen at once; the server has more threads than that (``listen.THREADS``)."""


class Listeners:
    """How many listen, and whether the house is closing."""

    def __init__(self, most: int = MOST) -> None:
        self._free = threading.BoundedSemaphore(most)
        self.closing = threading.Event()

    def enter(self, patience_s: float = 0.0) -> bool:
        """Takes a place, waiting so long for one to come free; False where there is none."""
        return not self.closing.is_set() and self._free.acquire(timeout=patience_s)

    def leave(self) -> None:
        """Gives the place back."""
        self._free.release()
