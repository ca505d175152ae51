"""Settling: the picture moved so that neighbouring runs lie where the driver steered them.

Seams are paired, the drift's size is learned, the drift is solved for, seams are paired again
in the moved picture and solved for once more. What is left of the drift's roughness between
samples is smoothed out of the lines on straights. A track whose seams are no wider than
steering itself is left alone: there is nothing to take out.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.linalg import solveh_banded
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import Poses
from unsown.core.drift import STEER_FACTOR, STEER_M, Drift, learn
from unsown.core.missed import Candidate, candidates, likely, switched, worst_chain
from unsown.core.seams import Gaps, Samples, ends, fence, samples, seams, unmoved
from unsown.core.solve import Bump, Known, Rows, System, assemble, draw, solve, stack
from unsown.core.words import Bools, Floats

#: Seams spread no wider than this come from steering alone: nothing is settled, m.
STEERING_ONLY_M = 0.42
#: Lines are smoothed below this wavelength on straights, m, at points this far apart, m.
_WAVE_M, _POINT_M = 30.0, 2.0
#: Curvature above which a stretch is not straight, 1/m.
_BEND = 0.012
#: Largest middle gap of a chain of neighbours, in widths: as logged, then as moved, twice.
_ONE_W = (0.4, 0.45, 0.4)
#: Largest middle gap to the fence of an outermost run, in widths.
_FENCE_W = 0.4
#: A shift of the whole day is looked for this far, m, where so many rows lie along the fence.
_SHIFT_M, _SHIFT_ROWS = 7.0, 20
#: How well half a minute beside a peg is read, m.
_PEG_M = 0.3
#: A tap stands within this of the lever's own moment, one sigma, s.
TAP_S = 0.2
#: Sets of sizes (drift, steering) among which the draws are shared out.
_SETS = 6
#: A lost furrow or a wander belongs in the best picture from these log odds.
_ACCEPT_LOG_ODDS = 3.0
#: At most so many chains get a constant of their own.
_FREE_CHAINS = 10
#: Rows of the prior means stand last and are never re-weighted.
_MEANS_ROWS = 64


@dataclass(frozen=True)
class Stretch:
    """One unbroken stretch of a run with its place among phones and its bar."""

    run: int
    leg: int
    front_m: float
    rear_m: float
    width_m: float
    poses: Poses

    @property
    def middle_m(self) -> float:
        """Middle of the ranks ahead of the axle."""
        return (self.front_m + self.rear_m) / 2


@dataclass(frozen=True)
class PegVisit:
    """A stop beside a known mark: when, which phone's leg, the logged mean place, the name."""

    t_s: float
    leg: int
    x_m: float
    y_m: float
    name: str


@dataclass(frozen=True)
class Picture:
    """The day's stretches as believed, and draws of how they may lie instead.

    ``east_m`` and ``north_m`` (samples,) are by how much the picture was moved, and
    ``east_draws`` and ``north_draws`` (draws, samples) are displacements from the picture at
    ``samples``. ``info`` is what is told of it; None where nothing was settled.
    """

    stretches: tuple[Stretch, ...]
    samples: Samples
    east_draws: Floats
    north_draws: Floats
    info: dict[str, float] | None
    sigma_m: float
    east_m: Floats
    north_m: Floats

    def moved_at(self, t_s: float, leg: int) -> tuple[float, float]:
        """By how much the picture was moved near a time, metres east and north."""
        mine = np.flatnonzero(self.samples.leg == leg)
        if len(mine) == 0:
            return 0.0, 0.0
        t = self.samples.t_s[mine]
        return (
            float(np.interp(t_s, t, self.east_m[mine])),
            float(np.interp(t_s, t, self.north_m[mine])),
        )


