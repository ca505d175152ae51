"""The farm: everything that pages, papers and commands may ask of it or tell it.

One object a data folder. Answers are frozen words or plain dicts ready for JSON; troubles are
``UnsownError`` with a code. Safe to call from several threads.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from unsown.service import log, pairing, things
from unsown.service.words import Claim, Event, FarmError, Held, Pairing, Taken, Version
from unsown.store import chunks, phones
from unsown.store import things as kept
from unsown.store.lock import Lock
from unsown.store.phones import May, Phone
from unsown.store.place import data_folder
from unsown.store.store import Store

Clock = Callable[[], int]


def now_ms() -> int:
    """This computer's clock, UTC milliseconds since 1970."""
    return time.time_ns() // 1_000_000


@contextmanager
def open_farm(
    folder: Path | None = None, *, clock: Clock = now_ms, compute: bool = True
) -> Iterator[Farm]:
    """The farm of a data folder, held by this process alone until the block ends.

    Args:
        folder: the data folder; the system's place for user data where None.
        clock: what time it is.
        compute: compute works in the background as entries arrive.

    Raises:
        StoreError: another process has the folder, it cannot be written, or it is damaged.
    """
    place = data_folder(folder)
    with Lock(place):
        store = Store.at(place)
        farm = Farm(store, clock, compute=compute)
        try:
            yield farm
        finally:
            farm.close()
            store.close()


