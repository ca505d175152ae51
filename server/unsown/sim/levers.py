"""When the lever is moved, and when seed then really lands.

The driver looks at the tool: wants the front rank to start seeding on the line, and the rear
rank to end on it, allows for the rig's delays, and misses both by a metre or so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.words import Bools, Floats, Rig, Times
from unsown.sim.drive import Poses, between
from unsown.sim.pace import Clock
from unsown.sim.route import Route, Track, Work
from unsown.sim.story import Story
from unsown.sim.turns import Pose


@dataclass(frozen=True)
class Sowing:
    """One lowering and lifting, seconds; ``on_s``..``off_s`` seed lands from every opener.

    ``why`` says what went wrong at the start and the end: ``late drop``, ``early lift``,
    ``corner``, ``backing`` or nothing.
    """

    down_s: float
    up_s: float
    on_s: float
    off_s: float
    work: int
    why: tuple[str, str] = ("", "")


def seed_times(down_s: float, up_s: float, before_up_s: float | None, times: Times) -> Floats:
    """(on, off) of full seed for true lever times; the meter stops with the lift.

    Hoses still charged from the last run shorten the filling in proportion.
    """
    fill = times.fill_s
    if before_up_s is not None and times.drain_s:
        empty = (down_s + times.meter_s - before_up_s) / times.drain_s
        fill *= min(1.0, max(0.0, empty))
    on = down_s + max(times.lower_s, times.meter_s + fill)
    return np.array([on, up_s + stop_delay(times)])


def stop_delay(times: Times) -> float:
    """Seconds from the lift to the end of seed from every opener."""
    if times.drain_s is None:
        return times.raise_s
    starve = 0.7 * times.drain_s if times.first_starve_s is None else times.first_starve_s
    return min(times.raise_s, starve)


def start_delay(times: Times) -> float:
    """Seconds from the lever to seed from every opener, hoses empty."""
    return max(times.lower_s, times.meter_s + times.fill_s)


def sowings(
    route: Route,
    track: Track,
    poses: Poses,
    time: Clock,
    rig: Rig,
    story: Story,
    rng: np.random.Generator,
) -> tuple[Sowing, ...]:
    """The true lowerings and liftings of the day, in order."""
    front = poses.rank(rig.tool.front_rank_m, rig.tool.offset_left_m)
    rear = poses.rank(rig.tool.rear_rank_m, rig.tool.offset_left_m)
    works = [(i, w) for i, w in enumerate(route.works) if not w.up]
    gross = {int(g) for g in rng.choice(2 * len(works), min(story.gross, len(works)), False)}
    wanted: list[tuple[float, float, int, str, str]] = []
    ended = 0.0
    for j, (i, work) in enumerate(works):
        a, b = int(track.first[work.pieces[0]]), int(track.last[work.pieces[1]])
        slip = rng.normal(0, story.lever_m, 2)
        why = ["", ""]
        if 2 * j in gross:
            slip[0], why[0] = rng.uniform(4, 15), "late drop"
        if 2 * j + 1 in gross:
            slip[1], why[1] = -rng.uniform(4, 15), "early lift"
        begin = work.start
        if "resumes" in work.tags:
            begin = _line_at(poses, float(time.index_at(ended)), rear)
            why[0], slip[0] = "backing", slip[0] - 0.5
        on = _crossing(front, a, b, begin, first=True)
        off = _crossing(rear, a, b, work.end, first=False)
        if "stops" in work.tags:
            why[1], off, slip[1] = "backing", b - 0.01, 0.0
        if on is None or off is None or off <= on:
            continue
        s_on, s_off = _s(poses, on) + slip[0], _s(poses, off) + slip[1]
        t_on, t_off = float(_time(poses, time, s_on)), float(_time(poses, time, s_off))
        down, up = t_on - start_delay(rig.times), t_off - stop_delay(rig.times)
        if "stops" in work.tags:
            up = t_off + float(rng.uniform(0.3, 1.5))
        ended = up + stop_delay(rig.times)
        marks = _corners(work, poses, time, a, b, rng) if work.corners else []
        marks = [(u, d) for u, d in marks if u > down + 8 and d < up - 8]
        levers = [down, *[v for pair in marks for v in pair], up]
        for k in range(0, len(levers), 2):
            start = why[0] if k == 0 else "corner"
            end = why[1] if k + 2 == len(levers) else "corner"
            wanted.append((levers[k], levers[k + 1], i, start, end))
    return _in_order(wanted, rig.times)


def _in_order(wanted: list[tuple[float, float, int, str, str]], times: Times) -> tuple[Sowing, ...]:
    out: list[Sowing] = []
    before: float | None = None
    for wish, up, work, start, end in wanted:
        down = max(wish, 0.5 if before is None else before + 0.8)
        if up < down + 1.0:
            continue
        on, off = seed_times(down, up, before, times)
        out.append(Sowing(down, up, float(on), float(off), work, (start, end)))
        before = up
    return tuple(out)


def _line_at(poses: Poses, index: float, rear: Floats) -> Pose:
    """The line across the tool's way at its rear rank, at a path sample."""
    x, y = between(rear[:, 0], index), between(rear[:, 1], index)
    return float(x), float(y), float(between(poses.theta, index))


def _crossing(points: Floats, a: int, b: int, line: Pose, first: bool) -> float | None:
    """Fractional sample at which a point of the tool passes a line across its way."""
    x, y, psi = line
    part = points[a : b + 1]
    along = (part[:, 0] - x) * np.cos(psi) + (part[:, 1] - y) * np.sin(psi)
    aside = np.abs(-(part[:, 0] - x) * np.sin(psi) + (part[:, 1] - y) * np.cos(psi))
    hit: Bools = (along[:-1] < 0) & (along[1:] >= 0) & (aside[1:] < 12)
    at = np.flatnonzero(hit)
    if not len(at):
        return None
    i = int(at[0] if first else at[-1])
    return a + i + float(along[i] / (along[i] - along[i + 1]))


def _s(poses: Poses, index: float) -> float:
    return float(between(poses.s, index))


def _time(poses: Poses, time: Clock, s: float) -> Floats:
    i = int(np.clip(np.searchsorted(poses.s, s), 1, len(poses.s) - 1))
    a, b = float(poses.s[i - 1]), float(poses.s[i])
    return time.time_at(i - 1 + min(max((s - a) / max(b - a, 1e-9), 0.0), 1.0))


def _corners(
    work: Work, poses: Poses, time: Clock, a: int, b: int, rng: np.random.Generator
) -> list[tuple[float, float]]:
    """(lift, drop) times of the corners of a lap: lifted when the tool starts to swing."""
    psi = poses.psi[a : b + 1]
    bent = np.abs(poses.kappa[a : b + 1]) > 0.045
    swing = np.abs(poses.swing()[a : b + 1])
    edges = np.flatnonzero(np.diff(np.r_[False, bent, False].astype(np.int8)))
    out: list[tuple[float, float]] = []
    for i, j in edges.reshape(-1, 2):
        if abs(psi[min(j, len(psi) - 1)] - psi[i]) < 0.5:
            continue
        up = i + int(np.argmax(swing[i:] > np.radians(rng.uniform(3, 7))))
        calm = swing[j:] < np.radians(rng.uniform(8, 18))
        if not calm.any():
            continue
        down = j + int(np.argmax(calm))
        t_up, t_down = float(time.time_at(a + up)), float(time.time_at(a + down))
        if out and t_up < out[-1][1] + 6:
            out[-1] = (out[-1][0], t_down)
        else:
            out.append((t_up, t_down))
    return out
