"""``unsown take``: log and track files into the farm, under the rules of the intake."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal
from unsown.commands.progress import Progress

SUMMARY = "puts logs and tracks that were carried home into the farm's log"
EXAMPLES = """\
examples:
  unsown take cab.jsonl
  unsown take --dev "old phone" monday.gpx tuesday.gpx

A log keeps its writer and numbers, so that a phone may send the same entries later. Any other track
gets a writer named after its content. The same file twice changes nothing.
While `unsown serve` runs, drop the files on its page instead.
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown take``."""
    parser.add_argument("file", nargs="+", type=Path, metavar="FILE",
        help="our log, GPX, NMEA 0183, CSV or GeoJSON")  # fmt: skip
    parser.add_argument("--dev", metavar="LABEL",
        help="which phone it was, for tracks that do not say")  # fmt: skip
    parser.add_argument("--data", type=Path, metavar="FOLDER",
        help="where the farm is kept (default: this system's place for user data)")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Takes every file; one that cannot be taken stops it, what came before is kept.

    Raises:
        UnsownError: a file cannot be read, clashes, or the folder is in use.
    """
    from unsown.core.errors import TrackError  # noqa: PLC0415
    from unsown.formats import guard  # noqa: PLC0415
    from unsown.service.farm import open_farm  # noqa: PLC0415

    with open_farm(args.data, compute=False) as farm:
        for at, path in enumerate(args.file):
            with Progress() as progress:
                progress(f"taking {path.name}", at / len(args.file))
                data = guard.take(path, guard.TRACK_BYTES, TrackError)
                taken = farm.take_file(path.name, data, dev=args.dev)
            again = f", {taken.again:,} had already" if taken.again else ""
            days = ", ".join(taken.days[:3]) + (" ..." if len(taken.days) > 3 else "")
            terminal.say(f"{path}: {taken.kept:,} entries taken{again} ({days})")
            for note in taken.notes:
                terminal.say(f"  Note: {note}")
    terminal.say("They are computed when unsown serve is started, or by unsown rebuild.")
    return 0
