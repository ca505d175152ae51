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

    def enter(self) -> bool:
        """Takes a place; False where there is none."""
        return not self.closing.is_set() and self._free.acquire(blocking=False)

    def leave(self) -> None:
        """Gives the place back."""
        self._free.release()
