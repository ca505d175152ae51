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

    def total(self, nodes: Sequence[int]) -> float:
        """Cost of one order of nodes."""
        if not len(nodes):
            return self.direct
        at = np.asarray(nodes)
        legs = self.start[at[0]] + self.between[at[:-1], at[1:]].sum() + self.home[at[-1]]
        return float(legs + self.own[at].sum())


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
    """Reversed stretches (2-opt), moved stretches (or-opt) and runs from the other end."""
    best = costs.total(nodes)
    for _ in range(_ROUNDS):
        before = best
        for trial in _neighbours(nodes):
            cost = costs.total(trial)
            if cost < best - 1e-9:
                nodes, best = trial, cost
                break
        if best == before:
            break
    return nodes


def _neighbours(nodes: list[int]) -> list[list[int]]:
    n = len(nodes)
    out = []
    for i in range(n):
        out.append([*nodes[:i], nodes[i] ^ 1, *nodes[i + 1 :]])
        for j in range(i + 1, n):
            turned = [k ^ 1 for k in reversed(nodes[i : j + 1])]
            out.append([*nodes[:i], *turned, *nodes[j + 1 :]])
        for length in (1, 2, 3):
            part, rest = nodes[i : i + length], [*nodes[:i], *nodes[i + length :]]
            for at in range(len(rest) + 1):
                if at != i and len(part) == length:
                    out.append([*rest[:at], *part, *rest[at:]])
    return out
