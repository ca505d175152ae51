"""``unsown find``: a logged day -> what is sown, what is bare, where, how sure."""

from __future__ import annotations

import argparse
import gc
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from unsown.commands import terminal
from unsown.commands.progress import Progress

if TYPE_CHECKING:  # the engine is only loaded once there is work: --help stays instant
    from unsown.core.plane import Plane
    from unsown.core.words import Log, Paddock, Rig, Settings, Tally

LAP = "lap"
SUMMARY = "what a logged day sowed, what it left bare, where, and how sure that is"
EXAMPLES = """\
examples:
  unsown find --paddock ladle.geojson --rig drill.toml monday.gpx
  unsown find --paddock lap --rig drill.toml monday.gpx tuesday.gpx --map ladle.svg
  unsown find --paddock ladle.kml --rig drill.toml day.jsonl --json > day.json
  unsown find --paddock ladle.kml --rig east=drill.toml --rig west=bar.toml east.gpx west.gpx

words:
  sown      every rank of openers seeded there
  some rows only some ranks did: where the tool goes in or comes out
  twice     some rank seeded there in two runs
  bare      no rank seeded there, and the tool could have got there
  doubt     nobody knows: no position, or a lever that does not fit the driving
  sure, likely, can't tell       a patch's chance is at least 0.9, at least 0.6, less
"""


@dataclass(frozen=True)
class Day:
    """What was given, read."""

    log: Log
    paddock: Paddock
    rigs: tuple[Rig, ...]


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown find``."""
    parser.add_argument("track", nargs="+", type=Path, metavar="TRACK",
        help="track or log of the day: GPX, NMEA 0183, CSV, GeoJSON or our log; "
        "several are joined by time")  # fmt: skip
    parser.add_argument("--paddock", required=True, metavar="FILE|lap",
        help="boundary with its keep-outs (GeoJSON, KML, KMZ, zipped shapefile, GeoPackage), "
        "or the word lap: take it from the first lap driven")  # fmt: skip
    parser.add_argument("--rig", required=True, action="append", metavar="CARD",
        help="rig card (TOML); a second one takes over from its own time on; PHONE=CARD where "
        "several rigs worked at once")  # fmt: skip
    parser.add_argument("--runs", choices=("marked", "segments", "guess"), default="marked",
        help="where the tool was down: as marked (default), each segment of the track, or "
        "guessed from the driving alone")  # fmt: skip
    parser.add_argument("--clearance", type=_metres, default=0.5, metavar="METRES",
        help="with --paddock lap: tool's outer end to the fence (default 0.5)")  # fmt: skip
    parser.add_argument("--no-settle", action="store_true",
        help="leave the runs where the phone put them")  # fmt: skip
    parser.add_argument("--draws", type=_count, metavar="N",
        help="draws for the band and the chances (default 60)")  # fmt: skip
    parser.add_argument("--seed", type=_whole, metavar="N",
        help="seed of the draws (default 1); the same seed gives the same answer")  # fmt: skip
    parser.add_argument("--answers", action="append", default=[], type=Path, metavar="FILE",
        help="log entries that answer questions, such as --keep-answers wrote")  # fmt: skip
    parser.add_argument("--answer", action="append", default=[], metavar="NUMBER=WORD",
        help="answer a question, such as 1=down; the day is computed anew")  # fmt: skip
    parser.add_argument("--keep-answers", type=Path, metavar="OUT",
        help="write all answers, those of --answers too, as log entries")  # fmt: skip
    parser.add_argument(
        "--twice", action="store_true", help="say also how much was sown again, and of what causes"
    )
    parser.add_argument("--back", action="store_true",
        help="say also what is worth going back for, and the way through it")  # fmt: skip
    parser.add_argument("--price", action="append", default=[], metavar="NAME=VALUE",
        help="with --back: a price of your own, such as seed_price_kg=0.46; "
        "an invented farm's stands in for what is not given")  # fmt: skip
    parser.add_argument("--json", action="store_true",
        help="print one JSON object in place of the table")  # fmt: skip
    parser.add_argument("--geojson", type=Path, metavar="OUT",
        help="write the ground's states and the patches as GeoJSON")  # fmt: skip
    parser.add_argument("--map", type=Path, metavar="OUT",
        help="draw the paddock: OUT ends in .svg or .png")  # fmt: skip
    parser.add_argument("--night", action="store_true", help="draw the map for a dark cab")
    parser.add_argument("--acres", action="store_true", help="acres and feet in table and map")


def run(args: argparse.Namespace) -> int:
    """Does what ``unsown find`` was asked.

    Raises:
        UnsownError: something given cannot be used.
    """
    from unsown.commands import answers, paying, riders  # noqa: PLC0415

    cards = [riders.given(text) for text in args.rig]
    inputs = [*args.track, *(each.card for each in cards), *args.answers]
    inputs += [] if args.paddock == LAP else [Path(args.paddock)]
    _check_outs(args, inputs)
    words = answers.split(args.answer)
    paying.prices(args.price)  # a price that is none is told before anything is computed
    with _no_collecting(), Progress() as progress:
        day = read_day(
            args.track, args.paddock, [each.card for each in cards], args.answers, progress
        )
        day = replace(day, rigs=riders.named(day.rigs, cards, day.log.fixes.phones))
        tally, plane, day = compute(day, _settings(args), words, progress)
        progress("writing", 0.0)
        write_outs(args, tally, plane, day)
        worth = None
        if args.back:
            progress("the way back", 0.0)
            worth = paying.to_object(
                args.price, tally, plane, day, acres=args.acres and not args.json
            )
    _print(args, tally, day, worth)
    return 0


@contextmanager
def _no_collecting() -> Iterator[None]:
    """One day leaves no rings of objects behind, and looking for them costs a fifth of the time.

    Most of it while the tree of a long GPX file grows: each look goes through all of it again.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def read_day(
    tracks: Sequence[Path],
    paddock: str,
    rigs: Sequence[Path],
    answers: Sequence[Path],
    progress: Callable[[str, float], None],
) -> Day:
    """Everything that was given, from the quick to read to the slow.

    Raises:
        UnsownError: a file is not there, too large, or not what it should be.
    """
    from unsown.commands.phones import labelled  # noqa: PLC0415
    from unsown.core.errors import PaddockError, RigError, TrackError  # noqa: PLC0415
    from unsown.core.words import Paddock  # noqa: PLC0415
    from unsown.formats import guard, log  # noqa: PLC0415
    from unsown.formats.boundary import read_paddock  # noqa: PLC0415
    from unsown.formats.rig import read_rig  # noqa: PLC0415
    from unsown.formats.track import join, read_track  # noqa: PLC0415

    cards = [read_rig(guard.take(path, guard.RIG_BYTES, RigError), str(path)) for path in rigs]
    if paddock == LAP:
        ground = Paddock("first lap", None, boundary="lap")
    else:
        progress("reading the paddock", 0.0)
        taken = guard.take(Path(paddock), guard.PADDOCK_BYTES, PaddockError)
        ground = read_paddock(taken, paddock)
        ground = ground if ground.name else replace(ground, name=Path(paddock).stem)
    logs = []
    for index, path in enumerate(tracks):
        progress("reading tracks", index / len(tracks))
        logs.append(read_track(guard.take(path, guard.TRACK_BYTES, TrackError), str(path)))
    given = [
        log.read(guard.take(path, guard.TRACK_BYTES, TrackError), str(path)) for path in answers
    ]
    logs = labelled(logs, [path.stem for path in tracks])
    return Day(join([*logs, *given]), ground, tuple(cards))


