"""How large and how quick the drift of a day's positions is, learned from its seams.

The drift is a first-order Gauss-Markov process on each axis, K(Δt) = σ² exp(−|Δt|/τ). Along one
chain of seam gaps the covariance between rows i and k with times t (later run) and u (earlier)
is K(t_i−t_k) + K(u_i−u_k) − K(t_i−u_k) − K(u_i−t_k) plus that of steering by the last furrow, a
Gauss-Markov process of its own. σ and τ maximise the sum of the chains' likelihoods (a composite
likelihood: chains that share a run are taken as independent) under weak log-normal priors. A
heavy-tailed form keeps a lost furrow or a wander from passing as drift.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, solve_triangular

from unsown.core.noise import QUIET_M
from unsown.core.samples import Gaps, Samples
from unsown.core.words import Floats

#: Steering by the last furrow: assumed spread (m), its own uncertainty (factor), correlation (s).
STEER_M, STEER_FACTOR, STEER_S = 0.22, 1.45, 25.0
#: Weak priors: median and factor of one standard deviation.
_SIGMA_M, _SIGMA_FACTOR = 1.0, 2.2
_TAU_S, _TAU_FACTOR = 100.0, 2.5
_TAUS = np.geomspace(20.0, 1600.0, 14)
_SIGMAS = np.geomspace(0.02, 5.0, 60)
#: How well the raw fixes tell the drift's rate, log units.
_RATE_LOG = 0.08
#: At most so many chains and rows of a chain are looked at.
_CHAINS, _ROWS = 40, 24
_NU = 10.0
#: Fewer chains than these do not tell the drift by themselves: how well the rate is heard counts.
_FEW = 3


@dataclass(frozen=True)
class Drift:
    """Size and correlation time of the drift, and the spread of steering assumed with it.

    ``spread`` is a table of (sigma_m, tau_s, weight) that the data leave open.
    """

    sigma_m: float
    tau_s: float
    steer_m: float
    spread: Floats


@dataclass(frozen=True)
class Heard:
    """What a phone's own fixes tell of its noise.

    ``white_m`` is the quick noise of one sample; ``rate`` the drift's σ√(2/τ) in m/√s, and
    ``rate_error`` one sigma of its square in m²/s, NaN where they do not tell.
    """

    white_m: float
    rate: float = float("nan")
    rate_error: float = float("nan")


def few(rows: Gaps) -> bool:
    """Whether these seams are too few to tell the drift by themselves."""
    return len(_picked(rows)) < _FEW


def learn(s: Samples, rows: Gaps, heard: Heard, *, steer_m: float = STEER_M) -> Drift:
    """Learn the drift from the day's seams.

    Of few seams or none it is as large as priors and the rate leave open: a small paddock, a day
    just begun, rounds. To take such a picture as it was logged would call sure what drift made.

    Args:
        s: samples of the runs.
        rows: the seams.
        heard: what the fixes tell.
        steer_m: assumed spread of steering.
    """
    chains = _picked(rows)
    middle = float(np.median(rows.gap_m)) if len(rows) else 0.0
    white_m = min(heard.white_m, QUIET_M)  # of more than that the smoother leaves less than that
    score = np.zeros((len(_TAUS), len(_SIGMAS)))
    for at in chains:
        score += _chain_score(s, rows, at, middle, white_m, steer_m)
    lt, ls = np.log(_TAUS)[:, None], np.log(_SIGMAS)[None, :]
    score -= 0.5 * ((ls - np.log(_SIGMA_M)) / np.log(_SIGMA_FACTOR)) ** 2
    score -= 0.5 * ((lt - np.log(_TAU_S)) / np.log(_TAU_FACTOR)) ** 2
    if np.isfinite(heard.rate) and len(chains) < _FEW:
        error = np.fmax(heard.rate_error, 2 * _RATE_LOG * heard.rate**2 + 1e-9)
        score -= 0.5 * ((2 * np.exp(2 * ls - lt) - heard.rate**2) / error) ** 2
    elif heard.rate > 0:
        own = ls + 0.5 * (np.log(2.0) - lt)
        score -= 0.5 * ((own - np.log(heard.rate)) / _RATE_LOG) ** 2
    weight = np.exp(score - score.max())
    weight /= weight.sum()
    sigma = float(np.exp((weight * ls).sum()))
    tau = float(np.exp((weight * lt).sum()))
    pick = np.argwhere(weight > 0.01 * weight.max())
    table = np.asarray([(_SIGMAS[j], _TAUS[i], weight[i, j]) for i, j in pick])
    return Drift(sigma, tau, steer_m, table)


def _picked(rows: Gaps) -> list[Floats]:
    """Row indices of up to _CHAINS chains, each thinned to at most _ROWS."""
    starts = np.flatnonzero(np.r_[True, np.diff(rows.chain) != 0, True])
    spans = [(a, b) for a, b in zip(starts[:-1], starts[1:], strict=True) if b - a >= 6]
    if len(spans) > _CHAINS:
        spans = [spans[i] for i in np.linspace(0, len(spans) - 1, _CHAINS).astype(int)]
    return [np.arange(a, b, max(1, -(-(b - a) // _ROWS))) for a, b in spans]


def _chain_score(
    s: Samples, rows: Gaps, at: Floats, middle: float, white_m: float, steer_m: float
) -> Floats:
    """Log-likelihood of one chain over the grid of τ (rows) and σ (columns)."""
    e = rows.gap_m[at] - middle
    t, u = s.t_s[rows.who[at, 0]], s.t_s[rows.who[at, 1]]
    steer = steer_m**2 * np.exp(-np.abs(t[:, None] - t) / STEER_S)
    steer += (2 * white_m**2 + 1e-4) * np.eye(len(at))
    low = cho_factor(steer, lower=True)[0]
    base = 2 * np.log(np.diag(low)).sum()
    out = np.empty((len(_TAUS), len(_SIGMAS)))
    white = solve_triangular(low, e, lower=True)
    apart = [np.abs(a[:, None] - b) for a, b in ((t, t), (u, u), (t, u), (u, t))]
    for i, tau in enumerate(_TAUS):
        k = [np.exp(-d / tau) for d in apart]
        r = k[0] + k[1] - k[2] - k[3]
        half = solve_triangular(low, r, lower=True)
        inner = solve_triangular(low, half.T, lower=True)
        values, vectors = np.linalg.eigh((inner + inner.T) / 2)
        z2 = (vectors.T @ white) ** 2
        scaled = 1.0 + _SIGMAS[:, None] ** 2 * np.maximum(values, 0.0)
        quad = (z2 / scaled).sum(1)
        # a heavy-tailed chain: the whole may be wider than the model by chance
        fit = (_NU + len(e)) / 2 * np.log1p(quad / _NU)
        out[i] = -fit - 0.5 * np.log(scaled).sum(1) - base / 2
    return out
