"""``unsown restore``: a backup in the farm's place; phones send again what it lacks."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal
from unsown.commands.progress import Progress

SUMMARY = "brings a backup back; phones send again what it lacks"
EXAMPLES = """\
examples:
  unsown restore /media/stick/unsown-2026-05-03.db

What is there now is not deleted: it is kept beside, under a name with the time. Stop unsown serve
first.
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown restore``."""
    parser.add_argument("file", type=Path, metavar="FILE", help="what unsown backup made")
    parser.add_argument("--data", type=Path, metavar="FOLDER",
        help="where the farm is kept (default: this system's place for user data)")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Puts the backup in place.

    Raises:
        UnsownError: not a whole backup, or the folder is in use; nothing was changed.
    """
    from unsown.service.comeback import come_back  # noqa: PLC0415
    from unsown.service.farm import now_ms  # noqa: PLC0415
    from unsown.store.lock import Lock  # noqa: PLC0415
    from unsown.store.place import data_folder  # noqa: PLC0415

    folder = data_folder(args.data)
    with Lock(folder), Progress() as progress:
        progress("checking the backup", 0.0)
        left, again = come_back(folder, args.file, now_ms())
    terminal.say(f"Brought back: {args.file}")
    if left.kept_as:
        terminal.say(f"What was there before is kept as {left.kept_as}")
    for dev, count in sorted(again.items()):
        terminal.say(f"{dev} sends {count:,} entries again when it next comes home.")
    return 0
