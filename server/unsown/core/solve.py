"""The drift at every sample as one least-squares problem, and draws from its posterior.

Unknown: the drift B at every sample of every run (east and north), a constant bias of each
phone, the mean overlap, the mean clearance to the fence, the mean gaps at starts and finishes,
and where a headland met aslant is lifted at. What is minimised is the sum of squares of

1. the drift prior, a Gauss-Markov step between samples that follow each other;
2. the seams: gap = −overlap + steering, steering a Gauss-Markov process along each chain of
   neighbours, so that its rows are whitened and not counted as independent;
3. the fence: gap = clearance + steering, where the boundary is not from this day's lap;
4. the ends of runs against the headland: gap = mean − slant · what the bar's outer end is behind
   its middle there + spread;
5. pegs: positions logged beside one known mark differ by the drift.

Re-weighting (Student's t) takes the pull out of lost furrows, wanders and real misses. The
normal matrix is the inverse of the posterior covariance: a draw is one more solve with a
perturbed right-hand side. The log is never changed; the picture is moved by −B.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix, csc_matrix, csr_matrix, vstack
from scipy.sparse.linalg import splu

from unsown.core.drift import STEER_S, Drift
from unsown.core.samples import Gaps, Samples
from unsown.core.words import Bools, Floats, Ints

#: Prior spread of a phone's constant bias, of the mean overlap about a small one, of the mean
#: clearance to the fence, of the mean gap at ends, m.
_BIAS_M, _OVERLAP_M, _CLEARANCE_M, _END_MEAN_M = 1.5, (0.3, 0.6), (0.1, 0.12), 3.0
#: Steering along the fence and spread of single ends, m.
_FENCE_M, _END_M = 0.3, 3.0
#: Where a headland met aslant is lifted at: 0 the middle of the bar, 1 its last outer end.
_SLANT = (0.5, 0.5)
_NU = 4.0
#: A pause longer than this begins a new day with a constant bias of its own, s.
_NEW_DAY_S = 3 * 3600.0
_SYMMETRIC = {"SymmetricMode": True}


@dataclass(frozen=True)
class Rows:
    """Whitened rows: a sparse matrix A and a right-hand side y with A x ≈ y, unit spread."""

    matrix: csc_matrix
    rhs: Floats
    robust: Bools


@dataclass(frozen=True)
class Known:
    """Pegs seen at some moments: nearest sample, logged place, which peg.

    ``sigma_m`` is how well each tells the sample's drift, m.
    """

    sample: Ints
    x_m: Floats
    y_m: Floats
    peg: Ints
    sigma_m: Floats


@dataclass(frozen=True)
class Bump:
    """A possible departure from the furrow: seam rows, its shape over them, and its prior.

    The gap is wider by g·shape, g with the given mean and spread, m.
    """

    rows: Ints
    shape: Floats
    mean_m: float
    spread_m: float


class System:
    """Unknowns laid out one after another: drift east, drift north, biases, means, pegs, bumps."""

    def __init__(self, s: Samples, pegs: Known | None, bumps: Sequence[Bump] = ()) -> None:
        self.bumps = tuple(bumps)
        self.s = s
        n = len(s)
        self.n = n
        # samples stand phone by phone in time order: a session is a phone's day
        rest = np.r_[False, (np.diff(s.leg) != 0) | (np.diff(s.t_s) > _NEW_DAY_S)]
        self.session = np.cumsum(rest).astype(np.int64)
        self.legs = int(self.session[-1]) + 1
        self.bias = 2 * n
        self.overlap = self.bias + 2 * self.legs
        self.clearance = self.overlap + 1
        self.ends = self.clearance + 1
        self.slant = self.ends + 2
        self.pegs = self.slant + 1
        count = 0 if pegs is None else int(pegs.peg.max()) + 1
        self.bump = self.pegs + 2 * count
        self.size = self.bump + len(self.bumps)

    def drift_columns(self, rows: Gaps) -> tuple[Ints, Floats]:
        """Columns and coefficients of Σ a·B for each row: (m, 12), drift and bias."""
        who = rows.who
        bias = self.bias + 2 * self.session[who]
        cols = np.concatenate([who, who + self.n, bias, bias + 1], axis=1)
        coef = np.concatenate([rows.east, rows.north, rows.east, rows.north], axis=1)
        return cols, coef


def assemble(
    system: System,
    drift: Drift,
    seam: Gaps,
    fence: Gaps,
    end: tuple[Gaps, Bools],
    pegs: Known | None,
    steer_m: float,
) -> list[Rows]:
    """All rows for one set of sizes."""
    parts: list[Rows] = []
    if len(seam):
        cols, coef = system.drift_columns(seam)
        cols = np.c_[cols, np.full(len(seam), system.overlap)]
        coef = np.c_[coef, np.ones(len(seam))]
        for i, bump in enumerate(system.bumps):
            shape = np.zeros(len(seam))
            shape[bump.rows] = bump.shape
            cols = np.c_[cols, np.full(len(seam), system.bump + i)]
            coef = np.c_[coef, -shape]
        t = system.s.t_s[seam.who[:, 0]]
        parts.append(_process(system.size, cols, coef, -seam.gap_m, seam.chain, t, steer_m))
    if len(fence):
        cols, coef = system.drift_columns(fence)
        cols = np.c_[cols, np.full(len(fence), system.clearance)]
        coef = np.c_[coef, -np.ones(len(fence))]
        t = system.s.t_s[fence.who[:, 0]]
        parts.append(_process(system.size, cols, coef, -fence.gap_m, fence.chain, t, _FENCE_M))
    gaps, starts = end
    if len(gaps):
        cols, coef = system.drift_columns(gaps)
        cols = np.c_[cols, np.where(starts, system.ends, system.ends + 1)]
        cols = np.c_[cols, np.full(len(gaps), system.slant)]
        coef = np.c_[coef, -np.ones(len(gaps)), _slanting(gaps)] / _END_M
        parts.append(_rows(system.size, cols, coef, -gaps.gap_m / _END_M, robust=True))
    if pegs is not None and len(pegs.sample):
        parts += _peg_rows(system, pegs)
    return [*parts, _prior(system, drift), _means(system)]


def _slanting(gaps: Gaps) -> Floats:
    """How far past its middle a bar's last outer end reaches a headland that it meets aslant, m."""
    stretched = gaps.east[:, 0] ** 2 + gaps.north[:, 0] ** 2
    return np.asarray(gaps.width_m / 2 * np.sqrt(np.maximum(stretched - 1.0, 0.0)))


