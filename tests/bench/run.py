"""Speed figures: ``make bench`` prints them; with ``--write`` they go to docs/reference/speed.md.

Each case compares two ways in the same run on the same machine, so its ratio means something
elsewhere too. Times are never tested.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import mapping

from unsown.core.clean import clean
from unsown.core.cover import bar_ends, poses_between
from unsown.core.day import find
from unsown.core.lever import runs_from_taps, taps
from unsown.core.trail import trail
from unsown.core.words import Floats, Settings
from unsown.formats import gpx
from unsown.formats.rig import write_rig
from unsown.sim import SimDay, day

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "speed.md"
HECTARES = 55.0  # about ten hours with the demo rig


@dataclass(frozen=True)
class Row:
    """One line of the table; seconds, and how it compares."""

    what: str
    seconds: float
    against: str
    note: str = ""

    def line(self) -> str:
        return f"| {self.what} | {self.seconds:.2f} s | {self.against} | {self.note} |"


def simulated(hz: float) -> SimDay:
    """The same drive at another rate of fixes; one rank, so that both ways mean the same."""
    made = day(11, preset="rtk", rig="demo", area_ha=HECTARES, hz=hz)
    tool = replace(made.rig.tool, front_rank_m=0.0, rear_rank_m=0.0)
    return replace(made, rig=replace(made.rig, tool=tool))


def took(work: Callable[[], object]) -> float:
    """Processor seconds, so that a busy machine does not show."""
    start = time.process_time()
    work()
    return time.process_time() - start


def whole_command(made: SimDay) -> list[Row]:
    """``find --json`` in a process of its own: start, reading, computing, writing."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "track.gpx").write_text(gpx.write(made.log), encoding="utf-8")
        (folder / "rig.toml").write_text(write_rig(made.rig), encoding="utf-8")
        features = [{"type": "Feature", "properties": {}, "geometry": mapping(made.paddock.area)}]
        (folder / "paddock.geojson").write_text(
            json.dumps({"type": "FeatureCollection", "features": features}),
            encoding="utf-8",
        )
        words = [sys.executable, "-m", "unsown", "find", "--json"]
        words += ["--paddock", str(folder / "paddock.geojson"), "--rig", str(folder / "rig.toml")]
        rows = []
        for extra, what in ((["--no-settle"], "without settling"), ([], "settled, default draws")):
            wall, seconds, peak_mb = _child([*words, *extra, str(folder / "track.gpx")])
            note = f"{len(made.log.fixes)} fixes; {wall:.1f} s by the clock; peak {peak_mb:.0f} MB"
            rows.append(Row(f"`find --json`, 10 h at 1 Hz, {what}", seconds, "", note))
        return rows


def _child(words: list[str]) -> tuple[float, float, float]:
    """Seconds by the clock, processor seconds and peak memory (MB) of a command."""
    start = time.perf_counter()
    with open(os.devnull, "w", encoding="utf-8") as nowhere:
        actions = [(os.POSIX_SPAWN_DUP2, nowhere.fileno(), 1)]
        child = os.posix_spawn(words[0], words, os.environ, file_actions=actions)
        _, status, use = os.wait4(child, 0)
    if status:
        raise SystemExit(f"{' '.join(words)} ended with {os.waitstatus_to_exitcode(status)}")
    return time.perf_counter() - start, use.ru_utime + use.ru_stime, use.ru_maxrss / 1024


def quads(made: SimDay) -> list[tuple[Floats, Floats]]:
    """Left and right ends of the bar for each seeding stretch, from the engine's own poses."""
    fixes, plane, rig = made.log.fixes, made.plane, made.rig
    x, y = plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    t0 = int(fixes.t_ms.min())
    track = clean(
        (fixes.t_ms - t0) / 1000.0,
        x,
        y,
        acc_m=fixes.acc_m,
        speed_m_s=fixes.speed_m_s,
        course_rad=np.radians(90.0 - fixes.course_deg),
    )
    path = trail(track, rig)
    changes, _ = taps(made.log.marks)
    runs = runs_from_taps(changes, [rig], t0, int(fixes.t_ms.max()))
    stretches = [p for run in runs for p in poses_between(path, run.on_s, run.off_s)]
    return [bar_ends(p, 0.0, rig.tool.width_m) for p in stretches]


def quad_union(made: SimDay, ends: list[tuple[Floats, Floats]]) -> tuple[float, float]:
    """The reference: one quadrilateral for each pose, their union, and the paddock less it; m²."""
    rings = [
        np.stack([left[:-1], left[1:], right[1:], right[:-1], left[:-1]], axis=1)
        for left, right in ends
    ]
    boxes = shapely.make_valid(shapely.polygons(np.concatenate(rings)))
    union = shapely.union_all(boxes)
    net = made.plane.shape_to_xy(made.paddock.area)
    for keep_out in made.paddock.keep_outs:
        net = net.difference(made.plane.shape_to_xy(keep_out.area))
    return float(union.intersection(net).area), float(net.difference(union).area)


def engine(slow: SimDay, quick: SimDay) -> list[Row]:
    """The engine alone at 1 and at 10 Hz, against a union of quadrilaterals."""
    plain = Settings(settle=False)
    got: dict[str, float] = {}

    def ours(made: SimDay) -> None:
        tally, _ = find(made.log, made.paddock, [made.rig], plain)
        got["sown"], got["bare"] = tally.sown_ha * 1e4, tally.bare_ha * 1e4

    one = took(lambda: ours(quick))
    ten = took(lambda: ours(slow))
    ends = quads(slow)
    start = time.process_time()
    sown, bare = quad_union(slow, ends)
    reference = time.process_time() - start
    apart = 100 * abs(got["sown"] - sown) / sown
    count = len(slow.log.fixes)
    return [
        Row(
            "engine, 10 h at 10 Hz",
            ten,
            f"{reference / ten:.1f} times as fast as a union of quads ({reference:.1f} s)",
            f"{count} fixes; sown {apart:.3f} % apart, bare {got['bare']:.0f} and {bare:.0f} m²",
        ),
        Row("engine, 10 h at 1 Hz", one, f"10 Hz costs {ten / one:.1f} times as much"),
    ]


def main() -> int:
    """Runs the cases and prints the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--write", action="store_true", help="write docs/reference/speed.md")
    args = options.parse_args()
    quick, slow = simulated(1.0), simulated(10.0)
    rows = [*whole_command(quick), *engine(slow, quick)]
    table = "\n".join(
        [
            "| what | processor time | against | |",
            "|---|---|---|---|",
            *(row.line() for row in rows),
        ]
    )
    print(table)
    if args.write:
        PAGE.write_text(_page(table), encoding="utf-8")
        print(f"Written: {PAGE}")
    return 0


def _page(table: str) -> str:
    return (
        "# Speed\n\n"
        "Made by `make bench` (`tests/bench/run.py --write`). Times are of one machine on one day "
        f"({os.cpu_count()} cores, Python {platform.python_version()}); ratios are of two ways in "
        f"the same run and hold elsewhere too.\n\n{table}\n"
    )


if __name__ == "__main__":
    sys.exit(main())
