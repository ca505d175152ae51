"""In what order and from which end to drive runs: shortest forward way from here to the gate.

Up to nine runs are ordered exactly (dynamic programming over sets); more by inserting each where
it costs least and then mending: reversed stretches, moved runs, single runs driven from the other
end. ``tests/core/test_order.py`` states how far that is from the exact answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from unsown.core.words import Floats

#: So many runs are ordered exactly.
EXACT = 9
#: Rounds of mending.
_ROUNDS = 30


@dataclass(frozen=True)
class Costs:
    """Cost of the way between runs; node 2k is run k as given, 2k + 1 the same run backwards.

    ``start`` (2n,) from here to each node's beginning, ``between`` (2n, 2n) from the end of a node
    to the beginning of another, ``home`` (2n,) from each end to the gate, ``own`` (2n,) of driving
    the node itself: very large where a run can only be driven one way; ``direct`` is the way from
    here straight to the gate.
    """

    start: Floats
    between: Floats
    home: Floats
    own: Floats
    direct: float = 0.0

    @property
    def runs(self) -> int:
        """How many runs."""
        return len(self.start) // 2

    def of(self, runs: Sequence[int]) -> Costs:
        """The costs of some of the runs alone, in their own numbering."""
        at = np.asarray([node for k in runs for node in (2 * k, 2 * k + 1)], dtype=np.int64)
        between = self.between[np.ix_(at, at)]
        return Costs(self.start[at], between, self.home[at], self.own[at], self.direct)

    def total(self, nodes: Sequence[int]) -> float:
        """Cost of one order of nodes."""
        if not len(nodes):
            return self.direct
        at = np.asarray(nodes)
        legs = self.start[at[0]] + self.between[at[:-1], at[1:]].sum() + self.home[at[-1]]
        return float(legs + self.own[at].sum())

    def with_one(self, nodes: Sequence[int], run: int) -> list[int]:
        """An order with one run more, put in where and as it costs least."""
        choices = [
            [*nodes[:at], node, *nodes[at:]]
            for at in range(len(nodes) + 1)
            for node in (2 * run, 2 * run + 1)
        ]
        return min(choices, key=self.total)


def order(costs: Costs, exact: int = EXACT) -> tuple[list[int], float]:
    """The nodes in driving order, and their cost."""
    if costs.runs == 0:
        return [], costs.direct
    return exactly(costs) if costs.runs <= exact else mended(costs)


def exactly(costs: Costs) -> tuple[list[int], float]:
    """The best order of all, by dynamic programming over sets (Held and Karp 1962)."""
    n = costs.runs
    size = 1 << n
    best = np.full((size, 2 * n), np.inf)
    came = np.full((size, 2 * n), -1, dtype=np.int64)
    for node in range(2 * n):
        best[1 << (node // 2), node] = costs.start[node] + costs.own[node]
    step = costs.between + costs.own[None, :]
    for done in range(1, size):
        here = best[done]
        if not np.isfinite(here).any():
            continue
        reach = here[:, None] + step
        via = np.argmin(reach, axis=0)
        cost = reach[via, np.arange(2 * n)]
        for node in range(2 * n):
            bit = 1 << (node // 2)
            if not done & bit and cost[node] < best[done | bit, node]:
                best[done | bit, node] = cost[node]
                came[done | bit, node] = via[node]
    last = int(np.argmin(best[size - 1] + costs.home))
    total = float(best[size - 1, last] + costs.home[last])
    nodes, done = [last], size - 1
    while came[done, nodes[0]] >= 0:
        node = nodes[0]
        nodes.insert(0, int(came[done, node]))
        done &= ~(1 << (node // 2))
    return nodes, total


def mended(costs: Costs) -> tuple[list[int], float]:
    """A good order: cheapest insertion from several beginnings, each mended until nothing helps."""
    first = np.argsort(costs.start + costs.own)[: min(4, 2 * costs.runs)]
    found = [_mend(costs, _inserted(costs, int(node))) for node in first]
    nodes = min(found, key=costs.total)
    return nodes, costs.total(nodes)


def _inserted(costs: Costs, first: int) -> list[int]:
    """Always the run, its end and its place that add least to the way."""
    nodes = [first]
    left = np.ones(2 * costs.runs, dtype=np.bool_)
    left[[first, first ^ 1]] = False
    b = costs.between
    while left.any():
        at = np.asarray(nodes)
        before = np.vstack([costs.start[None, :], b[at, :]])
        after = np.vstack([b[:, at].T, costs.home[None, :]])
        was = np.r_[costs.start[at[0]], b[at[:-1], at[1:]], costs.home[at[-1]]]
        more = np.where(left, before + after - was[:, None] + costs.own, np.inf)
        place, node = np.unravel_index(int(np.argmin(more)), more.shape)
        nodes.insert(int(place), int(node))
        left[[node, node ^ 1]] = False
    return nodes


def _mend(costs: Costs, nodes: list[int]) -> list[int]:
    """Runs from the other end, reversed stretches (2-opt) and moved stretches (or-opt).

    The first change that helps is made, in the order of places; a change is weighed by the ways
    that it replaces alone.
    """
    for _ in range(_ROUNDS):
        better = _better(_Tour(costs, nodes), nodes)
        if better is None:
            break
        nodes = better
    return nodes


class _Tour:
    """An order with start and gate at its ends, and running sums of it as it is and turned."""

    def __init__(self, costs: Costs, nodes: list[int]) -> None:
        n = len(costs.start)
        between = np.full((n + 2, n + 2), np.inf)
        between[:n, :n], between[n, :n], between[:n, n + 1] = (
            costs.between,
            costs.start,
            costs.home,
        )
        between[n, n + 1] = costs.direct
        self.between = between
        self.at = np.asarray([n, *nodes, n + 1])
        self.turned = np.asarray([n, *(k ^ 1 for k in nodes), n + 1])
        along = between[self.at[:-1], self.at[1:]]
        back = between[self.turned[2:-1], self.turned[1:-2]]
        self.along = np.r_[0.0, np.cumsum(along)]
        self.back = np.r_[0.0, 0.0, np.cumsum(back)]
        own = costs.own[self.turned[1:-1]] - costs.own[self.at[1:-1]]
        self.own = np.r_[0.0, np.cumsum(own)]

    def reversing(self, i: int) -> Floats:
        """What reversing places i to j adds, for every j from i on; places from 1."""
        b, at, turned = self.between, self.at, self.turned
        j = np.arange(i, len(at) - 1)
        new = b[at[i - 1], turned[j]] + (self.back[j] - self.back[i]) + b[turned[i], at[j + 1]]
        old = self.along[j + 1] - self.along[i - 1]
        return np.asarray(new - old + self.own[j] - self.own[i - 1])

    def moving(self, i: int, length: int) -> Floats:
        """What moving so many runs from place i adds, for each place among the rest."""
        b, at = self.between, self.at
        first, last = at[i], at[i + length - 1]
        rest = np.r_[at[:i], at[i + length :]]
        gap = b[at[i - 1], at[i + length]]
        without = b[at[i - 1], first] + b[last, at[i + length]] - gap
        more = b[rest[:-1], first] + b[last, rest[1:]] - b[rest[:-1], rest[1:]]
        more[i - 1] = without  # where it stands already
        return np.asarray(more - without)


def _better(tour: _Tour, nodes: list[int]) -> list[int] | None:
    n = len(nodes)
    for i in range(n):
        helps = np.flatnonzero(tour.reversing(i + 1) < -1e-9)
        if len(helps):
            j = i + int(helps[0])
            return [*nodes[:i], *(k ^ 1 for k in reversed(nodes[i : j + 1])), *nodes[j + 1 :]]
        for length in range(1, min(3, n - i) + 1):
            helps = np.flatnonzero(tour.moving(i + 1, length) < -1e-9)
            if len(helps):
                part, rest = nodes[i : i + length], [*nodes[:i], *nodes[i + length :]]
                at = int(helps[0])
                return [*rest[:at], *part, *rest[at:]]
    return None
