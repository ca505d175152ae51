"""Fits the scores of the forgotten-taps chain on simulated days and writes them as a module.

``python -m unsown.tune.taps --out scores.py`` (some ten minutes). Seeds stay below
1000; figures are to be reported on others. Three of four days are hard ones: no slowing in
turns, halts, truck trips, creeping, backing, two runs driven with the tool up (those are left
out of the fit, since nothing tells them from sowing).

Two fits, both convex. The scores of a second are an additive logistic regression of the true
state on the binned signs. The scores of a place are a conditional logit: of all seconds in the
40 s round a true change, which one was it, given what the seconds' own scores say already.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import Any

import numpy as np
from scipy.optimize import minimize

from unsown.core import beside, signs
from unsown.core.clean import clean
from unsown.core.guess import WEIGHT
from unsown.core.ticks import Ticks, ticks
from unsown.core.trail import trail
from unsown.core.words import Bools, Floats, Ints
from unsown.sim.day import SimDay, day
from unsown.sim.route import Route
from unsown.sim.trial import hard_taps

Tables = dict[str, Floats]

HARD: Mapping[str, Any] = {
    "turn_pace": 1.0,
    "halts": 6,
    "creeps": 4,
    "backs": 3,
    "backing_turns": 0.3,
    "truck_trips": 3,
    "up_runs": 2,
}
_PRESETS = ("good", "typical", "poor", "typical", "good", "slow")
_RIGS = ("demo", "twelve", "mounted", "cart", "demo", "eighteen")
_RIDGE_STATE, _RIDGE_PLACE, _ROUND_S = 3.0, 1.0, 40
#: Of the seconds every third is fitted on: neighbours say the same.
_EACH_S = 3
_IN = " " * 8


@dataclass(frozen=True)
class Sample:
    """One day's signs and truth, a row a tick; ``weight`` is 0 on runs driven with the tool up."""

    second: Ticks
    motion: dict[str, Ints]
    ground: dict[str, Ints]
    place: dict[str, Ints]
    down: Bools
    weight: Floats


def habits(seed: int) -> dict[str, Any]:
    """The story of a fitting day."""
    rng = np.random.default_rng([seed, 77])
    out: dict[str, Any] = dict(HARD) if seed % 4 else {}
    out["laps"] = int(rng.integers(1, 5))
    out["overlap_m"] = float(rng.uniform(0.1, 0.8))
    out["steer_m"] = float(rng.uniform(0.1, 0.35))
    out["corners"] = str(rng.choice(["lift", "keep", "mixed"]))
    out["style"] = "round" if rng.random() < 0.12 else "up-and-back"
    if rng.random() < 0.3:
        out["lost_furrow_m"] = 1.0
    if rng.random() < 0.3:
        out["missed_runs"] = 1
    return out


def hard_day(seed: int, preset: str | None = None) -> SimDay:
    """A day to fit on or to report on, 20 to 45 ha."""
    rng = np.random.default_rng([seed, 78])
    area = float(rng.uniform(20, 45))
    rig = str(rng.choice(_RIGS))
    chosen = preset or _PRESETS[seed % 6]
    return day(seed, preset=chosen, area_ha=area, rig=rig, **habits(seed))


def seconds_of(made: SimDay) -> Ticks:
    """The ticks of a simulated day as the engine sees them."""
    fixes = made.log.fixes
    x, y = made.plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    course = np.radians(90.0 - fixes.course_deg)
    t = (fixes.t_ms - made.logging.start_ms) / 1000.0
    kept = clean(t, x, y, acc_m=fixes.acc_m, speed_m_s=fixes.speed_m_s, course_rad=course)
    return ticks(kept, trail(kept, made.rig), made.rig)


def truly_down(made: SimDay, t_s: Floats) -> Bools:
    """Whether every opener seeded at these times."""
    down = np.zeros(len(t_s), dtype=bool)
    for sowing in made.truth.sowings:
        down |= (t_s >= sowing.on_s) & (t_s < sowing.off_s)
    return down


