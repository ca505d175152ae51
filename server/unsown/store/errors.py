"""What can go wrong with the store, in words that say what to do."""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import DBAPIError

from unsown.core.errors import UnsownError


class StoreError(UnsownError):
    """The store cannot be opened, read or written."""


#: What a database says, in small letters -> code, message, hint. The first that is found counts.
_SAID: tuple[tuple[tuple[str, ...], str, str, str], ...] = (
    (
        ("is full", "no space left"),
        "store-full",
        "There is no room left to write.",
        "Make room on the disk; nothing that was acknowledged is lost.",
    ),
    (
        ("readonly", "read-only", "unable to open", "permission denied"),
        "store-readonly",
        "The store cannot be written: the folder or the file is read-only, or is not there.",
        "Let the person that runs unsown own the folder, or choose another with --data.",
    ),
    (
        ("malformed", "not a database", "corrupt"),
        "store-damaged",
        "The store is damaged.",
        "Leave the file as it is, copy it away, and bring back the last backup: unsown restore.",
    ),
    (
        ("locked", "busy"),
        "store-busy",
        "Another program is writing to the store.",
        "Close what else has the file open, and try again.",
    ),
    (
        ("disk i/o", "i/o error"),
        "store-io",
        "The disk refused to read or write.",
        "Look whether it is full or failing; nothing that was acknowledged is lost.",
    ),
)


def told(error: DBAPIError | sqlite3.Error | OSError, where: str) -> StoreError:
    """The database's or system's own words as an error of ours; raise it from the other."""
    said = str(getattr(error, "orig", None) or error)
    small = said.lower()
    for words, code, message, hint in _SAID:
        if any(word in small for word in words):
            return StoreError(code, message, where=where, hint=hint)
    return StoreError("store-failed", f"The store could not do it: {said}.", where=where)
