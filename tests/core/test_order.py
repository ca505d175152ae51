"""Driving order: exact where it is small, and how far from exact where it is not."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest

from unsown.core.order import Costs, exactly, mended, order


def scattered(seed: int, runs: int) -> Costs:
    """Runs of 40 m at random on a square of 400 m, from one corner to the opposite one."""
    rng = np.random.default_rng(seed)
    a = rng.uniform(0, 400, (runs, 2))
    turn = rng.uniform(0, 2 * np.pi, runs)
    b = a + 40 * np.column_stack([np.cos(turn), np.sin(turn)])
    begin = np.stack([a, b], axis=1).reshape(-1, 2)
    end = np.stack([b, a], axis=1).reshape(-1, 2)

    def far(p: np.ndarray, q: np.ndarray) -> np.ndarray:
        return np.hypot(*(p[:, None] - q[None]).transpose(2, 0, 1))

    here, gate = np.zeros((1, 2)), np.full((1, 2), 400.0)
    return Costs(
        far(here, begin)[0], far(end, begin), far(end, gate)[:, 0], np.full(2 * runs, 40.0)
    )


@pytest.mark.parametrize("seed", range(4))
def test_the_exact_order_is_the_shortest_of_all_orders(seed: int) -> None:
    costs = scattered(seed, 4)
    best = min(
        costs.total([2 * k + flip for k, flip in zip(way, flips, strict=True)])
        for way in permutations(range(4))
        for flips in product((0, 1), repeat=4)
    )
    nodes, total = exactly(costs)
    assert total == pytest.approx(best)
    assert costs.total(nodes) == pytest.approx(total)
    assert sorted(n // 2 for n in nodes) == [0, 1, 2, 3]


def test_the_mended_order_is_near_the_exact_one() -> None:
    gaps = []
    for seed in range(30):
        costs = scattered(100 + seed, 9)
        gaps.append(mended(costs)[1] / exactly(costs)[1] - 1)
    assert min(gaps) > -1e-9
    assert np.mean(gaps) < 0.01
    assert max(gaps) < 0.08


def test_nothing_to_drive_is_no_way() -> None:
    assert order(scattered(0, 0)) == ([], 0.0)


def test_a_run_that_goes_only_one_way_is_driven_that_way() -> None:
    costs = scattered(5, 6)
    own = costs.own.copy()
    own[1::2] = 1e6
    nodes, total = order(Costs(costs.start, costs.between, costs.home, own))
    assert all(n % 2 == 0 for n in nodes)
    assert total < 1e6


def test_forty_runs_are_each_driven_once() -> None:
    costs = scattered(9, 40)
    nodes, total = order(costs)
    assert sorted(n // 2 for n in nodes) == list(range(40))
    assert total == pytest.approx(costs.total(nodes))
