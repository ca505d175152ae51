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
from shapely.geometry.base import BaseGeometry

from unsown.core.drift import STEER_FACTOR, STEER_M, Drift, Heard, few, learn
from unsown.core.edges import ends, fence
from unsown.core.lines import along, moved, tap_shifts
from unsown.core.missed import Candidate, candidates, likely, switched, worst_chain
from unsown.core.picture import PegVisit, Picture, Stretch
from unsown.core.samples import Gaps, Samples, no_gaps, samples, unmoved
from unsown.core.seams import seams
from unsown.core.solve import Bump, Known, Rows, System, assemble, draw, solve, stack
from unsown.core.words import Bools, Floats

#: Seams spread no wider than this come from steering alone: nothing is settled, m.
STEERING_ONLY_M = 0.42
#: Largest middle gap of a chain of neighbours, in widths: as logged, then as moved, twice.
_ONE_W = (0.4, 0.45, 0.4)
#: Largest middle gap to the fence of an outermost run, in widths.
_FENCE_W = 0.4
#: A shift of the whole day is looked for this far, m, where so many rows lie along the fence.
_SHIFT_M, _SHIFT_ROWS = 7.0, 20
#: How well half a minute beside a peg is read, m.
_PEG_M = 0.3
#: Sets of sizes (drift, steering) among which the draws are shared out.
_SETS = 6
#: A lost furrow or a wander belongs in the best picture from these log odds.
_ACCEPT_LOG_ODDS = 3.0
#: Of too few seams to tell: drift below this is no more than steering, m.
_SMALL_M = 0.35
#: At most so many chains get a constant of their own.
_FREE_CHAINS = 10
#: Rows of the prior means stand last and are never re-weighted.
_MEANS_ROWS = 64


def settle(
    stretches: Sequence[Stretch],
    boundary: BaseGeometry | None,
    *,
    white_m: float,
    rate: float,
    rate_error: float = float("nan"),
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
        rate_error: one sigma of its square, m²/s; NaN where unknown.
        pegs: known marks that were visited.
        draws: how many draws.
        rng: source of chance.
        move: False leaves the picture as logged.
    """
    s = samples([(x.run, x.leg, x.middle_m, x.width_m, x.poses) for x in stretches])
    if not move or len(s) == 0:
        return _as_logged(stretches, s, white_m, draws, rng)
    first = seams(s, s.x_m, s.y_m, _ONE_W[0])
    heard = Heard(white_m, rate, rate_error)
    drift = learn(s, first, heard)
    if _steering_only(first, drift):
        return _as_logged(stretches, s, white_m, draws, rng)
    half = max((x.front_m - x.rear_m) / 2 for x in stretches)
    shift = _whole_shift(s, boundary)
    told = _told_again(
        s,
        Told(drift, first, no_gaps(), (no_gaps(), np.zeros(0, dtype=bool)), _known(s, pegs, drift)),
        boundary,
        half,
        np.full(len(s), shift[0]),
        np.full(len(s), shift[1]),
        _ONE_W[0],
        heard,
    )

    def again(told: Told, found: Floats, system: System, most_w: float) -> Told:
        east, north = _drift_of(system, found)
        return _told_again(s, told, boundary, half, east, north, most_w, heard)

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
    smooth = along(s)
    believed = moved(stretches, s, -east, -north)
    info = {
        "moved_m": float(np.sqrt(np.mean(east**2 + north**2))),
        "sigma_m": told.drift.sigma_m,
        "tau_s": told.drift.tau_s,
        "overlap_m": float(found[system.overlap]),
        "seams": float(len(np.unique(told.seam.chain))),
    }
    size = told.drift.sigma_m
    return Picture(tuple(believed), s, smooth(-east_d), smooth(-north_d), info, size, -east, -north)


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
    heard: Heard,
) -> Told:
    """Everything paired in the moved picture; the drift learned from the seams as logged."""
    there = replace(s, x_m=s.x_m - east, y_m=s.y_m - north)
    rows = seams(s, there.x_m, there.y_m, most_w)
    at_fence = fence(there, boundary, _FENCE_W) if boundary is not None else no_gaps()
    at_ends, starts = ends(there, half_bar_m)
    return Told(
        told.drift if few(rows) else learn(s, rows, heard),
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


def _steering_only(rows: Gaps, drift: Drift) -> bool:
    """Whether there is no drift worth taking out, by the seams, or of few by the fixes."""
    return drift.sigma_m < _SMALL_M if few(rows) else _spread(rows) < STEERING_ONLY_M


def _spread(rows: Gaps) -> float:
    return float(1.4826 * np.median(np.abs(rows.gap_m - np.median(rows.gap_m))))


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
    taps_e, taps_n = tap_shifts(s, draws, rng)
    white = white_m / 2 * rng.standard_normal((2, draws, len(s)))
    white += np.stack([taps_e, taps_n])
    return Picture(tuple(stretches), s, white[0], white[1], None, white_m, zero, zero)
