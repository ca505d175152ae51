"""The farm: everything that pages, papers and commands may ask of it or tell it.

One object a data folder. Answers are frozen words or plain dicts ready for JSON; troubles are
``UnsownError`` with a code. Safe to call from several threads.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection

from unsown.service import board, files, log, season, settings, things, works
from unsown.service.bench import Bench
from unsown.service.clerk import Clerk
from unsown.service.engine import engine
from unsown.service.foreman import Foreman
from unsown.service.keeping import Keeping
from unsown.service.news import News
from unsown.service.words import Event, Held, Taken
from unsown.store import chunks, index
from unsown.store import things as kept
from unsown.store.lock import Lock
from unsown.store.place import data_folder
from unsown.store.store import Store

Clock = Callable[[], int]


def now_ms() -> int:
    """This computer's clock, UTC milliseconds since 1970."""
    return time.time_ns() // 1_000_000


@contextmanager
def open_farm(
    folder: Path | None = None,
    *,
    clock: Clock = now_ms,
    compute: bool = True,
    zone: str | None = None,
) -> Iterator[Farm]:
    """The farm of a data folder, held by this process alone until the block ends.

    Args:
        folder: the data folder; the system's place for user data where None.
        clock: what time it is.
        compute: compute works in the background as entries arrive.
        zone: counts the days of a new farm until one is set; this computer's where None.

    Raises:
        StoreError: another process has the folder, it cannot be written, or it is damaged.
    """
    place = data_folder(folder)
    with Lock(place):
        store = Store.at(place)
        farm = Farm(store, clock, compute=compute, zone=zone)
        try:
            yield farm
        finally:
            farm.close()
            store.close()