def settle(
    stretches: Sequence[Stretch],
    boundary: BaseGeometry | None,
    *,
    white_m: float,
    rate: float,
    pegs: Sequence[PegVisit] = (),
    draws: int,
    rng: np.random.Generator,
    move: bool = True,
) -> Picture:
    """Settle a day.

    Args:
        stretches: all stretches of all runs, on the plane.
        boundary: the paddock's outline where it is not from this day's lap.
        white_m: quick noise of a position, m.
        rate: drift rate that the raw fixes show, m/√s; NaN where unknown.
        pegs: known marks that were visited.
        draws: how many draws.
        rng: source of chance.
        move: False leaves the picture as logged.
    """
    s = samples([(x.run, x.leg, x.middle_m, x.width_m, x.poses) for x in stretches])
    if not move:
        return _as_logged(stretches, s, white_m, draws, rng)
    first = seams(s, s.x_m, s.y_m, _ONE_W[0])
    drift = _learned(s, first, white_m, rate)
    if drift is None or _spread(first) < STEERING_ONLY_M:
        return _as_logged(stretches, s, white_m, draws, rng)
    half = max((x.front_m - x.rear_m) / 2 for x in stretches)
    shift = _whole_shift(s, boundary)
    told = _told_again(
        s,
        Told(
            drift, first, _no_gaps(), (_no_gaps(), np.zeros(0, dtype=bool)), _known(s, pegs, drift)
        ),
        boundary,
        half,
        np.full(len(s), shift[0]),
        np.full(len(s), shift[1]),
        _ONE_W[0],
        white_m,
        rate,
    )

    def again(told: Told, found: Floats, system: System, most_w: float) -> Told:
        east, north = _drift_of(system, found)
        return _told_again(s, told, boundary, half, east, north, most_w, white_m, rate)

    system, found, *_ = _best(s, told, (), 2)
    told = again(told, found, system, _ONE_W[1])
    system, found, *_ = _best(s, told, (), 2)
    told = again(told, found, system, _ONE_W[2])
    free: list[Bump] = []
    system, found, weight, rows, solver = _best(s, told, free, 4)
    for _ in range(_FREE_CHAINS):
        worst = worst_chain(s, told.seam, rows, weight, found, solver, STEER_M, free)
        if worst is None:
            break
        free.append(worst)
        system, found, weight, rows, solver = _best(s, told, free, 2, weight)
    maybe = candidates(s, told.seam, rows, weight, found, solver, STEER_M)
    sound = likely(maybe, _ACCEPT_LOG_ODDS)
    if sound:
        system, found, weight, *_ = _best(s, told, [*free, *sound], 2, weight)
    east, north = _drift_of(system, found)
    east_d, north_d = _draws(s, told, free, maybe, weight, (east, north), draws, rng)
    smooth = _along(s)
    moved = _moved(stretches, s, -east, -north)
    info = {
        "moved_m": float(np.sqrt(np.mean(east**2 + north**2))),
        "sigma_m": told.drift.sigma_m,
        "tau_s": told.drift.tau_s,
        "overlap_m": float(found[system.overlap]),
        "seams": float(len(np.unique(told.seam.chain))),
    }
    return Picture(
        tuple(moved), s, smooth(-east_d), smooth(-north_d), info, drift.sigma_m, -east, -north
    )


def _learned(s: Samples, rows: Gaps, white_m: float, rate: float) -> Drift | None:
    if len(rows) == 0:
        return None
    return learn(s, rows, white_m=white_m, rate=None if np.isnan(rate) else rate)


def _whole_shift(s: Samples, boundary: BaseGeometry | None) -> tuple[float, float]:
    """By how much the whole day lies beside the fence, metres east and north.

    The shift, on a grid of half metres, in which the outermost runs lie best along the fence: it
    keeps a picture that is off by half a width from taking the second lap for the first.
    """
    if boundary is None:
        return 0.0, 0.0
    rows = fence(s, boundary, 2.0, 2.2)
    if len(rows) < _SHIFT_ROWS:
        return 0.0, 0.0
    steps = np.arange(-_SHIFT_M, _SHIFT_M + 0.1, 0.5)
    east, north = (a.ravel() for a in np.meshgrid(steps, steps))
    off = rows.gap_m[:, None] + rows.east[:, :1] * east + rows.north[:, :1] * north - 0.1
    cost = np.minimum(np.abs(off), 2.5).sum(0) + 0.02 * len(rows) * np.hypot(east, north)
    best = int(np.argmin(cost))
    return float(east[best]), float(north[best])


def _told_again(
    s: Samples,
    told: Told,
    boundary: BaseGeometry | None,
    half_bar_m: float,
    east: Floats,
    north: Floats,
    most_w: float,
    white_m: float,
    rate: float,
) -> Told:
    """Everything paired in the moved picture; the drift learned from the seams as logged."""
    moved = replace(s, x_m=s.x_m - east, y_m=s.y_m - north)
    rows = seams(s, moved.x_m, moved.y_m, most_w)
    at_fence = fence(moved, boundary, _FENCE_W) if boundary is not None else _no_gaps()
    at_ends, starts = ends(moved, half_bar_m)
    return Told(
        _learned(s, rows, white_m, rate) or told.drift,
        rows,
        unmoved(at_fence, east, north),
        (unmoved(at_ends, east, north), starts),
        told.pegs,
    )


