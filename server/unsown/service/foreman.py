"""Who decides what is computed when, and keeps what comes out. Pages never wait for it."""

from __future__ import annotations

import contextlib
import json
import logging
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from unsown.core.errors import UnsownError
from unsown.service import log, works
from unsown.service.bench import Bench
from unsown.service.clerk import Clerk
from unsown.service.news import News
from unsown.service.queue import Queue
from unsown.service.settings import calendar
from unsown.service.task import Done, Lines, Task
from unsown.service.tries import Tries, Try, areas
from unsown.service.words import FarmError
from unsown.store import chunks
from unsown.store.index import Work
from unsown.store.store import Store

#: A computation whose process died is tried once more; then it is told as failed.
_MOST_DEATHS = 2
_TOLD_EVERY_S, _SEAL_EVERY_S, _AFTER_TROUBLE_S, _SORTING_S = 0.25, 30.0, 5.0, 0.05
_LOG = logging.getLogger("unsown")


class Foreman:
    """Two threads: one sorts what was logged, one has works computed."""

    def __init__(
        self,
        store: Store,
        clerk: Clerk,
        news: News,
        clock: Callable[[], int],
        bench: Bench | None = None,
    ) -> None:
        self._store, self._clerk, self._news, self._clock = store, clerk, news, clock
        self._bench = bench or Bench()
        self._queue, self._tries = Queue(), Tries()
        self._wake, self._closed = threading.Condition(), False
        self._deaths: dict[tuple[Work, str], int] = {}
        self._told_s = 0.0
        self._running: tuple[Work, str, float] | None = None
        #: Between taking up and being done, whatever comes in between.
        self._sorts = self._works = False
        self._threads = [
            threading.Thread(target=self._sorting, name="unsown-clerk", daemon=True),
            threading.Thread(target=self._computing, name="unsown-foreman", daemon=True),
        ]

    def start(self) -> None:
        """Starts the threads; what was left undone is taken up."""
        with self._store.write() as conn:
            works.try_again(conn)
            waiting = works.stale(conn)
        for which, day in waiting:
            self._queue.add(which, day, urgent=True)
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """Stops at once; what was running is computed anew another time."""
        with self._wake:
            self._closed = True
            self._wake.notify_all()
        self._bench.close()
        for thread in self._threads:
            if thread.ident is not None:
                thread.join(30)

    def touched(self, some: Iterable[Work], *, urgent: bool = False) -> None:
        """Something came that may change works; ``urgent``: somebody waits for the answer."""
        some = list(some)
        if not some:
            return
        with self._wake:
            for which in some:
                self._queue.add(which, urgent=urgent)
            if urgent and self._running and self._running[0] in some:
                self._bench.stop()  # what is being computed is not what is asked for any more
            self._wake.notify_all()
        for paddock, season in some:
            self._news.tell("work", {"paddock": paddock, "season": season, "state": "computing",
                                     "stage": "waiting", "part": 0.0})  # fmt: skip

    def nudge(self) -> None:
        """There may be something to sort."""
        with self._wake:
            self._wake.notify_all()

    def running(self, which: Work) -> tuple[str, float] | None:
        """The stage and part of a work that is being computed; None where it is not."""
        now = self._running
        return (now[1], now[2]) if now and now[0] == which else None

    def attempt(self, which: Work, entries: tuple[Any, ...]) -> Try:
        """Has a work computed with entries that are not kept."""
        made = self._tries.add(which, entries)
        self.nudge()
        return made

    def job(self, id_: str) -> Try:
        """A try by its id; FarmError where there is none."""
        return self._tries.get(id_)

    def progress(self) -> tuple[str, float]:
        """What is being done now, and the part of it that is done."""
        now, left = self._running, len(self._queue)
        if now is None:
            return "sorting the log", 0.0
        more = f", {left} more to come" if left else ""
        return f"{now[1]}{more}", now[2]

    def idle(self) -> bool:
        """Whether nothing is left to sort or compute."""
        with self._store.read() as conn:
            if self._clerk.left(conn) or works.stale(conn):
                return False
        # asked last: who made the above so is seen at work, or has queued what comes of it
        with self._wake:
            busy = self._sorts or self._works or len(self._queue) > 0 or self._running is not None
        return not busy and not self._tries.busy()

    def _sorting(self) -> None:
        sealed_s = time.monotonic()
        while not self._closed:
            try:
                self._sorts = True
                if self._clerk.catch_up():
                    continue
                self._sorts = False
                if time.monotonic() - sealed_s > _SEAL_EVERY_S:
                    self._clerk.seal()
                    sealed_s = time.monotonic()
            except Exception as error:
                self._sorts = False
                self._trouble("sorting the log", error)
                continue
            with self._wake:
                if not self._closed:
                    self._wake.wait(_SEAL_EVERY_S)

    def _computing(self) -> None:
        while not self._closed:
            if self._unsorted():
                continue
            attempt = self._tries.next()
            with self._wake:
                which = None if attempt else self._queue.take()
                if attempt is None and which is None and not self._closed:
                    self._wake.wait(self._queue.wait_s())
                    continue
                self._works = True
            self._one(attempt, which)
            self._works = False

    def _one(self, attempt: Try | None, which: Work | None) -> None:
        """One try or one work; whatever goes wrong with it, the next one has its turn."""
        try:
            if attempt is not None:
                self._try(attempt)
            elif which is not None:
                self._work(which)
        except Exception as error:
            reason = _reason(error)
            if attempt is not None:
                attempt.state, attempt.reason = "failed", reason
                self._news.tell("job", attempt.json())
            passing = isinstance(error, UnsownError) and reason["code"] != "store-damaged"
            if which is not None and passing:
                with self._wake:
                    self._queue.add(which)
            elif which is not None:
                with contextlib.suppress(UnsownError):
                    works.fail(self._store, which, reason, self._clock())
                    self._tell(which)
            self._trouble("computing", error, wait=passing and attempt is None)

    def _unsorted(self) -> bool:
        """Waits a little while there is something to sort: half a log gives half an answer."""
        try:
            with self._store.read() as conn:
                found = self._clerk.left(conn)
        except UnsownError as error:
            self._trouble("looking at the log", error)
            return True
        if found:
            with self._wake:
                if not self._closed:
                    self._wake.wait(_SORTING_S)
        return found

    def _work(self, which: Work) -> None:
        days = calendar(self._store)
        if not works.settled(self._store, which, days):
            with self._store.read() as conn:
                task = works.task_of(conn, which, days)
                if task is not None:
                    task = replace(task, lines=works.with_lines(conn, task))
            if task is None:
                return self.touched([which])
            if not self._compute(which, task):
                return None
        return self._tell(which)

    def _compute(self, which: Work, task: Task) -> bool:
        """Computes a work and keeps what came out; False where it has to be begun again."""
        done = self._run(which, task, None)
        if done is None:
            with self._wake:
                self._queue.add(which, urgent=True)
            return False
        if (done.reason or {}).get("code") == "worker-died":
            if self._closed:
                return False
            deaths = self._deaths.get((which, task.key), 0) + 1
            self._deaths[which, task.key] = deaths
            if deaths < _MOST_DEATHS:
                _LOG.error("computing: %s It is tried once more.", (done.reason or {})["message"])
                self.touched([which], urgent=True)
                return False
        current = works.keep(self._store, task, done, calendar(self._store), self._clock())
        with self._wake:
            self._queue.took(which, done.took_s)
            if not current:
                self._queue.add(which)
        return True

    def _try(self, attempt: Try) -> None:
        attempt.state = "computing"
        days = calendar(self._store)
        with self._store.read() as conn:
            task, row = works.task_of(conn, attempt.which, days), works.row(conn, attempt.which)
        if task is not None and (row is None or row.key != task.key):
            self._work(attempt.which)
        with self._store.read() as conn:
            task, row = works.task_of(conn, attempt.which, days), works.row(conn, attempt.which)
            if task is None or row is None:
                raise FarmError("unknown", "Nothing was logged in this paddock and season.")
            dev = log.desk_writer(self._store, conn)
            text = log.desk_lines(dev, chunks.held(conn, dev) + 1, attempt.entries)
            extra = (Lines(dev, b"\n".join(text)),)
            task = replace(task, lines=works.with_lines(conn, task), extra=extra)
        attempt.before = areas(json.loads(row.short))
        done = self._run(attempt.which, task, attempt)
        if done is None:
            attempt.state = "replaced"
            return
        attempt.after, attempt.reason = areas(done.short), done.reason
        attempt.state = "ready" if done.state == "ready" else "failed"
        self._news.tell("job", attempt.json())

    def _run(self, which: Work, task: Task, attempt: Try | None) -> Done | None:
        def tell(stage: str, part: float) -> None:
            now = time.monotonic()
            if attempt is not None:
                attempt.stage, attempt.part = stage, part
            else:
                self._running = which, stage, part
            if now - self._told_s > _TOLD_EVERY_S:
                self._told_s = now
                self._news.tell(
                    "job" if attempt else "work",
                    attempt.json() if attempt else {
                        "paddock": which[0], "season": which[1], "state": "computing",
                        "stage": stage, "part": round(part, 3)},
                )  # fmt: skip

        with self._wake:
            if self._closed:
                return None
            self._running = (which, "starting", 0.0) if attempt is None else self._running
        try:
            return self._bench.run(task, tell)
        finally:
            with self._wake:
                self._running = None

    def _tell(self, which: Work) -> None:
        with self._store.read() as conn:
            row = works.row(conn, which)
        self._news.tell(
            "work",
            {
                "paddock": which[0],
                "season": which[1],
                "state": row.state if row is not None else "none",
                "stage": "done",
                "part": 1.0,
            },
        )
        self._news.tell("board")

    def _trouble(self, doing: str, error: Exception, *, wait: bool = True) -> None:
        """Says it, and waits a little where it may pass: a full disk, a folder that is gone."""
        if isinstance(error, UnsownError):
            _LOG.error("%s: %s", doing, error)
        else:
            _LOG.error("%s: a defect in the program", doing, exc_info=error)
        with self._wake:
            if wait and not self._closed:
                self._wake.wait(_AFTER_TROUBLE_S)


def _reason(error: Exception) -> dict[str, str]:
    if isinstance(error, UnsownError):
        said = (error.code, error.message, error.where, error.hint)
    else:
        message = f"A defect in the program, not in what was logged ({type(error).__name__})."
        said = ("defect", message, "", "Report it with what unsown serve wrote.")
    return dict(zip(("code", "message", "where", "hint"), said, strict=True))
