"""``unsown rig``: checks a rig card, says its distances and draws it to scale."""

from __future__ import annotations

import argparse
from pathlib import Path

from unsown.commands import terminal

SUMMARY = "check a rig card, say its distances and draw it to scale"
EXAMPLES = """\
examples:
  unsown rig drill.toml
  unsown rig drill.toml --svg drill.svg
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown rig``."""
    parser.add_argument("card", type=Path, metavar="CARD", help="rig card (TOML)")
    parser.add_argument("--svg", type=Path, metavar="OUT", help="draw side and plan view as SVG")
    parser.add_argument("--acres", action="store_true", help="lengths in feet")


def run(args: argparse.Namespace) -> int:
    """Does what ``unsown rig`` was asked.

    Raises:
        UnsownError: the card cannot be used.
    """
    from unsown.core.errors import RigError  # noqa: PLC0415
    from unsown.formats import guard  # noqa: PLC0415
    from unsown.formats.card import describe  # noqa: PLC0415
    from unsown.formats.rig import read_rig  # noqa: PLC0415
    from unsown.formats.sketch import draw_rig  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    if args.svg:
        terminal.check_out(args.svg, [args.card])
    units = Units(args.acres)
    rig = read_rig(guard.take(args.card, guard.RIG_BYTES, RigError), str(args.card))
    if args.svg:
        terminal.write(args.svg, draw_rig(rig, units))
    terminal.say(describe(rig, units))
    if args.svg:
        terminal.say(f"Written: {args.svg}")
    return 0
