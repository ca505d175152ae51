"""Fitting the scores: known odds come back, and what is written can be read."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core import scores, signs
from unsown.core.ticks import Ticks
from unsown.tune.taps import Sample, fit_place, fit_state, numbers, written

SHAPES = {"pace": (3,), "bend": (2,)}


def ticks(n: int) -> Ticks:
    none, flags = np.zeros(n), np.zeros(n, dtype=bool)
    t = np.arange(n, dtype=float)
    return Ticks(t, none, none, none, none, none, none + 2, 2 * t, flags, flags, flags, 2.0)


def sample(n: int, down: np.ndarray, place: dict[str, np.ndarray]) -> Sample:
    quiet = {k: np.zeros(n, dtype=np.int64) for k in (*signs.SHAPES, *signs.GROUND)}
    return Sample(ticks(n), quiet, {}, place, down, np.ones(n))


def test_the_log_odds_that_made_the_data_come_back() -> None:
    rng = np.random.default_rng(5)
    odds = {"pace": np.array([-1.0, 0.0, 2.0]), "bend": np.array([0.5, -0.5])}
    n = 60_000
    found = {k: rng.integers(0, len(v), n) for k, v in odds.items()}
    total = odds["pace"][found["pace"]] + odds["bend"][found["bend"]]
    down = rng.random(n) < 1 / (1 + np.exp(-total))
    tables = fit_state([(found, sample(n, down, {}))], SHAPES)
    for name, true in odds.items():
        assert np.diff(tables[name]) == pytest.approx(np.diff(true), abs=0.1)


def test_a_sign_that_stands_at_every_change_gets_a_high_score() -> None:
    n = 2000
    down = (np.arange(n) // 100) % 2 == 1
    place = {k: np.zeros(n, dtype=np.int64) for k in signs.PLACE}
    place["pace"][np.flatnonzero(np.diff(down.astype(int))) + 1] = 1
    zero = {k: np.zeros(v) for k, v in {**signs.SHAPES, **signs.GROUND}.items()}
    table = fit_place([sample(n, down, place)], zero, True)
    assert table["pace"][1] - table["pace"][0] > 3.0


def test_ranges_of_seeds_are_read_with_both_ends() -> None:
    assert numbers("1-3,7") == [1, 2, 3, 7]


def test_what_is_written_is_a_module_with_the_same_tables() -> None:
    names = ("MOVEMENT", "WITH_GROUND", "GOES_DOWN", "GOES_UP")
    text = written({name: dict(getattr(scores, name)) for name in names}, 2, "1-2")
    space: dict[str, object] = {}
    exec(compile(text, "scores", "exec"), space)
    for name in names:
        for key, table in getattr(scores, name).items():
            assert np.abs(space[name][key] - table).max() < 0.006