class Farm:
    """The log, the things and the works of one farm."""

    def __init__(self, store: Store, clock: Clock = now_ms, *, compute: bool = True) -> None:
        """Starts on an open store; ``compute`` False never starts the computing process."""
        self.store = store
        self._now = clock
        with store.write() as conn:
            self.desk = log.desk_writer(store, conn)

    def close(self) -> None:
        """Stops computing; the store stays open."""

    # what was logged

    def take_entries(self, dev: str, first: int, body: bytes) -> Held:
        """Entries of a phone from number ``first`` on, as JSON lines (not packed).

        Whole or not at all; safe to repeat. ``dev`` must be the label of a paired phone.

        Raises:
            IntakeError: ``intake-gap``, ``intake-clash``, ``intake-entry`` and others; ``held``
                says where to go on.
            StoreError: no room, no right, damaged: nothing was kept.
        """
        held, _made = log.take(self.store, dev, first, body, self._now())
        return held

    def held(self, dev: str) -> Held:
        """The last number that is held of a writer without a gap, and what is wanted again."""
        return log.held(self.store, dev)

    def take_file(self, name: str, data: bytes, *, dev: str | None = None) -> Taken:
        """A track or log file (GPX, NMEA 0183, CSV, GeoJSON, our log); twice changes nothing.

        ``dev`` labels a track that names no device.

        Raises:
            TrackError: it cannot be read.
            IntakeError: ``intake-clash``.
        """
        raise FarmError("unknown", "files are not taken yet")

    def desk_entries(self, entries: Sequence[Mapping[str, Any]]) -> list[int]:
        """Entries made at the desk: their numbers under the label ``desk`` of this farm.

        An entry that has ``paddock`` (an id) belongs to that paddock's work alone; give it
        wherever a page knows it. An ``undo`` names whose entry it hides by ``of_dev``.

        Raises:
            FarmError: ``bad-value``: one is no entry; nothing was kept.
        """
        _dev, numbers, _made = log.write_desk(self.store, entries, self._now())
        return numbers

    def disputes(self) -> list[dict[str, Any]]:
        """Lines that clashed with what is held: dev, seq, held, came, received_ms."""
        with self.store.read() as conn:
            return chunks.disputes(conn)

    # things, by version

    def paddocks(self, *, away: bool = False) -> list[dict[str, Any]]:
        """The newest version of every paddock in use, by name; with ``away`` the hidden too."""
        with self.store.read() as conn:
            rows = kept.newest(conn, "paddock")
        return [things.paddock_json(t) for t in rows if away or t.away_ms is None]

    def paddock(self, id_: str, version: int | None = None) -> dict[str, Any]:
        """One paddock with its ``geojson``; the newest version where none is named.

        Raises:
            FarmError: ``unknown``.
        """
        return things.paddock_json(things.one(self.store, "paddock", id_, version))

    def save_paddock(
        self, id_: str | None, geojson: Any, based_on: int | None, why: str = ""
    ) -> Version:
        """Keeps a new paddock (``id_`` None) or a newer version of one.

        Raises:
            PaddockError: the GeoJSON cannot be used.
            FarmError: ``unknown``.
            StoreError: ``version-old``: a newer one was saved meanwhile.
        """
        return things.save_paddock(self.store, id_, geojson, based_on, why, self._now())

    def paddock_history(self, id_: str) -> list[dict[str, Any]]:
        """Every version, oldest first: version, t_ms, why, name."""
        return things.history(self.store, "paddock", id_)

    def put_away(self, id_: str, *, back: bool = False) -> None:
        """Hides a paddock, or brings it back; nothing is removed.

        Raises:
            FarmError: ``unknown``.
        """
        self._put_away("paddock", id_, back)

    def rigs(self, *, away: bool = False) -> list[dict[str, Any]]:
        """The newest version of every rig card in use, by name."""
        with self.store.read() as conn:
            rows = kept.newest(conn, "rig")
        return [things.rig_json(t) for t in rows if away or t.away_ms is None]

    def rig(self, id_: str, version: int | None = None) -> dict[str, Any]:
        """One rig card: ``card`` (its file's keys), ``toml``, ``notes``, ``rig`` (filled in)."""
        return things.rig_json(things.one(self.store, "rig", id_, version))

    def save_rig(
        self, id_: str | None, card: Mapping[str, Any], based_on: int | None, why: str = ""
    ) -> Version:
        """Keeps a new rig card (``id_`` None) or a newer version; keys as in the TOML card.

        Raises:
            RigError: the card cannot be used.
            FarmError, StoreError: as for a paddock.
        """
        return things.save_rig(self.store, id_, card, based_on, why, self._now())

    def rig_history(self, id_: str) -> list[dict[str, Any]]:
        """Every version, oldest first."""
        return things.history(self.store, "rig", id_)

    def put_rig_away(self, id_: str, *, back: bool = False) -> None:
        """Hides a rig card, or brings it back."""
        self._put_away("rig", id_, back)

    def settings(self) -> dict[str, Any]:
        """All settings with their ``version`` (0: never saved)."""
        return things.settings(self.store)

    def save_settings(self, given: Mapping[str, Any], based_on: int | None) -> dict[str, Any]:
        """Keeps what was given over what is; returns all.

        Raises:
            FarmError: ``bad-value``.
            StoreError: ``version-old``.
        """
        return things.save_settings(self.store, given, based_on, self._now())

    # phones

    def new_pairing(self, may: May, name: str) -> Pairing:
        """A code for one phone, good for ten minutes and once."""
        return pairing.new(self.store, may, name, self._now())

    def claim(self, code: str, name: str) -> Claim:
        """Uses a code up.

        Raises:
            FarmError: ``pairing-wrong``.
        """
        return pairing.claim(self.store, code, name, self._now())

    def phone_of(self, token: str) -> Phone | None:
        """The phone with this token; None where there is none or it was withdrawn."""
        return pairing.phone_of(self.store, token, self._now())

    def phones(self) -> list[Phone]:
        """Every phone that was paired, withdrawn or not."""
        with self.store.read() as conn:
            return phones.every(conn)

    def withdraw(self, dev: str) -> None:
        """Takes a phone's token back; its log stays.

        Raises:
            FarmError: ``unknown``.
        """
        with self.store.write() as conn:
            there = phones.withdraw(conn, dev, self._now())
        if not there:
            raise FarmError("unknown", f"There is no phone {dev!r}.")

    # derived: never waits for a computation

    def board(self, season: int | None = None) -> dict[str, Any]:
        """The farm board of a season (the newest where None); see the API's ``/board``."""
        raise NotReady

    def work(self, paddock: str, season: int) -> dict[str, Any]:
        """What a paddock came to in a season: state, tally, runs, days, area_check, head."""
        raise NotReady

    def ground(self, paddock: str, season: int) -> dict[str, Any] | None:
        """The ground's states, patches and runs as GeoJSON; None where nothing is computed."""
        raise NotReady

    def timeline(self, paddock: str, season: int, day: str) -> dict[str, Any]:
        """Speed, lever, questions and places of one day of a work."""
        raise NotReady

    def slip(self, day: str) -> dict[str, Any]:
        """A day's numbers, paddock by paddock."""
        raise NotReady

    def try_entries(self, paddock: str, season: int, entries: Sequence[Mapping[str, Any]]) -> str:
        """Computes with extra entries that are not kept; the id of a job."""
        raise NotReady

    def job(self, id_: str) -> dict[str, Any]:
        """A job: state (waiting, computing, ready, failed), part 0 to 1, before, after."""
        raise NotReady

    def subscribe(self, patience_s: float = 15.0) -> Iterator[Event | None]:
        """What happens from now on; None after ``patience_s`` without anything."""
        raise NotReady

    def rebuild(self) -> None:
        """Drops everything that is derived and has it made again."""
        raise NotReady

    # seasons

    def season(self, year: int) -> dict[str, Any]:
        """What is held of a season, and what forgetting it would remove."""
        raise NotReady

    def forget_season(self, year: int, confirm: str) -> dict[str, Any]:
        """Removes a season's entries for good and lays a stone on it.

        Raises:
            FarmError: ``confirm`` where it is not the year in digits.
        """
        raise NotReady

    def _put_away(self, kind: kept.Kind, id_: str, back: bool) -> None:
        with self.store.write() as conn:
            there = kept.put_away(conn, kind, id_, None if back else self._now())
        if not there:
            raise things.unknown(kind, id_)


NotReady = FarmError("not-yet", "This part of the farm is being built.")