def compute(
    day: Day,
    settings: Settings,
    answers: dict[int, str],
    progress: Callable[[str, float], None],
) -> tuple[Tally, Plane, Day]:
    """The day's tally, computed anew if answers were given; with the log that holds them."""
    from unsown.commands import riders  # noqa: PLC0415
    from unsown.commands.answers import to_marks  # noqa: PLC0415
    from unsown.core.day import find  # noqa: PLC0415
    from unsown.core.errors import DayError  # noqa: PLC0415

    try:
        tally, plane = find(day.log, day.paddock, day.rigs, settings, progress)
    except DayError as error:
        named = riders.by_log(day.rigs, day.log) if error.code == "two-rigs" else None
        if named is None:
            raise
        day = replace(day, rigs=named)
        tally, plane = find(day.log, day.paddock, day.rigs, settings, progress)
    if answers:
        marks = to_marks(answers, tally.questions, day.log.marks)
        day = replace(day, log=replace(day.log, marks=(*day.log.marks, *marks)))
        tally, plane = find(day.log, day.paddock, day.rigs, settings, progress)
    cards = [f"rig {rig.name}: {note}" for rig in day.rigs for note in rig.notes]
    dropped = dict(tally.dropped)
    for skip in day.log.skipped:
        dropped[skip.reason] = dropped.get(skip.reason, 0) + skip.count
    return replace(tally, notes=(*tally.notes, *cards), dropped=dropped), plane, day


