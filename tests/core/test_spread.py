"""How far each cause of ground sown again may be off."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core.causes import BETWEEN, CAUSES, ENDS, FINISHING, POINTS, Late
from unsown.core.spread import spread_ha

BY = {**dict.fromkeys(CAUSES, 0.0), BETWEEN: 2.0, ENDS: 0.5, POINTS: 0.05}


def off(drift_m: float = 1.0, headline_ha: float = 0.1, swing_ha: float = 0.0) -> dict[str, float]:
    return spread_ha(BY, net_ha=50.0, drift_m=drift_m, headline_ha=headline_ha, swing_ha=swing_ha)


def late(left: float, over: float) -> Late:
    """One run of half a hectare."""
    return Late(np.zeros(1, np.int64), np.array([left]), np.array([over]), np.array([5000.0]))


def test_more_drift_means_more_doubt_in_every_cause_but_finishing() -> None:
    little, much = off(0.5), off(2.0)
    assert all(much[name] > little[name] for name in CAUSES if name != FINISHING)
    assert little[FINISHING] == much[FINISHING] == 0.0


def test_a_larger_cause_is_off_by_more_but_by_a_smaller_part() -> None:
    said = off()
    assert said[ENDS] == pytest.approx(said[POINTS] * np.sqrt(10))


def test_between_runs_is_off_by_all_that_the_headline_and_the_others_are() -> None:
    said = off(swing_ha=0.2)
    others = sum(said[name] ** 2 for name in CAUSES if name != BETWEEN)
    assert said[BETWEEN] ** 2 == pytest.approx(0.1**2 + others)
    assert said[BETWEEN] > 0.2


def test_a_track_without_drift_still_has_a_cell_s_doubt() -> None:
    assert 0.0 < off(0.0)[ENDS] < 0.005


def test_a_run_far_from_both_borders_of_finishing_swings_by_nothing() -> None:
    assert late(0.10, 0.1).swing_m2(0.005, 0.05) == 0.0
    # far inside of both, only what it covered again is in doubt: 5 % of half a hectare
    assert late(0.0, 0.9).swing_m2(0.001, 0.05) == pytest.approx(250.0)


def test_a_run_at_the_border_of_finishing_swings_with_what_was_left() -> None:
    # half late, wholly over sown ground: 0.003 of 0.03 is a tenth of its 4500 m2
    assert late(0.02, 0.9).swing_m2(0.003, 0.0) == pytest.approx(450.0)


def test_what_lies_just_beyond_a_border_swings_to_the_side_where_it_would_count() -> None:
    over = late(0.0, 0.29)  # finishing from 30 % on
    assert over.part()[0] == 0.0
    assert over.swing_m2(0.0, 0.05) == pytest.approx(0.1 * 0.34 * 5000)