class Farm(Keeping):
    """The log, the things and the works of one farm."""

    def __init__(
        self,
        store: Store,
        clock: Clock = now_ms,
        *,
        compute: bool = True,
        bench: Bench | None = None,
        zone: str | None = None,
    ) -> None:
        """Starts on an open store.

        ``compute`` False sorts and computes nothing by itself; ``zone`` counts the days of a new
        farm until one is set.
        """
        self.store = store
        self.engine = engine()
        self._now, self._computes = clock, compute
        self._news = News()
        self._clerk = Clerk(store, self._touched)
        self._foreman = Foreman(store, self._clerk, self._news, clock, bench)
        with store.write() as conn:
            self.desk = log.desk_writer(store, conn)
            settings.settle_zone(store, conn, zone)
        if compute:
            self._foreman.start()

    def close(self) -> None:
        """Stops computing and ends every subscription; the store stays open."""
        self._news.close()
        self._foreman.close()

    # what was logged

    def take_entries(self, dev: str, first: int, body: bytes) -> Held:
        """Entries of a phone from number ``first`` on, as JSON lines (not packed).

        Whole or not at all; safe to repeat. ``dev`` must be the label of a paired phone.

        Raises:
            IntakeError: ``intake-gap``, ``intake-clash``, ``intake-entry`` and others; ``held``
                says where to go on.
            StoreError: no room, no right, damaged: nothing was kept.
        """
        with self._sorting() as sort:
            return log.take(self.store, dev, first, body, self._now(), sort)

    def held(self, dev: str) -> Held:
        """The last number that is held of a writer without a gap, and what is wanted again."""
        return log.held(self.store, dev, self._now())

    def take_file(self, name: str, data: bytes, *, dev: str | None = None) -> Taken:
        """A track or log file (GPX, NMEA 0183, CSV, GeoJSON, our log); twice changes nothing.

        ``dev`` labels a track that names no device.

        Raises:
            TrackError: it cannot be read.
            IntakeError: ``intake-clash``.
        """
        with self._sorting() as sort:
            return files.take(self.store, name, data, dev, self._now(), sort)

    def desk_entries(self, entries: Sequence[Mapping[str, Any]]) -> list[int]:
        """Entries made at the desk: their numbers under the label ``desk`` of this farm.

        An entry that has ``paddock`` (an id) belongs to that paddock's work alone; give it
        wherever a page knows it. An ``undo`` names whose entry it hides by ``of_dev``.

        Raises:
            FarmError: ``bad-value``: one is no entry; nothing was kept.
        """
        with self._sorting(urgent=True) as sort:
            return log.write_desk(self.store, entries, self._now(), sort)

    def disputes(self) -> list[dict[str, Any]]:
        """Lines that clashed with what is held: dev, seq, held, came, received_ms."""
        with self.store.read() as conn:
            return chunks.disputes(conn)

    # derived: never waits for a computation

    def board(self, season: int | None = None) -> dict[str, Any]:
        """The farm board of a season; of the newest with entries where None."""
        this = settings.calendar(self.store).season(self._now())
        return board.board(self.store, season, this, self._foreman.running, self._now())

    def work(self, paddock: str, season: int) -> dict[str, Any]:
        """What a paddock came to in a season: state, tally, runs, days, area_check, head."""
        return board.show(self.store, (paddock, season), self._foreman.running)

    def ground(self, paddock: str, season: int) -> dict[str, Any] | None:
        """The ground's states, patches and runs as GeoJSON; None where nothing is computed."""
        return board.ground(self.store, (paddock, season))

    def timeline(self, paddock: str, season: int, day: str) -> dict[str, Any]:
        """Speed, lever, questions and places of one day of a work.

        Raises:
            FarmError: ``unknown``: nothing there on that day, or not computed yet.
        """
        return board.timeline(self.store, (paddock, season), day)

    def slip(self, day: str) -> dict[str, Any]:
        """A day's numbers, paddock by paddock."""
        settings.calendar(self.store).begins_ms(day)
        return board.slip(self.store, day)

    def try_entries(self, paddock: str, season: int, entries: Sequence[Mapping[str, Any]]) -> str:
        """Computes with extra entries that are not kept; the id of a job.

        Raises:
            FarmError: ``bad-value``: one is no entry; ``unknown``: no such paddock.
        """
        things.one(self.store, "paddock", paddock)
        log.desk_lines(self.desk, 1, entries)
        return self._foreman.attempt((paddock, season), tuple(dict(e) for e in entries)).id

    def job(self, id_: str) -> dict[str, Any]:
        """A job: state (waiting, computing, ready, failed, replaced), part, before, after.

        Raises:
            FarmError: ``unknown``.
        """
        return self._foreman.job(id_).json()

    def subscribe(self, patience_s: float = 15.0) -> Iterator[Event | None]:
        """What happens from now on; None after each ``patience_s`` without anything."""
        return self._news.watch(patience_s)

    def rebuild(self) -> None:
        """Drops everything that is derived; it is made again in the background."""
        with self.store.write() as conn:
            index.drop(conn)
            self._clerk.forget()
        self._foreman.nudge()

    def finish(
        self, timeout_s: float = 600.0, tell: Callable[[str, float], None] | None = None
    ) -> bool:
        """Waits until nothing is left to sort or compute; whether it came to that in time."""
        until = time.monotonic() + timeout_s
        while not self._foreman.idle():
            if time.monotonic() > until:
                return False
            if tell is not None:
                tell(*self._foreman.progress())
            time.sleep(0.05)
        return True

    # seasons

    def season(self, year: int) -> dict[str, Any]:
        """What is held of a season, and what forgetting it would remove."""
        return season.season(self.store, year)

    def forget_season(self, year: int, confirm: str) -> dict[str, Any]:
        """Removes a season's entries for good and lays a stone on it.

        Raises:
            FarmError: ``confirm`` where it is not the year in digits.
        """
        days = settings.calendar(self.store)
        gone = season.forget(self.store, year, confirm, days, self._now())
        self._foreman.nudge()
        self._news.tell("board")
        return gone

    def _touched(self, some: Iterable[index.Work]) -> None:
        self._foreman.touched(some)

    @contextmanager
    def _sorting(self, *, urgent: bool = False) -> Iterator[log.Sort]:
        """Sorts entries in the transaction that keeps them, and has their works computed after."""
        found: set[index.Work] = set()
        yield lambda conn, made: found.update(self._clerk.sort(conn, made))
        if self._computes:
            self._foreman.touched(found, urgent=urgent)

    @contextmanager
    def _changing(self) -> Iterator[things.Saved]:
        """Has everything sorted and computed anew that a saved thing has to do with."""
        found: list[index.Work] = []

        def changed(conn: Connection, saved: kept.Thing) -> None:
            self._clerk.forget()
            found.extend(works.changed(conn, saved))

        yield changed
        if self._computes:
            self._foreman.touched(found, urgent=True)
            self._foreman.nudge()
        self._news.tell("board")