def _known(s: Samples, pegs: Sequence[PegVisit], drift: Drift) -> Known | None:
    """Peg visits tied to the nearest sample of their phone, looser the longer ago."""
    names = sorted({p.name for p in pegs})
    rows: list[tuple[int, float, float, int, float]] = []
    for p in pegs:
        mine = np.flatnonzero(s.leg == p.leg)
        if len(mine) == 0:
            continue
        at = int(mine[np.argmin(np.abs(s.t_s[mine] - p.t_s))])
        apart = abs(float(s.t_s[at]) - p.t_s)
        since = 2 * drift.sigma_m**2 * (1 - np.exp(-apart / drift.tau_s))
        rows.append((at, p.x_m, p.y_m, names.index(p.name), float(np.sqrt(_PEG_M**2 + since))))
    if not rows:
        return None
    at_, x, y, peg, sigma = (np.asarray(c) for c in zip(*rows, strict=True))
    return Known(at_.astype(np.int64), x, y, peg.astype(np.int64), sigma)


def _spread(rows: Gaps) -> float:
    return float(1.4826 * np.median(np.abs(rows.gap_m - np.median(rows.gap_m))))


def _no_gaps() -> Gaps:
    none, three = np.zeros(0), np.zeros((0, 3))
    return Gaps(none, three.astype(np.int64), three, three, np.zeros(0, dtype=np.int64), none)


def _drift_of(system: System, found: Floats) -> tuple[Floats, Floats]:
    """Drift with its leg's bias at every sample, from the unknowns (size,) or (size, draws)."""
    n, bias = system.n, system.bias + 2 * system.session
    return found[:n] + found[bias], found[n : 2 * n] + found[bias + 1]


@dataclass(frozen=True)
class Told:
    """Everything the day says of its drift."""

    drift: Drift
    seam: Gaps
    fence: Gaps
    ends: tuple[Gaps, Bools]
    pegs: Known | None


def _best(
    s: Samples, told: Told, bumps: Sequence[Bump], rounds: int, weight: Floats | None = None
) -> tuple[System, Floats, Floats, Rows, Callable[[Floats], Floats]]:
    """The system, its most probable solution, the rows' weights, the rows, their solver."""
    system = System(s, told.pegs, bumps)
    rows = stack(assemble(system, told.drift, told.seam, told.fence, told.ends, told.pegs, STEER_M))
    if weight is not None:
        weight = weight[: len(rows.rhs) - _MEANS_ROWS]
    found, weight, solver = solve(rows, rounds, weight)
    return system, found, weight, rows, solver


def _draws(
    s: Samples,
    told: Told,
    free: list[Bump],
    maybe: list[Candidate],
    weight: Floats,
    best: tuple[Floats, Floats],
    draws: int,
    rng: np.random.Generator,
) -> tuple[Floats, Floats]:
    """Draws of the drift about the best estimate.

    They are shared out among sets with other sizes of drift, another spread of steering, and
    with each possible lost furrow or wander there or not by its own chance.
    """
    if draws == 0:
        none = np.zeros((0, len(s)))
        return none, none
    east, north = [], []
    share = np.diff(np.linspace(0, draws, _SETS + 1).astype(int))
    spread = ((np.arange(_SETS) + 0.5) / _SETS * 2 - 1) * 1.5
    table = told.drift.spread
    for k, count in enumerate(share):
        if count == 0:
            continue
        steer = STEER_M * STEER_FACTOR ** float(spread[k])
        row = table[rng.choice(len(table), p=table[:, 2] / table[:, 2].sum())]
        sizes = replace(told.drift, sigma_m=float(row[0]), tau_s=float(row[1]))
        system = System(s, told.pegs, [*free, *switched(maybe, rng)])
        rows = stack(
            assemble(system, sizes, told.seam, told.fence, told.ends, told.pegs, float(steer))
        )
        mine = np.ones(len(rows.rhs))
        common = min(len(mine), len(weight)) - _MEANS_ROWS
        mine[:common] = weight[:common]
        drawn = draw(rows, mine, int(count), rng)
        e, n = _drift_of(system, drawn)
        east.append(e - best[0][:, None])
        north.append(n - best[1][:, None])
    return np.concatenate(east, axis=1).T, np.concatenate(north, axis=1).T


def _as_logged(
    stretches: Sequence[Stretch],
    s: Samples,
    white_m: float,
    draws: int,
    rng: np.random.Generator,
) -> Picture:
    """A picture left alone: the draws hold only the quick noise of single positions."""
    zero = np.zeros(len(s))
    taps_e, taps_n = _tap_shifts(s, draws, rng)
    white = white_m / 2 * rng.standard_normal((2, draws, len(s)))
    white += np.stack([taps_e, taps_n])
    return Picture(tuple(stretches), s, white[0], white[1], None, white_m, zero, zero)


