"""The one computing process as the service sees it: started when needed, anew when it dies."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from unsown.service import worker
from unsown.service.task import Done, Task

#: A computation that takes longer than this has lost its way, s.
LONGEST_S = 3600.0
_CONTEXT = multiprocessing.get_context("spawn")


class Bench:
    """Runs one task at a time in a process of its own.

    Whatever happens to that process costs the service nothing: its end is an answer too.
    """

    def __init__(self, longest_s: float = LONGEST_S) -> None:
        self._longest_s = longest_s
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._guard = threading.Lock()
        self._busy = False

    def run(self, task: Task, tell: Callable[[str, float], None]) -> Done | None:
        """Computes a task; None where it was stopped by ``stop``.

        A process that dies, or takes too long, gives ``failed`` with the code ``worker-died`` or
        ``worker-slow``.
        """
        with self._guard:
            pipe = self._started()
            self._busy = True
        try:
            pipe.send(("task", task))
            return self._answer(pipe, tell)
        except (EOFError, OSError):
            return self._died()
        finally:
            with self._guard:
                self._busy = False

    def stop(self) -> None:
        """Asks for the running task, if any, to be given up."""
        with self._guard, contextlib.suppress(OSError):
            if self._busy and self._pipe is not None:
                self._pipe.send((worker.STOP, None))

    def close(self) -> None:
        """Ends the process at once."""
        with self._guard:
            process, self._process = self._process, None
            pipe, self._pipe = self._pipe, None
        if process is not None:
            process.kill()
            process.join(10)
        if pipe is not None:
            pipe.close()

    @property
    def pid(self) -> int | None:
        """The number of the process; None where none runs."""
        return self._process.pid if self._process is not None else None

    def _answer(self, pipe: Connection, tell: Callable[[str, float], None]) -> Done | None:
        until = time.monotonic() + self._longest_s
        while time.monotonic() < until:
            if not pipe.poll(1.0):
                continue
            word, *rest = pipe.recv()
            if word == "done":
                done: Done | None = rest[0]
                return done
            tell(*rest)
        self.close()
        return Done(
            "failed",
            {
                "code": "worker-slow",
                "message": f"Computing took more than {self._longest_s / 60:.0f} minutes.",
                "where": "",
                "hint": "Look whether the log of that paddock holds what it should.",
            },
        )

    def _died(self) -> Done:
        process = self._process
        if process is not None:
            process.join(10)
        code = process.exitcode if process is not None else None
        how = "ended"
        if code is not None and code < 0:
            with contextlib.suppress(ValueError):
                how = f"was ended by {signal.Signals(-code).name}"
        self.close()
        return Done(
            "failed",
            {
                "code": "worker-died",
                "message": f"The computing process {how} before it was done.",
                "where": "",
                "hint": "Nothing that was logged is touched. If it happens again, look at memory.",
            },
        )

    def _started(self) -> Connection:
        if self._process is None or self._pipe is None or not self._process.is_alive():
            ours, theirs = _CONTEXT.Pipe()
            process = _CONTEXT.Process(
                target=worker.main, args=(theirs,), name="unsown-compute", daemon=True
            )
            process.start()
            theirs.close()
            self._process, self._pipe = process, ours
        return self._pipe
