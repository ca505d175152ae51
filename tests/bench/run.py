"""Speed figures: ``make bench`` prints them; with ``--write`` they go to docs/reference/speed.md.

Each case compares two ways in the same run on the same machine, so its ratio means something
elsewhere too. Times are never tested. Libraries are kept to one thread, so that processor time
is work done.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import cab
import gate
import load
import numpy as np
import season
import shapely
from shapely.geometry import mapping
from shapely.geometry.base import BaseGeometry

from unsown.core.bare import patches
from unsown.core.clean import clean
from unsown.core.cover import EMPTY, Poses, bar_ends, ground, poses_between, strip
from unsown.core.day import find
from unsown.core.lever import runs_from_taps, taps
from unsown.core.trail import trail
from unsown.core.words import Settings, Tally
from unsown.formats import gpx
from unsown.formats.rig import write_rig
from unsown.sim import SimDay, day

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "speed.md"
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
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
    made = made.logged("typical")  # a phone's track: an exact one is left as it is
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


def runs_of(made: SimDay) -> list[list[Poses]]:
    """Poses of the bar, run by run, from the fixes: cleaned and towed."""
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
    return [poses_between(path, run.on_s, run.off_s) for run in runs]


def at_fixes(made: SimDay, runs: list[list[Poses]]) -> list[list[Poses]]:
    """The same runs with a pose at every fix."""
    t = (made.log.fixes.t_ms - made.log.fixes.t_ms.min()) / 1000.0

    def every(p: Poses) -> Poses:
        at = np.r_[p.t_s[0], t[(t > p.t_s[0]) & (t < p.t_s[-1])], p.t_s[-1]]
        columns = (p.x_m, p.y_m, p.heading_rad, p.path_m)
        return Poses(at, *(np.interp(at, p.t_s, c) for c in columns))

    return [[every(p) for p in run] for run in runs]


def grounds(made: SimDay) -> tuple[BaseGeometry, BaseGeometry]:
    """Boundary and keep-outs on the plane."""
    keep_outs = [made.plane.shape_to_xy(k.area) for k in made.paddock.keep_outs]
    return made.plane.shape_to_xy(made.paddock.area), shapely.union_all(keep_outs)


def covered(made: SimDay, runs: list[list[Poses]]) -> tuple[float, float]:
    """The engine's way from poses to ground: strips, union, twice, bare, patches; sown, bare m²."""
    tool = made.rig.tool
    strips = [
        strip(i, run, tool.front_rank_m, tool.rear_rank_m, tool.width_m)
        for i, run in enumerate(runs)
    ]
    states, _ = ground(strips, *grounds(made), EMPTY)
    patches(states.bare)
    return states.sown.area, states.bare.area


def quad_union(made: SimDay, runs: list[list[Poses]]) -> tuple[float, float]:
    """The reference: one quadrilateral for each pose, their union, and the paddock less it; m²."""
    rings = []
    for poses in (p for run in runs for p in run):
        left, right = bar_ends(poses, 0.0, made.rig.tool.width_m)
        rings.append(np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1))
    union = shapely.union_all(shapely.make_valid(shapely.polygons(np.concatenate(rings))))
    boundary, keep_out = grounds(made)
    net = boundary.difference(keep_out)
    return float(union.intersection(net).area), float(net.difference(union).area)


def cover(dense: SimDay) -> list[Row]:
    """From poses to ground, and from fixes to ground, against a union of quadrilaterals."""
    poses = at_fixes(dense, runs_of(dense))
    count = sum(len(p) for run in poses for p in run)
    got: dict[str, tuple[float, float]] = {}
    alone = took(lambda: got.update(ours=covered(dense, poses)))
    whole = took(lambda: got.update(fixes=covered(dense, runs_of(dense))))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    reference = took(lambda: got.update(quads=quad_union(dense, poses)))
    sown, bare = got["quads"]

    def row(what: str, seconds: float, key: str, note: str) -> Row:
        off = 100 * abs(got[key][0] - sown) / sown
        return Row(what, seconds, f"{reference / seconds:.1f} times as fast as the reference",
            f"{note}; sown {off:.3f} % apart, bare {got[key][1]:.0f} of {bare:.0f} m²")  # fmt: skip

    return [
        Row("reference: union of a quad per fix, and difference", reference, "",
            f"10 h at 10 Hz: {count} poses while sowing"),
        row("strips, union, twice, bare, patches", alone, "ours", "the same poses"),
        row("cleaned, towed and covered", whole, "fixes",
            f"{len(dense.log.fixes)} fixes; peak {peak:.0f} MB"),
    ]  # fmt: skip