def _rows(size: int, cols: Ints, coef: Floats, rhs: Floats, *, robust: bool) -> Rows:
    m = len(rhs)
    at = np.repeat(np.arange(m), cols.shape[1])
    matrix = coo_matrix((coef.ravel(), (at, cols.ravel())), shape=(m, size)).tocsc()
    return Rows(matrix, rhs, np.full(m, robust))


def _prior(system: System, drift: Drift) -> Rows:
    """Gauss-Markov steps, east and north, per leg in time order."""
    s, n = system.s, system.n
    linked = np.r_[False, np.diff(system.session) == 0]
    dt = np.r_[0.0, np.maximum(np.diff(s.t_s), 0.2)]
    keep = np.where(linked, np.exp(-dt / drift.tau_s), 0.0)
    q = drift.sigma_m * np.sqrt(np.maximum(1 - keep**2, 1e-9))
    here = np.arange(n)
    before = np.maximum(here - 1, 0)
    cols = np.column_stack([here, before])
    coef = np.column_stack([1 / q, -keep / q])
    both = np.concatenate([cols, cols + n])
    return _rows(system.size, both, np.concatenate([coef, coef]), np.zeros(2 * n), robust=False)


def _means(system: System) -> Rows:
    cols = list(range(system.bias, system.pegs))
    spread = [_BIAS_M] * (2 * system.legs) + [_OVERLAP_M[1], _CLEARANCE_M[1]] + [_END_MEAN_M] * 2
    spread += [_SLANT[1]]
    middle = [0.0] * (2 * system.legs) + [_OVERLAP_M[0], _CLEARANCE_M[0], 0.0, 0.0, _SLANT[0]]
    spread += [1e4] * (system.bump - system.pegs) + [b.spread_m for b in system.bumps]
    middle += [0.0] * (system.bump - system.pegs) + [b.mean_m for b in system.bumps]
    cols += list(range(system.pegs, system.size))
    weight = 1 / np.asarray(spread)
    return _rows(
        system.size,
        np.asarray(cols)[:, None],
        weight[:, None],
        weight * np.asarray(middle),
        robust=False,
    )


