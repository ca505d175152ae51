"""Files that only their owner may read: keys, the passphrase's hash, sessions."""

from __future__ import annotations

import os
import secrets
import stat
from pathlib import Path

from unsown.yard.errors import YardError

_OWNER = 0o600
_FOLDER = 0o700


def folder(path: Path) -> Path:
    """The folder, made for its owner alone if it is not there.

    Raises:
        YardError: the system refuses.
    """
    try:
        path.mkdir(parents=True, exist_ok=True, mode=_FOLDER)
    except OSError as error:
        raise YardError(
            "yard-folder",
            f"The folder for keys could not be made: {error.strerror or error}.",
            where=str(path),
            hint="Choose another data folder with --data.",
        ) from error
    return path


def write(path: Path, data: bytes) -> None:
    """Writes the file whole or not at all; it is never readable by others, not even at first.

    Raises:
        YardError: the system refuses.
    """
    part = path.with_name(f".{path.name}.{secrets.token_hex(6)}.part")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise YardError(
            "yard-write",
            f"The file could not be written: {error.strerror or error}.",
            where=str(path),
            hint="Is there room, and may you write there?",
        ) from error


def read(path: Path) -> bytes | None:
    """The file's bytes, or None where there is none.

    Raises:
        YardError: others may read it (on systems that have owners), or it cannot be read.
    """
    try:
        mode = path.stat().st_mode
        if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
            raise YardError(
                "yard-open",
                f"Others on this computer may read this file (mode {stat.S_IMODE(mode):o}); "
                "it was expected to be its owner's alone.",
                where=str(path),
                hint="If nobody else uses this computer: chmod 600 on the file. If somebody "
                "could have copied it, delete the folder it lies in and start again.",
            )
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise YardError(
            "yard-read",
            f"The file could not be read: {error.strerror or error}.",
            where=str(path),
        ) from error
