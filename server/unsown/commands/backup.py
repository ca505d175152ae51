"""``unsown backup``: the whole farm in one file, while it is in use."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal
from unsown.commands.progress import Progress

SUMMARY = "copies the whole farm into one file, also while it is served"
EXAMPLES = """\
examples:
  unsown backup /media/stick/unsown-2026-05-03.db

The file holds everything: log, paddocks, rig cards, settings, phones. Keep it where a thief of the
computer does not find it: positions are personal. unsown restore brings it back.
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown backup``."""
    parser.add_argument("file", type=Path, metavar="FILE", help="file to make; it must not exist")
    parser.add_argument("--data", type=Path, metavar="FOLDER",
        help="where the farm is kept (default: this system's place for user data)")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Makes the copy and checks it.

    Raises:
        UnsownError: the file exists, cannot be written, or the copy is not whole.
    """
    from unsown.store.backup import backup  # noqa: PLC0415
    from unsown.store.place import data_folder  # noqa: PLC0415

    terminal.check_out(args.file, [])
    with Progress() as progress:
        progress("copying", 0.0)
        size = backup(data_folder(args.data), args.file)
    terminal.say(f"Written and checked: {args.file} ({size / 1e6:.1f} MB)")
    return 0
