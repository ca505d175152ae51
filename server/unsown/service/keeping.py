"""What a farm keeps beside its log: paddocks, rig cards and settings by version, and its phones."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from typing import Any

from unsown.service import pack, pairing, settings, things
from unsown.service.words import Claim, FarmError, Pairing, Version
from unsown.store import phones
from unsown.store import things as kept
from unsown.store.phones import May, Phone
from unsown.store.store import Store


class Keeping(ABC):
    """The part of the farm that is saved by hand; ``Farm`` is the whole."""

    store: Store
    _now: Callable[[], int]

    @abstractmethod
    def _changing(self) -> AbstractContextManager[things.Saved]:
        """Has everything sorted and computed anew that a saved thing has to do with."""

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
        with self._changing() as changed:
            return things.save_paddock(
                self.store, id_, geojson, based_on, why, self._now(), changed
            )

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
        with self._changing() as changed:
            return things.save_rig(self.store, id_, card, based_on, why, self._now(), changed)

    def rig_history(self, id_: str) -> list[dict[str, Any]]:
        """Every version, oldest first."""
        return things.history(self.store, "rig", id_)

    def put_rig_away(self, id_: str, *, back: bool = False) -> None:
        """Hides a rig card, or brings it back."""
        self._put_away("rig", id_, back)

    def settings(self) -> dict[str, Any]:
        """All settings with their ``version`` (0: never saved)."""
        return settings.settings(self.store)

    def save_settings(self, given: Mapping[str, Any], based_on: int | None) -> dict[str, Any]:
        """Keeps what was given over what is; returns all.

        Raises:
            FarmError: ``bad-value``.
            StoreError: ``version-old``.
        """
        with self._changing() as changed:
            return settings.save_settings(self.store, given, based_on, self._now(), changed)

    # phones

    def pack(self, season: int) -> dict[str, Any]:
        """What a phone carries to the paddock: see ``service.pack``."""
        return pack.pack(self.store, season)

    def new_pairing(self, may: May, name: str) -> Pairing:
        """A code for one phone, good for ten minutes and once."""
        return pairing.new(self.store, may, name, self._now())

    def claim(self, code: str, name: str, dev: str | None = None, was: str = "") -> Claim:
        """Uses a code up; ``dev`` is the label the phone has, ``was`` its token of before.

        Raises:
            FarmError: ``pairing-wrong``, ``pairing-label``.
        """
        return pairing.claim(self.store, code, name, self._now(), dev, was)

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

    def _put_away(self, kind: kept.Kind, id_: str, back: bool) -> None:
        with self._changing() as changed, self.store.write() as conn:
            there = kept.put_away(conn, kind, id_, None if back else self._now())
            saved = kept.get(conn, kind, id_)
            if saved is not None:
                changed(conn, saved)
        if not there:
            raise things.unknown(kind, id_)
