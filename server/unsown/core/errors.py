"""One error family: a code, what is wrong, where, and what to do about it."""

from __future__ import annotations


class UnsownError(Exception):
    """Something that was given cannot be used.

    Attributes:
        code: short stable word for programs, such as ``track-empty``.
        message: one sentence: what was expected and what came.
        where: the file, line, feature or key it was found in; may be empty.
        hint: what to do about it; may be empty.
    """

    def __init__(self, code: str, message: str, *, where: str = "", hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.where = where
        self.hint = hint

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        if not self.hint:
            return f"{place}{self.message}"
        stop = "" if self.message.endswith((".", "?", "!", ":", ";", ",")) else "."
        return f"{place}{self.message}{stop} {self.hint}"


class TrackError(UnsownError):
    """A track or log cannot be used."""


class PaddockError(UnsownError):
    """A paddock or keep-out cannot be used."""


class RigError(UnsownError):
    """A rig card cannot be used."""


class DayError(UnsownError):
    """Track, paddock and rig do not fit together."""
