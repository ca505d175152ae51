"""What is being done, on standard error, once it has taken two seconds."""

from __future__ import annotations

import sys
import threading
import time
from types import TracebackType
from typing import TextIO

QUIET_S = 2.0
_PLAIN_EVERY_S = 5.0


class Progress:
    """A line that says the stage and how far it is; also a context that clears it at the end.

    On a terminal the line is written over; elsewhere (a file, a pipe) a line is added at most
    every five seconds, so that a short run leaves nothing there at all.
    """

    def __init__(self, stream: TextIO | None = None, quiet_s: float = QUIET_S) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._terminal = self._stream.isatty()
        self._start = time.monotonic()
        self._next = self._start + quiet_s
        self._stage, self._share = "reading", 0.0
        self._shown = 0
        self._lock = threading.Lock()
        self._end = threading.Event()
        self._ticker = threading.Thread(target=self._tick, daemon=True)

    def __enter__(self) -> Progress:
        self._ticker.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end.set()
        self._ticker.join()
        if self._shown:
            self._put("\r" + " " * self._shown + "\r")

    def __call__(self, stage: str, share: float) -> None:
        """Takes note of the stage and of the share of it done, 0 to 1."""
        self._stage, self._share = stage, share
        self._show()

    def _tick(self) -> None:
        while not self._end.wait(0.25):
            self._show()

    def _show(self) -> None:
        with self._lock:
            now = time.monotonic()
            if now < self._next or self._end.is_set():
                return
            self._next = now + (0.2 if self._terminal else _PLAIN_EVERY_S)
            share = f" {100 * min(max(self._share, 0.0), 1.0):.0f} %" if self._share > 0 else ""
            text = f"{self._stage}{share} ({now - self._start:.0f} s)"
            if self._terminal:
                self._put("\r" + text.ljust(self._shown))
                self._shown = max(self._shown, len(text))
            else:
                self._put(text + "\n")

    def _put(self, text: str) -> None:
        try:
            self._stream.write(text)
            self._stream.flush()
        except (OSError, ValueError):  # nobody is listening: not a reason to stop the work
            self._next = float("inf")
