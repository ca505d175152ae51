"""One process on a data folder: a second start is refused with the reason."""

from __future__ import annotations

import os
from pathlib import Path
from types import TracebackType

from filelock import FileLock, Timeout

from unsown.store.errors import StoreError, told


class Lock:
    """Holds a data folder; the system lets go of it even when the process is killed.

    The holder's number stands in a file beside the lock, since a locked file cannot be read
    everywhere.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock = FileLock(folder / "unsown.lock")
        self._pid = folder / "unsown.pid"

    def __enter__(self) -> Lock:
        """Takes the folder.

        Raises:
            StoreError: another process has it (``store-taken``), or it cannot be written.
        """
        try:
            self._lock.acquire(blocking=False)
            self._pid.write_text(f"{os.getpid()}\n", encoding="ascii")
        except Timeout as error:
            raise StoreError(
                "store-taken",
                f"Another unsown{self._holder()} has this data folder open.",
                where=str(self._folder),
                hint="Stop it first, or give another folder with --data.",
            ) from error
        except (OSError, NotImplementedError) as error:
            self._lock.release()
            raise told(OSError(f"unable to open: {error}"), str(self._folder)) from error
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        value: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Lets go."""
        self._pid.unlink(missing_ok=True)
        self._lock.release()

    def _holder(self) -> str:
        try:
            return f" (process {int(self._pid.read_text(encoding='ascii'))})"
        except (OSError, ValueError):
            return ""
