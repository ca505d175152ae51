"""The computing process: takes one task at a time, tells how far it is, gives back what came out.

It opens no file and no store. It ends when the one that started it does, and stops a task that is
no longer wanted at the next stage of it.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from multiprocessing.connection import Connection, wait
from typing import Any

STOP = "stop"


class StoppedError(Exception):
    """The task is no longer wanted."""


def main(pipe: Connection) -> None:
    """The process: ``("task", Task)`` in, ``("at", stage, part)`` and ``("done", Done)`` out."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the service, which ends us
    if hasattr(os, "nice"):
        os.nice(5)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_die_with, args=(parent.sentinel,), daemon=True).start()
    while True:
        try:
            word, task = pipe.recv()
        except (EOFError, OSError):
            return
        if word == "task":
            _work(pipe, task)
        elif word != STOP:
            return


def _work(pipe: Connection, task: Any) -> None:
    from unsown.service.figure import figure  # noqa: PLC0415
    from unsown.service.task import Done  # noqa: PLC0415

    def tell(stage: str, part: float) -> None:
        if pipe.poll() and pipe.recv()[0] == STOP:
            raise StoppedError
        pipe.send(("at", stage, part))

    try:
        pipe.send(("done", figure(task, tell)))
    except StoppedError:
        pipe.send(("done", None))
    except MemoryError:
        reason = {"code": "memory", "message": "There was not enough memory to compute this.",
                  "where": "", "hint": ""}  # fmt: skip
        pipe.send(("done", Done("failed", reason)))
    except Exception as error:
        reason = {
            "code": "defect",
            "message": f"A defect in the program, not in what was logged ({type(error).__name__}: "
            f"{error}).",
            "where": ", ".join(f"{f.name} line {f.lineno}" for f in _frames(error)),
            "hint": "Report it with these words.",
        }
        pipe.send(("done", Done("failed", reason)))


def _frames(error: Exception) -> list[traceback.FrameSummary]:
    """The innermost places: names of functions, no path of this computer."""
    return list(traceback.extract_tb(error.__traceback__))[-3:]


def _die_with(sentinel: int) -> None:
    wait([sentinel])
    os._exit(0)
