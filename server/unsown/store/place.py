"""Where the store lives when nobody says where."""

from __future__ import annotations

from pathlib import Path

from platformdirs import user_data_path

from unsown.store.errors import told

NAME = "unsown.db"


def data_folder(given: Path | None = None) -> Path:
    """The folder, made where it is not there yet: ``given``, or the system's place for user data.

    Raises:
        StoreError: it cannot be made.
    """
    folder = given or user_data_path("unsown", appauthor=False)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise told(OSError(f"unable to open: {error}"), str(folder)) from error
    return folder