def _tap_shifts(s: Samples, draws: int, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Displacements along the heading at the ends of stretches, (draws, n).

    A tap is a fraction of a second off its lever.
    """
    east, north = np.zeros((2, draws, len(s)))
    if len(s) == 0:
        return east, north
    change = np.flatnonzero(np.diff(s.stretch) != 0)
    firsts, lasts = np.r_[0, change + 1], np.r_[change, len(s) - 1]
    for at in (firsts, lasts):
        beside = np.where(at == firsts, at + 1, at - 1) if len(s) > 1 else at
        beside = np.clip(beside, 0, len(s) - 1)
        way = np.hypot(s.x_m[at] - s.x_m[beside], s.y_m[at] - s.y_m[beside])
        speed = np.clip(way / np.maximum(np.abs(s.t_s[at] - s.t_s[beside]), 0.5), 0.0, 4.0)
        off = rng.normal(0.0, TAP_S, (draws, len(at))) * speed
        east[:, at] += off * np.cos(s.heading_rad[at])
        north[:, at] += off * np.sin(s.heading_rad[at])
    return east, north


def _along(s: Samples) -> Callable[[Floats], Floats]:
    """A function that smooths values at samples (draws, n) along each stretch."""
    change = np.flatnonzero(np.diff(s.stretch) != 0) + 1
    bounds = np.r_[0, change, len(s)]
    spacing = float(np.median(np.hypot(np.diff(s.x_m), np.diff(s.y_m)))) if len(s) > 1 else 8.0

    def smooth(values: Floats) -> Floats:
        out = values.copy()
        for a, b in zip(bounds[:-1], bounds[1:], strict=True):
            if b - a > 4:
                stiff = np.full(b - a, (_WAVE_M / (2 * np.pi * spacing)) ** 4)
                out[:, a:b] = _whittaker(values[:, a:b].T, stiff, 2).T
        return out

    return smooth


def _moved(stretches: Sequence[Stretch], s: Samples, east: Floats, north: Floats) -> list[Stretch]:
    """Stretches moved by a displacement at their samples, then smoothed on straights."""
    out = []
    for number, stretch in enumerate(stretches):
        mine = np.flatnonzero(s.stretch == number)
        p = stretch.poses
        dx = np.interp(p.t_s, s.t_s[mine], east[mine])
        dy = np.interp(p.t_s, s.t_s[mine], north[mine])
        poses = replace(p, x_m=p.x_m + dx, y_m=p.y_m + dy)
        out.append(replace(stretch, poses=_straightened(poses)))
    return out


def _straightened(p: Poses) -> Poses:
    """The stretch with the roughness below _WAVE_M taken out where it runs straight."""
    way = p.path_m - p.path_m[0]
    count = int(way[-1] / _POINT_M) + 1
    if count < 8:
        return p
    at = np.linspace(0.0, way[-1], count)
    x, y, h = (np.interp(at, way, a) for a in (p.x_m, p.y_m, p.heading_rad))
    reach = max(1, round(12.0 / _POINT_M))
    ahead, behind = (
        np.minimum(np.arange(count) + reach, count - 1),
        np.maximum(np.arange(count) - reach, 0),
    )
    bend = np.abs(h[ahead] - h[behind]) / np.maximum(at[ahead] - at[behind], 1.0)
    stiff = (_WAVE_M / (2 * np.pi * _POINT_M)) ** 6 * np.clip((2 * _BEND - bend) / _BEND, 1e-4, 1.0)
    soft = _whittaker(np.column_stack([x, y]), stiff, 3)
    dx, dy = soft[:, 0] - x, soft[:, 1] - y
    return replace(p, x_m=p.x_m + np.interp(way, at, dx), y_m=p.y_m + np.interp(way, at, dy))


def _whittaker(values: Floats, stiff: Floats, order: int) -> Floats:
    """Least squares of value and of local ``stiff`` times differences of an order, per column."""
    n = len(values)
    taps = {2: (1.0, -2.0, 1.0), 3: (-1.0, 3.0, -3.0, 1.0)}[order]
    ab = np.zeros((order + 1, n))
    ab[order] = 1.0
    weight = stiff[: n - order]
    for i, ti in enumerate(taps):
        for j in range(i, len(taps)):
            ab[order - (j - i), j : j + n - order] += weight * ti * taps[j]
    return np.asarray(solveh_banded(ab, values, check_finite=False))
