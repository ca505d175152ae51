"""Builders of hard situations: noisy phones, loop turns, answers given afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from drives import PLANE, START_MS, Drive, Step, down, straight, turn, up
from unsown.core.plane import Plane
from unsown.core.words import Fixes, Log, Mark, Question, Tally
from unsown.sim.steer import gauss_markov

LOOP_M = 9.0


def noisy(
    given: Fixes, seed: int, white_m: float = 0.1, drift_m: float = 0.0, drift_s: float = 60.0
) -> Fixes:
    """The fixes as a phone sees them: quick noise, and a drift at one fix a second."""
    rng = np.random.default_rng(seed)
    n = len(given)
    east, north = (
        drift_m * gauss_markov(rng, n, 1.0, drift_s) + white_m * rng.standard_normal(n)
        for _ in range(2)
    )
    return moved(given, east, north)


def moved(given: Fixes, east_m: np.ndarray | float, north_m: np.ndarray | float) -> Fixes:
    """The fixes moved by metres."""
    lat = np.radians(PLANE.lat0_deg)
    return replace(
        given,
        lat_deg=given.lat_deg + np.asarray(north_m) / 111_230.0,
        lon_deg=given.lon_deg + np.asarray(east_m) / (111_410.0 * np.cos(lat)),
    )


def loop(spacing_m: float, left: bool) -> list[Step]:
    """A turn to the neighbouring row closer than two radii: out, round and back."""
    swing = float(np.degrees(np.arccos((LOOP_M + spacing_m / 2) / (2 * LOOP_M))))
    side = 1 if left else -1
    return [
        *turn(LOOP_M, -side * swing),
        *turn(LOOP_M, side * (180 + 2 * swing)),
        *turn(LOOP_M, -side * swing),
    ]


def rows(count: int, length_m: float, spacing_m: float) -> list[Step]:
    """Runs to and fro, each beside the last, with loop turns; the first turn is to the left."""
    parts: list[Step] = []
    for i in range(count):
        parts += down() + straight(length_m) + up()
        if i + 1 < count:
            parts += loop(spacing_m, i % 2 == 0)
    return parts


def spliced(*drives: Drive) -> Drive:
    """Drives one after another, a second apart."""
    start, times, levers = 0.0, [], []
    for d in drives:
        times.append(d.t_s + start)
        levers += [(t + start, word) for t, word in d.levers]
        start += float(d.t_s[-1]) + 1.0
    names = ("x_m", "y_m", "heading_rad", "speed_m_s")
    joined = [np.concatenate([getattr(d, n) for d in drives]) for n in names]
    return Drive(np.concatenate(times), *joined, tuple(levers))


def on(plane: Plane, shape: BaseGeometry) -> BaseGeometry:
    """A shape of the builders' plane on another one."""
    return plane.shape_to_xy(PLANE.shape_to_degrees(shape))


def told(given: Log, about: Question | Sequence[Question], word: str) -> Log:
    """The log with an answer to a question, or to each of several."""
    asked = [about] if isinstance(about, Question) else list(about)
    said = tuple(
        Mark(
            q.to_ms,
            "blind" if q.kind == "blind" else "say",
            "desk",
            i + 1,
            {"from_ms": q.from_ms, "to_ms": q.to_ms, "answer": word, "about": q.kind},
        )
        for i, q in enumerate(asked)
    )
    return replace(given, marks=(*given.marks, *said))


def ms(seconds: float) -> int:
    return START_MS + round(1000 * seconds)


def metres2(ha: float) -> float:
    return ha * 1e4


def unreal(t: Tally, truth, *, at_least_m2: float = 30.0) -> list:
    """Patches called sure of which less than half is truly bare."""
    near = truth.bare.buffer(0.3)
    return [
        p
        for p in t.patches
        if p.call == "sure"
        and p.area_m2 >= at_least_m2
        and p.outline.intersection(near).area < 0.5 * p.area_m2
    ]