def driven_up(made: SimDay, t_s: Floats) -> Bools:
    """Whether the rig was on a run that was driven with the tool up."""
    route: Route = made.drive.route
    index = made.drive.time.index_at(t_s).astype(np.int64)
    piece = made.drive.track.piece[np.clip(index, 0, len(made.drive.track.piece) - 1)]
    out = np.zeros(len(t_s), dtype=bool)
    for work in route.works:
        if work.up:
            out |= (piece >= work.pieces[0]) & (piece <= work.pieces[1])
    return out


def sample(made: SimDay) -> Sample:
    """Signs and truth of one day, the ground as it truly was."""
    second = seconds_of(made)
    down = truly_down(made, second.t_s)
    motion = signs.movement(second, made.rig.tool.width_m, made.truth.net)
    near = beside.beside(beside.grid(second, made.rig.tool.width_m), np.where(down, 0.98, 0.0))
    ground = signs.ground(second, near)
    pace = np.clip(second.speed_m_s / second.usual_m_s, 0.15, 1.0)
    weight = pace * ~driven_up(made, second.t_s)
    place = signs.place(second, motion, near, ground)
    return Sample(second, motion, ground, place, down, weight)


class Columns:
    """Tables laid end to end in one vector."""

    def __init__(self, shapes: Mapping[str, tuple[int, ...]]) -> None:
        self.shapes = dict(shapes)
        sizes = [int(np.prod(shape)) for shape in shapes.values()]
        self.first = dict(zip(shapes, np.cumsum([0, *sizes])[:-1].tolist(), strict=True))
        self.size = int(sum(sizes))

    def of(self, found: Mapping[str, Ints]) -> Ints:
        """Column numbers, (n, tables)."""
        return np.stack([found[k] + self.first[k] for k in self.shapes], axis=1)

    def split(self, vector: Floats) -> Tables:
        """The vector as tables again."""
        return {
            k: vector[a : a + int(np.prod(self.shapes[k]))].reshape(self.shapes[k])
            for k, a in self.first.items()
        }

    def gather(self, columns: Ints, pull: Floats) -> Floats:
        """Sums of ``pull`` for each column."""
        out = np.zeros(self.size)
        for j in range(columns.shape[1]):
            out += np.bincount(columns[:, j], pull, self.size)
        return out


def _least(f: Callable[[Floats], tuple[float, Floats]], size: int) -> Floats:
    found = minimize(f, np.zeros(size), jac=True, method="L-BFGS-B", options={"maxiter": 200})
    return np.asarray(found.x)


def fit_state(
    days: Sequence[tuple[dict[str, Ints], Sample]], shapes: Mapping[str, tuple[int, ...]]
) -> Tables:
    """Additive logistic regression of down on the signs; the constant goes to the first table."""
    lay = Columns(shapes)
    columns = np.concatenate([lay.of(found)[::_EACH_S] for found, _ in days])
    down = np.concatenate([s.down[::_EACH_S] for _, s in days]).astype(np.float64)
    weight = np.concatenate([s.weight[::_EACH_S] * _EACH_S for _, s in days])

    def loss(b: Floats) -> tuple[float, Floats]:
        z = b[:-1][columns].sum(axis=1) + b[-1]
        pull = weight * (1 / (1 + np.exp(-z)) - down)
        value = float((weight * (np.logaddexp(0, z) - down * z)).sum())
        value += _RIDGE_STATE / 2 * float((b[:-1] ** 2).sum())
        return value, np.r_[lay.gather(columns, pull) + _RIDGE_STATE * b[:-1], pull.sum()]

    best = _least(loss, lay.size + 1)
    tables = lay.split(best[:-1])
    tables[next(iter(shapes))] += best[-1]
    return tables


