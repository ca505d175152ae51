"""Shares and medians with their 95 % intervals."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from scipy import stats

from unsown.core.words import Floats

DRAWS = 2000


@dataclass(frozen=True)
class Figure:
    """A measured figure, its interval, and how many things it was counted on."""

    value: float
    low: float
    high: float
    count: int


NOTHING = Figure(float("nan"), float("nan"), float("nan"), 0)


def share(yes: int, of: int) -> Figure:
    """A share of independent things, with Wilson's score interval (C. S. 1927; 95 %)."""
    if of == 0:
        return NOTHING
    low, high = stats.binomtest(yes, of).proportion_ci(0.95, method="wilson")
    return Figure(yes / of, float(low), float(high), of)


def pooled(days: Sequence[tuple[int, int]]) -> Figure:
    """A share of things that come in days, (yes, of) a day.

    Things of one day share its drift, so whole days are drawn again; where that gives a
    narrower interval than independent things would (all days alike), the latter stands.
    """
    table = np.asarray(days, dtype=np.int64).reshape(-1, 2)
    yes, of = (int(v) for v in table.sum(0))
    alone = share(yes, of)
    if of == 0:
        return alone

    def of_draws(pick: np.ndarray) -> Floats:
        sums = table[pick].sum(1)
        return sums[:, 0] / np.maximum(sums[:, 1], 1)

    low, high = _drawn(len(table), of_draws)
    return Figure(yes / of, min(low, alone.low), max(high, alone.high), of)


def median(values: Sequence[float]) -> Figure:
    """A median over days with its bootstrap interval."""
    v = np.asarray([x for x in values if np.isfinite(x)])
    if not len(v):
        return NOTHING
    low, high = _drawn(len(v), lambda pick: np.median(v[pick], axis=1))
    return Figure(float(np.median(v)), low, high, len(v))


def middle(values: Sequence[float]) -> tuple[Figure, Figure]:
    """The 10 and 90 % points with their bootstrap intervals: the middle 80 % of days."""
    v = np.asarray([x for x in values if np.isfinite(x)])
    if not len(v):
        return NOTHING, NOTHING
    low, high = (
        Figure(float(np.quantile(v, q)), *_drawn(len(v), partial(_quantile, v, q)), len(v))
        for q in (0.1, 0.9)
    )
    return low, high


def _quantile(values: Floats, q: float, pick: np.ndarray) -> Floats:
    return np.asarray(np.quantile(values[pick], q, axis=1))


def percent(f: Figure, count: bool = True) -> str:
    """A share with its interval, and of how many."""
    if not f.count:
        return "none"
    of = f" of {f.count}" if count else ""
    return f"{100 * f.value:.3g} %{of} ({100 * f.low:.0f} to {100 * f.high:.0f})"


def ratio(f: Figure) -> str:
    """A median with its interval."""
    return f"{f.value:.2f} ({f.low:.2f} to {f.high:.2f})" if f.count else "none"


def span(values: Sequence[float]) -> str:
    """The middle 80 % of days."""
    low, high = middle(values)
    return f"{low.value:.2f} to {high.value:.2f}" if low.count else "none"


def _drawn(n: int, of: Callable[[np.ndarray], Floats]) -> tuple[float, float]:
    pick = np.random.default_rng(1).integers(0, n, (DRAWS, n))
    low, high = np.quantile(of(pick), [0.025, 0.975])
    return float(low), float(high)