def write_outs(args: argparse.Namespace, tally: Tally, plane: Plane, day: Day) -> None:
    """The files that were asked for.

    Raises:
        UnsownError: one cannot be written.
    """
    if args.geojson:
        from unsown.formats.geojson import ground  # noqa: PLC0415

        terminal.write(args.geojson, ground(tally, plane))
    if args.map:
        write_map(args.map, tally, plane, day.paddock, acres=args.acres, night=args.night)
    if args.keep_answers:
        from unsown.commands.answers import DESK  # noqa: PLC0415
        from unsown.formats.log import write  # noqa: PLC0415

        fixes = day.log.fixes
        none = {k: getattr(fixes, k)[:0] for k in fixes.__dataclass_fields__ if k != "phones"}
        kept = tuple(mark for mark in day.log.marks if mark.phone == DESK)
        terminal.write(
            args.keep_answers, write(replace(day.log, fixes=replace(fixes, **none), marks=kept))
        )


def write_map(
    path: Path, tally: Tally, plane: Plane, paddock: Paddock, *, acres: bool, night: bool
) -> None:
    """The map as SVG or PNG, by the ending of its name."""
    from unsown.formats.map import draw  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    picture = draw(
        tally, plane, paddock.name, keep_outs=paddock.keep_outs, units=Units(acres), night=night
    )
    if path.suffix.lower() == ".png":
        from unsown.formats.png import to_png  # noqa: PLC0415

        terminal.write(path, to_png(picture))
    else:
        terminal.write(path, picture)


def _print(args: argparse.Namespace, tally: Tally, day: Day, worth: dict[str, Any] | None) -> None:
    from unsown.core.waste import waste  # noqa: PLC0415
    from unsown.formats.again import again_rows, to_waste  # noqa: PLC0415
    from unsown.formats.report import to_json, to_table  # noqa: PLC0415
    from unsown.formats.units import Units  # noqa: PLC0415

    name = day.paddock.name
    again = waste(tally, day.rigs) if args.twice else None
    if args.json:
        more = {} if again is None else {"waste": to_waste(again)}
        more |= {} if worth is None else {"worth": worth}
        terminal.say(to_json(tally, name, **more))
        return
    terminal.say(to_table(tally, name, Units(args.acres), local=True))
    if again is not None:
        terminal.say("\n" + "\n".join(again_rows(again, Units(args.acres))))
    if worth is not None:
        from unsown.formats.going import worth_rows  # noqa: PLC0415

        rows = worth_rows(worth, "", examples=bool(worth["examples"]), units=Units(args.acres))
        terminal.say("\n" + "\n".join(rows) if rows else "\nNothing bare to go back for.")
    for made in (args.map, args.geojson, args.keep_answers):
        if made:
            terminal.say(f"Written: {made}")


def _settings(args: argparse.Namespace) -> Settings:
    from unsown.core.words import Settings  # noqa: PLC0415

    chosen = {"runs": args.runs, "settle": not args.no_settle, "clearance_m": args.clearance}
    chosen |= {
        key: getattr(args, key) for key in ("draws", "seed") if getattr(args, key) is not None
    }
    return Settings(**chosen)


def _check_outs(args: argparse.Namespace, inputs: list[Path]) -> None:
    from unsown.core.errors import UnsownError  # noqa: PLC0415

    if args.map and args.map.suffix.lower() not in (".svg", ".png"):
        raise UnsownError(
            "map-kind",
            "A map is written as .svg or .png.",
            where=str(args.map),
            hint="Give it one of these endings.",
        )
    outs = [path for path in (args.map, args.geojson, args.keep_answers) if path]
    for path in outs:
        terminal.check_out(path, inputs)
    if len({path.absolute() for path in outs}) < len(outs):
        raise UnsownError("out-same", "Two outputs have the same name.", hint="Give each its own.")


def _metres(text: str) -> float:
    value = float(text)
    if not 0 <= value <= 50:
        raise argparse.ArgumentTypeError(f"{text}: 0 to 50 metres were expected")
    return value


def _count(text: str) -> int:
    value = int(text)
    if not 1 <= value <= 10_000:
        raise argparse.ArgumentTypeError(f"{text}: 1 to 10000 were expected")
    return value


def _whole(text: str) -> int:
    value = int(text)
    if not 0 <= value < 2**32:
        raise argparse.ArgumentTypeError(f"{text}: a whole number from 0 was expected")
    return value
