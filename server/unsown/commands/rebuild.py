"""``unsown rebuild``: everything that is derived is dropped and made again from the log."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal
from unsown.commands.progress import Progress

SUMMARY = "drops everything computed and makes it again from the log"
EXAMPLES = """\
examples:
  unsown rebuild --data farm

The log itself is not touched. A season takes minutes to hours; it may be stopped with Ctrl-C, and
unsown serve goes on where it was left.
"""
_LONGEST_S = 7 * 86_400.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown rebuild``."""
    parser.add_argument("--data", type=Path, metavar="FOLDER",
        help="where the farm is kept (default: this system's place for user data)")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Rebuilds and waits until it is done.

    Raises:
        UnsownError: the folder is in use, or the store cannot be written.
    """
    from unsown.service.farm import open_farm  # noqa: PLC0415

    with Progress() as progress, open_farm(args.data) as farm:
        progress("dropping what was computed", 0.0)
        farm.rebuild()
        farm.finish(_LONGEST_S, progress)
        paddocks = [p for p in farm.board()["paddocks"] if p["state"] != "not begun"]
    failed = [p for p in paddocks if p["state"] == "failed"]
    begun = "1 paddock was" if len(paddocks) == 1 else f"{len(paddocks)} paddocks were"
    terminal.say(f"Made again. In the newest season {begun} begun.")
    for each in failed:
        terminal.say(f"{each['name']} failed: {each['reason']['message']} {each['reason']['hint']}")
    return 0
