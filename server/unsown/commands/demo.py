"""``unsown demo``: makes the invented farm's day, finds what is bare in it, leaves a map."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal
from unsown.commands.progress import Progress

SUMMARY = "make an invented day, find what it left bare, leave a map to open"
EXAMPLES = """\
example:
  unsown demo --out demo-out
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown demo``."""
    parser.add_argument("--out", type=Path, default=Path("unsown-demo"), metavar="FOLDER",
        help="folder to write to (default unsown-demo)")  # fmt: skip
    parser.add_argument("--acres", action="store_true", help="acres and feet in table and map")


def run(args: argparse.Namespace) -> int:
    """Does what ``unsown demo`` was asked.

    Raises:
        UnsownError: the folder cannot be written to.
    """
    from unsown.commands import paying  # noqa: PLC0415
    from unsown.commands.find import compute, read_day, write_map  # noqa: PLC0415
    from unsown.core.errors import UnsownError  # noqa: PLC0415
    from unsown.core.waste import waste  # noqa: PLC0415
    from unsown.core.words import Settings  # noqa: PLC0415
    from unsown.demo import make_demo  # noqa: PLC0415
    from unsown.formats.again import again_rows  # noqa: PLC0415
    from unsown.formats.geojson import ground  # noqa: PLC0415
    from unsown.formats.going import worth_rows  # noqa: PLC0415
    from unsown.formats.report import to_json, to_table  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    folder: Path = args.out
    with Progress() as progress:
        progress("driving the demo day", 0.0)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            make_demo(folder)
        except OSError as error:
            raise UnsownError(
                "out-write",
                f"The demo could not be written: {error.strerror or error}.",
                where=str(folder),
                hint="Choose another folder with --out.",
            ) from error
        track, paddock, card = (
            folder / name for name in ("track.jsonl", "paddock.geojson", "rig.toml")
        )
        day = read_day([track], str(paddock), [card], [], progress)
        tally, plane, day = compute(day, Settings(), {}, progress)
        name = day.paddock.name
        progress("drawing", 0.0)
        for night in (False, True):
            path = folder / ("map-night.svg" if night else "map.svg")
            write_map(path, tally, plane, day.paddock, acres=args.acres, night=night)
        terminal.write(folder / "ground.geojson", ground(tally, plane))
        terminal.write(folder / "day.json", to_json(tally, name) + "\n")
        progress("the way back", 0.0)
        worth = paying.to_object([], tally, plane, day, acres=args.acres)
    units = Units(args.acres)
    terminal.say(to_table(tally, name, units))
    terminal.say("\n" + "\n".join(again_rows(waste(tally, day.rigs), units)))
    terminal.say("\n" + "\n".join(worth_rows(worth, "", examples=True, units=units)))
    terminal.say("")
    terminal.say("This farm, its paddock and its day are invented.")
    terminal.say(f"Open {folder / 'map.svg'} in a browser. The same again, by hand:")
    terminal.say(f"  unsown find --twice --back --paddock {paddock} --rig {card} {track}")
    return 0
