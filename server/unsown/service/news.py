"""What happens, told to everybody who watches; nobody who is slow holds anybody up."""

from __future__ import annotations

import contextlib
import queue
import threading
from collections.abc import Iterator, Mapping
from typing import Any, Literal

from unsown.service.words import Event

#: Events that wait for a slow watcher; then the oldest are dropped, since a page loads anew anyway.
_MOST = 200
Kind = Literal["work", "board", "job"]


class Watch:
    """One watcher's events; close it when nobody watches any more."""

    def __init__(self, news: News, patience_s: float) -> None:
        self._news, self._patience_s = news, patience_s
        self.end: queue.Queue[Event | None] = queue.Queue(_MOST)

    def __iter__(self) -> Iterator[Event | None]:
        return self

    def __next__(self) -> Event | None:
        """The next event; None after the patience without one.

        Raises:
            StopIteration: the service stops.
        """
        try:
            event = self.end.get(timeout=self._patience_s)
        except queue.Empty:
            return None
        if event is None:
            self.close()
            raise StopIteration
        return event

    def close(self) -> None:
        """Ends the watch."""
        self._news.drop(self)


class News:
    """Events to any number of watchers."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._all: set[Watch] = set()
        self._closed = False

    def tell(self, kind: Kind, data: Mapping[str, Any] | None = None) -> None:
        """Tells everybody who watches now."""
        self._put(Event(kind, dict(data or {})))

    def watch(self, patience_s: float) -> Watch:
        """Events from this call on; None after each ``patience_s`` without one; ends at close."""
        made = Watch(self, patience_s)
        with self._lock:
            if self._closed:
                made.end.put(None)
            else:
                self._all.add(made)
        return made

    def drop(self, watch: Watch) -> None:
        """Forgets a watcher."""
        with self._lock:
            self._all.discard(watch)

    def close(self) -> None:
        """Ends every watch."""
        with self._lock:
            self._closed = True
        self._put(None)

    def _put(self, event: Event | None) -> None:
        with self._lock:
            every = list(self._all)
        for watch in every:
            while True:
                try:
                    watch.end.put_nowait(event)
                    break
                except queue.Full:
                    with contextlib.suppress(queue.Empty):
                        watch.end.get_nowait()
