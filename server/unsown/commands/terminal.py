"""Text that any terminal can show, and files that are written whole or not at all."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TextIO

from unsown.core.errors import UnsownError

_PLAIN = str.maketrans(
    {"²": "2", "–": "-", "—": "-", "…": "...", "→": "->", "°": " deg", "±": "+-", "’": "'"}
)


def say(text: str, stream: TextIO | None = None) -> None:
    """Prints text with control characters taken out and signs the terminal lacks replaced."""
    out = sys.stdout if stream is None else stream
    clean = "".join(c for c in text if c == "\n" or (c.isprintable() or c == "\t"))
    encoding = getattr(out, "encoding", None) or "utf-8"
    try:
        clean.encode(encoding)
    except UnicodeEncodeError:
        clean = clean.translate(_PLAIN).encode(encoding, "replace").decode(encoding)
    print(clean, file=out)


def one_line(text: str) -> str:
    """The text on one line, whatever file names or values it quotes."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def check_out(path: Path, inputs: list[Path]) -> None:
    """Refuses a place that nothing can be written to, before an hour's work is done for it.

    Raises:
        UnsownError: the folder is not there, the path is a folder, or it is an input.
    """
    folder = path.parent
    if not folder.is_dir():
        raise UnsownError(
            "out-folder",
            "The folder to write to is not there.",
            where=str(folder),
            hint="Make it first, or choose another place.",
        )
    if path.is_dir():
        raise UnsownError(
            "out-folder", "This is a folder; a file name was expected.", where=str(path)
        )
    for given in inputs:
        if path.exists() and given.exists() and path.samefile(given):
            raise UnsownError(
                "out-input",
                "This file was given as input and would be written over.",
                where=str(path),
                hint="Choose another name for the output.",
            )


def write(path: Path, content: str | bytes) -> None:
    """Writes a file beside its place and moves it there, so that no half file is ever left.

    Raises:
        UnsownError: the system refuses.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise UnsownError(
            "out-write",
            f"The file could not be written: {error.strerror or error}.",
            where=str(path),
            hint="Is there room, and may you write there?",
        ) from error