def _process(
    size: int, cols: Ints, coef: Floats, rhs: Floats, chain: Ints, t_s: Floats, spread_m: float
) -> Rows:
    """Rows whose misfit is a Gauss-Markov process along each chain, whitened."""
    base = _rows(size, cols, coef, rhs, robust=True)
    white = whitening(chain, t_s, spread_m)
    return Rows(csc_matrix(white @ base.matrix), white @ rhs, base.robust)


def whitening(chain: Ints, t_s: Floats, spread_m: float) -> csr_matrix:
    """The matrix that turns a Gauss-Markov misfit along each chain into unit white noise."""
    m = len(chain)
    linked = np.r_[False, np.diff(chain) == 0]
    dt = np.r_[0.0, np.abs(np.diff(t_s))]
    keep = np.where(linked, np.exp(-np.maximum(dt, 0.5) / STEER_S), 0.0)
    q = spread_m * np.sqrt(1 - keep**2)
    here = np.arange(m)
    return coo_matrix(
        (
            np.concatenate([1 / q, -keep / q]),
            (np.r_[here, here], np.r_[here, np.maximum(here - 1, 0)]),
        ),
        shape=(m, m),
    ).tocsr()


def _peg_rows(system: System, pegs: Known) -> list[Rows]:
    out = []
    for axis, (base, value) in enumerate(((0, pegs.x_m), (system.n, pegs.y_m))):
        bias = system.bias + 2 * system.session[pegs.sample] + axis
        cols = np.column_stack([base + pegs.sample, bias, system.pegs + 2 * pegs.peg + axis])
        coef = np.ones(cols.shape) / pegs.sigma_m[:, None]
        out.append(_rows(system.size, cols, coef, value / pegs.sigma_m, robust=False))
    return out


def stack(parts: Sequence[Rows]) -> Rows:
    """All rows below each other."""
    return Rows(
        vstack([p.matrix for p in parts], format="csc"),
        np.concatenate([p.rhs for p in parts]),
        np.concatenate([p.robust for p in parts]),
    )


def solve(
    rows: Rows, rounds: int = 4, weight: Floats | None = None
) -> tuple[Floats, Floats, Callable[[Floats], Floats]]:
    """Re-weighted least squares, from the given weights of the first rows on.

    Returns:
        The unknowns, the rows' weights, and a solver of the normal equations with just these
        weights: the unknowns are their exact solution.
    """
    before = np.ones(0) if weight is None else weight
    weight = np.ones(len(rows.rhs))
    weight[: len(before)] = before
    for turn in range(rounds):
        solver = factor(rows, weight)
        x = solver(rows.matrix.T @ (weight * rows.rhs))
        if turn < rounds - 1:
            misfit = rows.matrix @ x - rows.rhs
            weight = np.where(rows.robust, (_NU + 1) / (_NU + misfit**2), 1.0)
    return x, weight, solver


def factor(rows: Rows, weight: Floats) -> Callable[[Floats], Floats]:
    """A function that solves the normal equations for any right-hand side."""
    a = rows.matrix
    normal = (a.T @ a.multiply(weight[:, None])).tocsc()
    lu = splu(normal, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=_SYMMETRIC)

    def solved(rhs: Floats) -> Floats:
        return np.asarray(lu.solve(rhs))

    return solved


def draw(rows: Rows, weight: Floats, count: int, rng: np.random.Generator) -> Floats:
    """Draws of the unknowns from the posterior, (unknowns, count)."""
    root = np.sqrt(weight)
    noise = rng.standard_normal((len(weight), count))
    rhs = rows.matrix.T @ (root[:, None] * (root[:, None] * rows.rhs[:, None] + noise))
    return np.asarray(factor(rows, weight)(np.asarray(rhs)))
