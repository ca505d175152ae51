"""The chain behind forgotten taps, and where the second-by-second signs come from."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from drives import RIGID, drive, runs, stand, straight
from unsown.core.beside import LOOKS, beside, grid
from unsown.core.chain import best, chances, forward
from unsown.core.clean import clean
from unsown.core.signs import TURN, bins, crossing
from unsown.core.spans import joined, marked, without
from unsown.core.ticks import Ticks, ticks, turned
from unsown.core.trail import trail


def every_path(step: np.ndarray, start: np.ndarray) -> dict[tuple[int, ...], float]:
    """The weight of each path of states, by multiplying it out (n seconds, path of n states)."""
    n, k = step.shape[0], step.shape[1]
    out: dict[tuple[int, ...], float] = {}
    for path in itertools.product(range(k), repeat=n + 1):
        weight = start[path[0]]
        for i in range(n):
            weight *= step[i, path[i], path[i + 1]]
        out[path[1:]] = out.get(path[1:], 0.0) + weight
    return out


@pytest.mark.parametrize("n", [1, 2, 5, 6])
def test_chances_are_those_of_counting_every_path(n: int) -> None:
    rng = np.random.default_rng(n)
    step, start = rng.uniform(0.01, 1, (n, 3, 3)), rng.uniform(0.1, 1, 3)
    paths = every_path(step, start)
    total = sum(paths.values())
    state, change = chances(step, start)
    for i in range(n):
        for s in range(3):
            share = sum(w for p, w in paths.items() if p[i] == s) / total
            assert state[i, s] == pytest.approx(share, abs=1e-12)
        if i:
            for a, b in itertools.product(range(3), repeat=2):
                share = sum(w for p, w in paths.items() if (p[i - 1], p[i]) == (a, b)) / total
                assert change[i, a, b] == pytest.approx(share, abs=1e-12)


@pytest.mark.parametrize("n", [1, 3, 6])
def test_the_best_path_is_the_heaviest_of_all(n: int) -> None:
    rng = np.random.default_rng(40 + n)
    step, start = rng.normal(size=(n, 3, 3)), rng.normal(size=3)
    heaviest = max(
        itertools.product(range(3), repeat=n + 1),
        key=lambda p: start[p[0]] + sum(step[i, p[i], p[i + 1]] for i in range(n)),
    )
    assert tuple(best(step, start)) == heaviest[1:]


def test_a_chain_of_ten_hours_neither_dies_nor_blows_up() -> None:
    step = np.random.default_rng(1).uniform(1e-6, 1e-4, (36_000, 4, 4))
    reached = forward(step, np.full(4, 0.25))
    assert np.isfinite(reached).all()
    assert_allclose(reached.sum(axis=1), 1.0)


def seconds(parts: list) -> Ticks:
    made = drive(parts)
    track = clean(
        made.t_s,
        made.x_m,
        made.y_m,
        acc_m=np.full(len(made.t_s), np.nan),
        speed_m_s=made.speed_m_s,
        course_rad=made.heading_rad,
    )
    return ticks(track, trail(track, RIGID), RIGID)


def test_standing_has_no_ticks_and_is_remembered_once() -> None:
    second = seconds(straight(200) + stand(2700) + straight(200))
    assert len(second) < 230
    assert second.stood.sum() == 1
    assert second.usual_m_s == pytest.approx(2.0, abs=0.05)


def test_turned_looks_so_far_ahead_and_no_further() -> None:
    way = np.arange(0.0, 100.0, 2.0)
    nose = np.where(way < 50, 0.0, 1.0)
    ahead = turned(way, nose, 12.0)
    assert ahead[way == 30.0] == 0.0
    assert ahead[way == 40.0] == pytest.approx(1.0)
    assert turned(way, nose, -12.0)[way == 60.0] == pytest.approx(1.0)


def test_the_next_run_sees_the_last_one_beside_it_and_itself_not_at_all() -> None:
    second = seconds(runs(3, 300, 4.0))
    near = beside(grid(second, 8.0), np.ones(len(second)))
    middle = (second.x_m > 100) & (second.x_m < 200)
    first, last = middle & (second.y_m < 2), middle & (second.y_m > 14)
    between = middle & ~first & ~last
    assert near.under[middle].max() < 0.3
    assert (near.edge_before[first] == len(LOOKS)).all()
    outward = LOOKS[np.minimum(near.edge_before[between].min(axis=1), len(LOOKS) - 1)]
    assert_allclose(outward, 0.5, atol=0.11)
    assert (near.edge_after[last] == len(LOOKS)).all()


def test_each_look_counts_the_strips_of_its_cell_that_are_not_the_passes_own() -> None:
    second = seconds(runs(4, 120, 4.0) + straight(40) + runs(2, 90, 5.0))
    width = 8.0
    near = beside(grid(second, width), np.full(len(second), 0.7))
    # the same by going through every strip of the day for each look
    c, s = np.cos(second.heading_rad), np.sin(second.heading_rad)
    aside = np.arange(-3.5, 4.0)
    pace = np.clip(np.r_[np.diff(second.way_m), 0.0], 0.0, 8.0)
    x0, y0 = second.x_m.min() - 2 * width, second.y_m.min() - 2 * width
    rows = [
        (second.x_m + part * pace * c - a * s, second.y_m + part * pace * s + a * c)
        for a in aside
        for part in (-0.25, 0.25)
    ]
    cell_x = np.floor(np.stack([x for x, _ in rows]) - x0)
    cell_y = np.floor(np.stack([y for _, y in rows]) - y0)
    weight = -np.log1p(-0.98 * 0.7) * pace / 2
    for i in range(0, len(second), 37):
        sown = []
        for look in LOOKS[LOOKS < 0.5] * width:
            for out in (look, -look):
                x, y = second.x_m[i] - out * s[i], second.y_m[i] + out * c[i]
                hit = (cell_x == np.floor(x - x0)) & (cell_y == np.floor(y - y0))
                mine = hit & (second.way_m < second.way_m[i] - 25.0)
                sown.append(1 - np.exp(-(mine * weight).sum()))
        assert near.under_before[i] == pytest.approx(np.mean(sown), abs=1e-9)


def test_a_chance_of_nothing_lays_nothing() -> None:
    second = seconds(runs(2, 200, 4.0))
    near = beside(grid(second, 8.0), np.zeros(len(second)))
    assert near.under.max() == 0.0
    assert (near.edge == len(LOOKS)).all()


def test_bins_take_their_lower_edge() -> None:
    assert bins(np.array([0.0, TURN[0], TURN[-1], 9.0]), TURN).tolist() == [0, 1, 6, 6]


def test_the_way_to_a_crossing_is_positive_ahead_and_counts_one_direction() -> None:
    way = np.arange(0.0, 60.0, 2.0)
    share = np.where((way > 19) & (way < 41), 1.0, 0.0)  # up at 19 m, down at 41 m
    ahead = crossing(way, share, 0.5, up=True)
    assert_allclose(ahead, 19.0 - way)
    assert_allclose(crossing(way, share, 0.5, up=False), 41.0 - way)
    assert np.isinf(crossing(way, 0 * share, 0.5, up=True)).all()
    twice = np.where((way > 9) & (way < 15) | (way > 49), 1.0, 0.0)
    nearest = crossing(way, twice, 0.5, up=True)
    assert nearest[way == 28.0] == pytest.approx(-19.0)
    assert nearest[way == 30.0] == pytest.approx(19.0)


def test_stretches_join_and_are_taken_out_of_one_another() -> None:
    assert joined([(5, 6), (0, 2), (2, 3), (1, 2.5)]) == [(0, 3), (5, 6)]
    assert without([(0, 10), (20, 30)], [(2, 3), (8, 22), (29, 40)]) == [(0, 2), (3, 8), (22, 29)]
    assert marked(np.array([True, False, True, True])) == [(0, 1), (2, 4)]
