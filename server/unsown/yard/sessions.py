"""Who has said the passphrase: session tokens, kept as hashes, so that the file opens no door."""

from __future__ import annotations

import contextlib
import hashlib
import json
import secrets
import threading
from collections.abc import Callable
from pathlib import Path

from unsown.yard import private

DAYS = 30
MOST = 200
_DAY_S = 86_400


class Sessions:
    """The sessions of one house; safe to use from several threads.

    A session belongs to the passphrase it was opened with (``bound``): another passphrase ends
    them all.
    """

    def __init__(self, path: Path, bound: str, clock: Callable[[], float]) -> None:
        self._path, self._clock = path, clock
        self._bound = hashlib.sha256(bound.encode()).hexdigest()
        self._lock = threading.Lock()
        self._ends = self._load()

    def open(self) -> str:
        """A new token of 32 random bytes; the oldest session goes when there are too many."""
        token = secrets.token_urlsafe(32)
        with self._lock:
            now = self._clock()
            live = {key: ends for key, ends in self._ends.items() if ends > now}
            newest = sorted(live.items(), key=lambda item: item[1])[-(MOST - 1) :]
            self._ends = dict(newest) | {_hash(token): now + DAYS * _DAY_S}
            self._save()
        return token

    def holds(self, token: str) -> bool:
        """Whether this token is of a session that has not ended."""
        # looked up by hash: the time it takes tells nothing about the token
        return self._ends.get(_hash(token), 0) > self._clock()

    def close(self, token: str) -> None:
        """Ends the session at once; an unknown token is no error."""
        with self._lock:
            if self._ends.pop(_hash(token), None) is not None:
                self._save()

    def _load(self) -> dict[str, float]:
        kept = private.read(self._path)
        if kept is None:
            return {}
        with contextlib.suppress(ValueError, TypeError, AttributeError):
            said = json.loads(kept)
            if said.get("bound") == self._bound:
                return {str(key): float(ends) for key, ends in said["ends"].items()}
        return {}  # of another passphrase, or torn: everybody says it once more

    def _save(self) -> None:
        said = {"bound": self._bound, "ends": self._ends}
        private.write(self._path, json.dumps(said).encode())


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