def fit_place(days: Sequence[Sample], tables: Tables, down: bool) -> Tables:
    """Conditional logit of the second at which the tool went down (or up)."""
    lay = Columns(signs.PLACE)
    rows, groups, hits, known = [], [], [], []
    count = 0
    for s in days:
        score = np.clip(signs.score({**s.motion, **s.ground}, tables), -8.0, 8.0)
        total = np.r_[0.0, np.cumsum(WEIGHT * s.weight * score)] * (1.0 if down else -1.0)
        columns = lay.of(s.place)
        change = np.flatnonzero(np.diff(s.down.astype(np.int8))) + 1
        ends = np.r_[0, change, len(s.down)]
        for i, at in enumerate(change.tolist()):
            if bool(s.down[at]) != down:
                continue
            a, b = max(int(ends[i]), at - _ROUND_S), min(int(ends[i + 2]), at + _ROUND_S)
            if b - a < 4:
                continue
            here = np.arange(a + 1, b)
            rows.append(columns[here])
            groups.append(np.full(len(here), count))
            hits.append(here == at)
            known.append(-total[here])
            count += 1
    columns, group = np.concatenate(rows), np.concatenate(groups)
    hit, offset = np.concatenate(hits), np.concatenate(known)

    def loss(b: Floats) -> tuple[float, Floats]:
        z = offset + b[columns].sum(axis=1)
        top = np.full(count, -np.inf)
        np.maximum.at(top, group, z)
        share = np.exp(z - top[group])
        whole = np.bincount(group, share, count)
        value = float((np.log(whole[group[hit]]) + top[group[hit]] - z[hit]).sum())
        pull = share / whole[group] - hit
        return value + _RIDGE_PLACE / 2 * float((b**2).sum()), lay.gather(
            columns, pull
        ) + _RIDGE_PLACE * b

    out = lay.split(_least(loss, lay.size))
    every = np.concatenate([signs.score(s.place, out) for s in days])
    out["pace"] -= np.log(np.mean(np.exp(every)))
    return out


_HEAD = '''"""Scores of the signs of work: natural log odds of down against up, table by table.

Written by ``python -m unsown.tune.taps``, not by hand: see there for how. Fitted on {days}
whole simulated days, seeds {seeds}. ``MOVEMENT`` is for the first
round, without the ground; ``WITH_GROUND`` for the rounds after it; ``GOES_DOWN`` and ``GOES_UP``
say how much likelier a change is at such a place. Bins: see ``signs``; of two signs the first
goes along the rows.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from unsown.core.words import Floats

# fmt: off
'''


def written(tables: Mapping[str, Tables], days: int, seeds: str) -> str:
    """The module's text."""
    lines = [_HEAD.format(days=days, seeds=seeds)]
    for name, group in tables.items():
        lines.append(f"{name}: Mapping[str, Floats] = {{\n")
        for key, table in group.items():
            lines.append(f'    "{key}": np.array([\n')
            for row in np.atleast_2d(table):
                said = ", ".join(f"{v + 0.0:.2f}" for v in row)
                lines.append(
                    fill(f"[{said}],", 98, initial_indent=_IN, subsequent_indent=_IN + " ")
                )
                lines.append("\n")
            lines.append("    ]),\n")
        lines.append("}\n")
    return "".join(lines)


def fitted(days: Sequence[Sample]) -> dict[str, Tables]:
    """All tables, by their names in ``core.scores``."""
    every = {**signs.SHAPES, **signs.GROUND}
    alone = fit_state([(s.motion, s) for s in days], signs.SHAPES)
    full = fit_state([({**s.motion, **s.ground}, s) for s in days], every)
    return {
        "MOVEMENT": alone,
        "WITH_GROUND": full,
        "GOES_DOWN": fit_place(days, full, True),
        "GOES_UP": fit_place(days, full, False),
    }


def numbers(given: str) -> list[int]:
    """The numbers of ``1-3,7``."""
    out: list[int] = []
    for part in given.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


def main() -> None:
    """Simulate, fit, write."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--seeds", default="1-30,100-129", help="of small days, three of four hard")
    ask.add_argument("--trials", default="200-319", help="of hard days from the reporting range")
    ask.add_argument("--out", type=Path, required=True)
    given = ask.parse_args()
    small, trials = numbers(given.seeds), numbers(given.trials)
    if max(small + trials) >= 1000:
        ask.error("seeds of 1000 and more are for reporting")
    days = []
    for seed, hard in [(n, False) for n in small] + [(n, True) for n in trials]:
        made = hard_taps(seed, preset=_PRESETS[seed % 6]) if hard else hard_day(seed)
        days.append(sample(made))
        sys.stderr.write(f"day {seed}: {len(days[-1].down)} s\n")
    seeds = f"{given.seeds} and {given.trials}"
    given.out.write_text(written(fitted(days), len(days), seeds), encoding="utf-8")


if __name__ == "__main__":
    main()
