"""What is left in the bins, for how far, and where it ran out."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core.balance import (
    FLOW_PART,
    LEVEL_KG,
    SURE_Z,
    Rate,
    closes,
    left,
    ran_out,
    three_ways,
)


def test_the_demo_bins_last_for_what_the_paper_says() -> None:
    # job paper 3.17: 2,418 kg of seed at 118 kg/ha, 2,185 kg of fertiliser at 105
    assert left(2418, 0.0, Rate.calibrated(118)).ha == pytest.approx(20.5, abs=0.05)
    assert left(2185, 0.0, Rate.calibrated(105)).ha == pytest.approx(20.8, abs=0.05)


def test_a_full_bin_is_promised_for_fewer_rounds_than_it_may_do() -> None:
    seed = left(2418, 0.0, Rate.calibrated(118))
    way, sigma = seed.way_m(8.4)
    assert way == pytest.approx(20.49e4 / 8.4, rel=1e-3)
    assert seed.rounds(3000, 8.4) == int((way - SURE_Z * sigma) // 3000) < way / 3000
    assert left(50, 0.0, Rate.calibrated(118)).rounds(3000, 8.4) == 0


def test_a_fill_tells_the_rate_better_than_the_card() -> None:
    card = Rate.calibrated(118)
    known = card.after(used_kg=114 * 20, seeded_ha=20)
    assert 114 < known.kg_ha < 115
    assert known.sigma_kg_ha < card.sigma_kg_ha / 1.8
    assert card.after(0, 0) == card


def test_run_out_is_foretold_within_its_spread_nine_times_in_ten() -> None:
    rng = np.random.default_rng(3)
    inside = []
    for _ in range(4000):
        true_rate = 118 * (1 + 0.05 * rng.standard_normal())
        # filled to the same mark twice, a little off it each time: what goes in tells what was used
        before, level = 2400 + LEVEL_KG * rng.standard_normal(2)
        used = true_rate * 15 + level - before
        told = ran_out(2400, Rate.calibrated(118).after(used, 15.0))
        flows = true_rate * (1 + FLOW_PART * rng.standard_normal())
        inside.append(told.from_ha <= level / flows <= told.to_ha)
    assert np.mean(inside) == pytest.approx(0.90, abs=0.02)


def test_rounds_promised_are_kept_nine_times_in_ten() -> None:
    rng = np.random.default_rng(4)
    kept = []
    for _ in range(4000):
        true_rate = 118 * (1 + 0.05 * rng.standard_normal())
        level = 2400 + LEVEL_KG * rng.standard_normal()
        least = left(2400, 0.0, Rate.calibrated(118))
        kept.append(level / true_rate >= least.ha - SURE_Z * least.ha_sigma)
    assert np.mean(kept) == pytest.approx(0.90, abs=0.02)


def test_the_balance_closes() -> None:
    assert closes(
        [1150, 1150], first_kg=2400, last_kg=300, seeded_ha=4400 / 117.5
    ) == pytest.approx(117.5)


def test_three_areas_that_agree_need_no_check() -> None:
    assert three_ways(61.0, 62.0, 61.5) == (pytest.approx(62 / 61 - 1), False)
    assert three_ways(61.0, 62.0, 65.0)[1]
    assert three_ways(61.0, 0.0, None) == (0.0, False)
