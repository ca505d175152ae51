"""Small hard days with their taps: what the tests of forgotten taps drive."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np

from unsown.core.clean import Track, clean
from unsown.core.infer import Inferred, infer
from unsown.core.told import Answer, Tap, tapped
from unsown.core.trail import Trail, trail
from unsown.sim.day import SimDay, day

HARD = {"turn_pace": 1.0, "halts": 3, "creeps": 2, "backs": 1, "backing_turns": 0.3}


@cache
def made(seed: int, up_runs: int = 0, preset: str = "typical") -> SimDay:
    """A hard day of some 10 ha on fresh seeds."""
    return day(seed, preset=preset, size="small", area_ha=12.0, up_runs=up_runs, **HARD)


@cache
def driven(seed: int, up_runs: int = 0, gaps: int = 0) -> tuple[Track, Trail]:
    here = made(seed, up_runs)
    fixes = (here.logged(gaps=gaps) if gaps else here).log.fixes
    x, y = here.plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    track = clean(
        (fixes.t_ms - here.logging.start_ms) / 1000.0,
        x,
        y,
        acc_m=fixes.acc_m,
        speed_m_s=fixes.speed_m_s,
        course_rad=np.radians(90.0 - fixes.course_deg),
    )
    return track, trail(track, here.rig)


def taps_of(here: SimDay) -> list[Tap]:
    return tapped(here.log.marks, here.logging.start_ms)[0]


def found(
    seed: int, taps: Sequence[Tap], answers: Sequence[Answer] = (), up_runs: int = 0
) -> Inferred:
    here = made(seed, up_runs)
    track, tool = driven(seed, up_runs)
    return infer(track, tool, here.rig, taps, here.truth.net, answers=answers)


def longest(here: SimDay) -> int:
    """Number of the longest run that has others on both sides of it in time."""
    spans = [s.off_s - s.on_s if s.why == ("", "") else 0.0 for s in here.truth.sowings]
    return 2 + int(np.argmax(spans[2:-2]))


def without_taps(taps: Sequence[Tap], *at: float) -> list[Tap]:
    return [t for t in taps if not any(abs(t.t_s - a) < 0.5 for a in at)]


def sown_share(result: Inferred, from_s: float, to_s: float) -> float:
    t = np.linspace(from_s + 0.5, to_s - 0.5, 200)
    inside = np.zeros(len(t), dtype=bool)
    for run in result.runs:
        inside |= (t >= run.on_s) & (t <= run.off_s)
    return float(inside.mean())


def doubt_share(result: Inferred, from_s: float, to_s: float) -> float:
    t = np.linspace(from_s + 0.5, to_s - 0.5, 200)
    inside = np.zeros(len(t), dtype=bool)
    for doubt in result.doubts:
        inside |= (t >= doubt.from_s) & (t <= doubt.to_s)
    return float(inside.mean())
