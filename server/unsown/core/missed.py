"""Lost furrows and wanders: departures from the furrow that must not pass as drift.

Each is a column of the least-squares problem: a constant over a whole chain of neighbours (the
driver took the wrong mark), or a smooth bump some tens of seconds long (attention was
elsewhere). A column is weighed without solving anew: with the residuals r, weights w and normal
matrix N of the settled solution its estimate is ĝ = hᵀwr / d, variance 1/d, where
d = hᵀwh − hᵀwA N⁻¹ Aᵀwh is what of the column the drift cannot explain (a score test). The odds
that it is there are prior odds times N(ĝ; m, 1/d + s²) / N(ĝ; 0, 1/d).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from unsown.core.samples import Gaps, Samples
from unsown.core.solve import Bump, Rows, whitening
from unsown.core.words import Floats

#: Prior chance of a lost furrow per chain of at least so many rows, and of its size, m.
_FURROW_PRIOR, _FURROW_ROWS, _FURROW_M = 0.01, 10, (1.6, 1.2)
#: Prior chance of a wander per candidate, its size, m, its half lengths, s, and their spacing, s.
_WANDER_PRIOR, _WANDER_M, _HALVES_S, _EVERY_S = 0.0015, (0.0, 1.0), (14.0, 24.0), 12.0
#: A lost furrow leaves a gap of this size, m.
_PLAUSIBLE_M = (0.6, 8.0)
#: Columns are weighed exactly when a rough weighing gives at least these log odds.
_WORTH_A_LOOK = -3.5
_MOST = 120
#: A chain gets a free constant (spread, m) beyond so many sigmas; so many are looked at.
_FREE_M, _BEYOND, _LOOK = 4.0, 4.0, 60


@dataclass(frozen=True)
class Candidate:
    """A column with the chance that it is there."""

    bump: Bump
    chance: float


def candidates(
    s: Samples,
    seam: Gaps,
    rows: Rows,
    weight: Floats,
    found: Floats,
    solve: Callable[[Floats], Floats],
    steer_m: float,
) -> list[Candidate]:
    """Departures with a chance worth knowing, surest first.

    Args:
        s: samples.
        seam: the seams, which are the first rows of ``rows``.
        rows: all whitened rows.
        weight: their final weights.
        found: the solution.
        solve: solves the normal equations.
        steer_m: steering spread that the rows were whitened with.
    """
    if len(seam) == 0:
        return []
    m = len(seam)
    t = s.t_s[seam.who[:, 0]]
    white = whitening(seam.chain, t, steer_m)
    w = weight[:m]
    misfit = rows.matrix @ found - rows.rhs
    pull = white.T @ (w * misfit[:m])
    bumps = _furrows(seam) + _wanders(seam, t)
    if not bumps:
        return []
    reach = np.asarray([float(b.shape @ pull[b.rows]) for b in bumps])
    prior = np.asarray([_FURROW_PRIOR if b.mean_m > 0 else _WANDER_PRIOR for b in bumps])
    # rough: the share of each kind's column that the drift leaves, from a few of them
    own = np.empty(len(bumps))
    for kind in {(b.mean_m, len(b.rows) // 4) for b in bumps}:
        mine = [i for i, b in enumerate(bumps) if (b.mean_m, len(b.rows) // 4) == kind]
        few = mine[:: max(1, len(mine) // 4)][:4]
        own[mine] = np.median(_left(rows, weight, white, [bumps[i] for i in few], m, solve))
    rough = _log_odds(reach, own, bumps, prior)
    look = np.argsort(-rough)[:_MOST]
    look = look[rough[look] > _WORTH_A_LOOK]
    if len(look) == 0:
        return []
    exact = _left(rows, weight, white, [bumps[i] for i in look], m, solve)
    odds = _log_odds(reach[look], exact, [bumps[i] for i in look], prior[look])
    out: list[Candidate] = []
    taken = np.zeros(m, dtype=bool)
    for k in np.argsort(-odds):
        bump = bumps[look[k]]
        chance = float(1 / (1 + np.exp(-odds[k])))
        if chance < 0.03 or taken[bump.rows].any():
            continue
        size = reach[look[k]] / exact[k]
        if bump.mean_m > 0 and not _PLAUSIBLE_M[0] < size < _PLAUSIBLE_M[1]:
            continue
        taken[bump.rows] = True
        out.append(Candidate(bump, chance))
    return out


def worst_chain(
    s: Samples,
    seam: Gaps,
    rows: Rows,
    weight: Floats,
    found: Floats,
    solve: Callable[[Floats], Floats],
    steer_m: float,
    known: list[Bump],
) -> Bump | None:
    """The chain whose constant gap is least like following a furrow, if it is beyond chance.

    Such a chain (a closing run, a lost furrow, a run that is nobody's neighbour) keeps its shape
    but gets a constant of its own, so that it pulls nothing.
    """
    if len(seam) == 0:
        return None
    taken = np.zeros(len(seam), dtype=bool)
    for bump in known:
        taken[bump.rows] = True
    edges = np.flatnonzero(np.r_[True, np.diff(seam.chain) != 0, True])
    bumps = [
        Bump(np.arange(a, b), np.ones(b - a), 0.0, _FREE_M)
        for a, b in zip(edges[:-1], edges[1:], strict=True)
        if not taken[a]
    ]
    m = len(seam)
    white = whitening(seam.chain, s.t_s[seam.who[:, 0]], steer_m)
    misfit = rows.matrix @ found - rows.rhs
    pull = white.T @ (weight[:m] * misfit[:m])
    reach = np.asarray([float(b.shape @ pull[b.rows]) for b in bumps])
    look = np.argsort(-np.abs(reach))[:_LOOK]
    own = _left(rows, weight, white, [bumps[i] for i in look], m, solve)
    score = np.abs(reach[look]) / np.sqrt(own)
    best = int(np.argmax(score))
    return bumps[look[best]] if score[best] > _BEYOND else None


def _furrows(seam: Gaps) -> list[Bump]:
    edges = np.flatnonzero(np.r_[True, np.diff(seam.chain) != 0, True])
    return [
        Bump(np.arange(a, b), np.ones(b - a), *_FURROW_M)
        for a, b in zip(edges[:-1], edges[1:], strict=True)
        if b - a >= _FURROW_ROWS
    ]


def _wanders(seam: Gaps, t: Floats) -> list[Bump]:
    edges = np.flatnonzero(np.r_[True, np.diff(seam.chain) != 0, True])
    out = []
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        times = t[a:b]
        for half in _HALVES_S:
            for middle in np.arange(times[0] + half / 2, times[-1] - half / 2, _EVERY_S):
                rows = a + np.flatnonzero(np.abs(times - middle) < half)
                if len(rows) >= 3:
                    shape = 0.5 + 0.5 * np.cos(np.pi * (t[rows] - middle) / half)
                    out.append(Bump(rows, shape, *_WANDER_M))
    return out


def _left(
    rows: Rows,
    weight: Floats,
    white: Floats,
    bumps: list[Bump],
    m: int,
    solve: Callable[[Floats], Floats],
) -> Floats:
    """What of each column the other unknowns cannot explain: d of the score test."""
    h = np.zeros((m, len(bumps)))
    for i, bump in enumerate(bumps):
        h[bump.rows, i] = bump.shape
    hw = white @ h
    weighted = weight[:m, None] * hw
    rhs = np.asarray(rows.matrix[:m].T @ weighted)
    explained = (rhs * np.asarray(solve(rhs))).sum(0)
    return np.asarray(np.maximum((hw * weighted).sum(0) - explained, 1e-6))


def _log_odds(reach: Floats, own: Floats, bumps: list[Bump], prior: Floats) -> Floats:
    best, var = reach / own, 1 / own
    mean = np.asarray([b.mean_m for b in bumps])
    wide = var + np.asarray([b.spread_m for b in bumps]) ** 2
    fit = -0.5 * (best - mean) ** 2 / wide - 0.5 * np.log(wide)
    none = -0.5 * best**2 / var - 0.5 * np.log(var)
    return np.asarray(fit - none + np.log(prior / (1 - prior)))


def switched(found: list[Candidate], rng: np.random.Generator) -> list[Bump]:
    """The candidates of one draw: each on with its own chance."""
    return [c.bump for c in found if rng.random() < c.chance]


def likely(found: list[Candidate], log_odds: float) -> list[Bump]:
    """The candidates that belong in the best picture."""
    return [c.bump for c in found if np.log(c.chance / max(1 - c.chance, 1e-12)) >= log_odds]