def engine(usual: SimDay) -> list[Row]:
    """The whole engine at 1 Hz without files, on a phone's track."""
    usual = usual.logged("typical")

    def ours(settings: Settings) -> Tally:
        return find(usual.log, usual.paddock, [usual.rig], settings)[0]

    if ours(Settings(draws=1)).settle is None:
        raise SystemExit(
            "the day of the bench was not settled: its rows would not say what they say"
        )
    plain = took(lambda: ours(Settings(settle=False, draws=0)))
    whole = took(lambda: ours(Settings()))
    return [
        Row("engine, 10 h at 1 Hz, not settled, no draws", plain, "",
            f"{len(usual.log.fixes)} fixes"),
        Row("engine, 10 h at 1 Hz, settled, default draws", whole,
            f"{whole / plain:.1f} times the one before", ""),
    ]  # fmt: skip


def drawing(usual: SimDay) -> list[Row]:
    """A hundred draws counted on the raster, against sweeping as many pictures with polygons."""
    usual = usual.logged("typical")
    stages: dict[str, float] = {}
    last = ["", time.process_time()]

    def told(stage: str, _: float) -> None:
        now = time.process_time()
        stages[str(last[0])] = stages.get(str(last[0]), 0.0) + now - float(last[1])
        last[:] = [stage, now]

    find(usual.log, usual.paddock, [usual.rig], Settings(draws=100), told)
    ours, one = stages["how sure"], stages["sweeping"]
    hundred = sum(stages[k] for k in ("settling", "sweeping", "patches", "how sure"))
    return [
        Row("reference: a hundred pictures swept and united with polygons", 100 * one, ""),
        Row("a hundred draws swept and counted on the raster", ours,
            f"{100 * one / ours:.0f} times as fast as the reference"),
        Row("settling with learning, a hundred draws and their sweeps", hundred, "",
            f"10 h at 1 Hz, {len(usual.log.fixes)} fixes"),
    ]  # fmt: skip


def growth(usual: SimDay) -> list[Row]:
    """A tenth of the day against the whole: does the cost grow with the length?"""
    short = sliced(usual, 0.1)

    def ours(made: SimDay) -> None:
        find(made.log, made.paddock, [made.rig], Settings(settle=False, draws=0))

    small, large = took(lambda: ours(short)), took(lambda: ours(usual))
    times = len(usual.log.fixes) / len(short.log.fixes)
    phone, half = usual.logged("typical"), sliced(usual.logged("typical"), 0.5)

    def settled(made: SimDay) -> None:
        find(made.log, made.paddock, [made.rig])

    part, whole = took(lambda: settled(half)), took(lambda: settled(phone))
    twice = len(phone.log.fixes) / len(half.log.fixes)
    return [
        Row(f"engine, a tenth of the day ({len(short.log.fixes)} fixes)", small,
            f"{times:.1f} times the fixes cost {large / small:.1f} times as much", ""),
        Row(f"engine, settled, half of the day ({len(half.log.fixes)} fixes)", part,
            f"{twice:.1f} times the fixes cost {whole / part:.1f} times as much", ""),
    ]  # fmt: skip


def sliced(made: SimDay, share: float) -> SimDay:
    """The first part of the same day."""
    f = made.log.fixes
    rows = slice(0, int(share * len(f)))
    names = ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg", "phone", "segment")
    part = replace(f, **{name: getattr(f, name)[rows] for name in names})
    marks = tuple(m for m in made.log.marks if m.t_ms <= int(part.t_ms[-1]))
    return replace(made, log=replace(made.log, fixes=part, marks=marks))


def main() -> int:
    """Runs the cases and prints the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--write", action="store_true", help="write docs/reference/speed.md")
    args = options.parse_args()
    if any(os.environ.get(name) != "1" for name in THREADS):
        os.execve(  # the same program again
            sys.executable, [sys.executable, *sys.argv], os.environ | dict.fromkeys(THREADS, "1")
        )
    usual, dense = simulated(1.0), simulated(10.0)
    rows = [*whole_command(usual), *cover(dense), *engine(usual), *drawing(usual)]
    rows += [*growth(usual), Row(*gate.row())]
    table = "\n".join(
        [
            "| what | processor time | against | |",
            "|---|---|---|---|",
            *(row.line() for row in rows),
        ]
    )
    print(table)
    print(house := f"{load.table()}\n{season.row()}")
    print(phones := cab.section())
    if args.write:
        PAGE.write_text(cab.put(_page(table, house), phones), encoding="utf-8")
        print(f"Written: {PAGE}")
    return 0


def _page(table: str, house: str) -> str:
    return (
        "# Speed\n\n"
        "Made by `make bench` (`tests/bench/run.py --write`). Times are of one machine on one day "
        f"({os.cpu_count()} cores, Python {platform.python_version()}); ratios are of two ways in "
        f"the same run and hold elsewhere too.\n\n{table}\n\n"
        "## The home service\n\n"
        "By the clock, on 127.0.0.1, every acknowledged entry synced to the disk; the phones are "
        f"simulated on the same machine and take part of it.\n\n{house}\n"
    )


if __name__ == "__main__":
    sys.exit(main())
