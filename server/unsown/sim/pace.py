"""How fast: working speed with its wavering, slower turns, creeping, halts; and the clock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.words import Floats
from unsown.sim.drive import Poses
from unsown.sim.route import Route, Track
from unsown.sim.steer import gauss_markov
from unsown.sim.story import Story

_GAIN = 0.35  # acceleration and braking of a tractor with a tool behind, m/s²
_SIDE = 0.5  # sideways acceleration a driver keeps under, m/s²


@dataclass(frozen=True)
class Clock:
    """When the rig is where: knots of time (s) against path sample number, rising."""

    t: Floats
    index: Floats

    def time_at(self, index: Floats | float) -> Floats:
        """Seconds at which a (fractional) sample is reached."""
        return np.asarray(np.interp(index, self.index, self.t), dtype=np.float64)

    def index_at(self, t: Floats | float) -> Floats:
        """Fractional sample number at a time."""
        return np.asarray(np.interp(t, self.t, self.index), dtype=np.float64)


def clock(
    route: Route, track: Track, poses: Poses, story: Story, rng: np.random.Generator
) -> Clock:
    """Times along the path from the driver's pace, braking ahead of what is slow."""
    n = len(track.xy)
    step = np.diff(poses.s)
    kinds = np.array([p.kind for p in route.pieces])[track.piece]
    share = np.where(kinds == "turn", story.turn_pace, 1.0) * track.pace
    want = story.speed_m_s * share * (1 + 0.03 * gauss_markov(rng, n, 0.4, 40.0))
    bends = np.sqrt(_SIDE / np.maximum(np.abs(poses.kappa), 1e-3))
    want = np.minimum(want, np.maximum(bends, 0.8))
    working = np.flatnonzero((kinds == "run") | (kinds == "lap"))
    for _ in range(story.creeps):
        a = int(rng.choice(working))
        want[a : a + int(rng.uniform(40, 200) / 0.4)] *= rng.uniform(0.3, 0.6)
    halts = list(track.halts)
    for _ in range(story.halts):
        pool = working if rng.random() < 0.6 else np.flatnonzero(kinds == "turn")
        if len(pool):
            seconds = float(np.exp(rng.uniform(np.log(30), np.log(story.halt_max_s))))
            halts.append((int(rng.choice(pool)), seconds))
    cusps = np.flatnonzero(np.diff(track.gear))
    halts += [(int(i), float(rng.uniform(3, 6))) for i in cusps]
    want = np.clip(want, 0.25, 6.0)
    for at, _ in halts:
        want[at] = 0.0
    want[0] = want[-1] = 0.0
    room = 2 * _GAIN * poses.s
    square = want**2
    square = np.minimum.accumulate(square - room) + room
    square = (np.minimum.accumulate((square + room)[::-1])[::-1]) - room
    v = np.sqrt(np.maximum(square, 0.0))
    dt = 2 * step / np.maximum(v[1:] + v[:-1], 0.05)
    t = np.r_[0.0, np.cumsum(dt)]
    index = np.arange(n, dtype=np.float64)
    order = np.argsort([a for a, _ in halts], kind="stable")
    for j in order:
        at, seconds = halts[j]
        t = np.where(index > at, t + seconds, t)
    knots_t, knots_i = [t], [index]
    stops: dict[int, float] = {}
    for at, seconds in halts:
        stops[at] = stops.get(at, 0.0) + seconds
    ends = np.array(sorted(stops), dtype=np.int64)
    if len(ends):
        knots_t.append(t[ends] + np.array([stops[int(a)] for a in ends]))
        knots_i.append(ends.astype(np.float64))
    all_t, all_i = np.concatenate(knots_t), np.concatenate(knots_i)
    rank = np.lexsort((all_i, all_t))
    return Clock(all_t[rank], all_i[rank])
