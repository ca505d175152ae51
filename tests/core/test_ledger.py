"""Fills kept through a day: by sums done by hand, and by simulated bins with a true rate."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from unsown.core.balance import Rate
from unsown.core.ledger import Fill, Ledger, Seeded, ledger, round_m, seeded_of
from unsown.core.words import Way

CARD = Rate.calibrated(118.0)


def steady(ha_per_h: float = 4.0, hours: float = 10.0) -> Seeded:
    t = np.linspace(0, hours * 3600, 2001)
    return Seeded(t, t / 3600 * ha_per_h)


def lane(run: int, from_s: float, x: list[float], y: list[float], width: float = 10.0) -> Way:
    x_m, y_m = np.asarray(x), np.asarray(y)
    length = float(np.hypot(np.diff(x_m), np.diff(y_m)).sum())
    t = from_s + np.linspace(0, length / 2, len(x))
    return Way(run, "cab", width, length, t, x_m, y_m, np.zeros(len(x)))


def test_filled_to_the_same_mark_what_went_in_is_what_was_used() -> None:
    made = ledger([Fill(0, 2000), Fill(3 * 3600, 1368)], steady(), CARD, 4 * 3600)
    first, second = made.rows
    assert (first.seeded_ha, first.rate, first.level) == (0.0, None, 2000)
    assert second.seeded_ha == pytest.approx(12.0)
    assert second.rate == pytest.approx(114.0)  # 1368 kg on 12 ha
    assert second.before == pytest.approx(2000 - 118 * 12)
    assert second.level == 2000
    assert made.mean == pytest.approx(114.0)
    assert made.rate is not None
    assert made.now is not None
    assert 114 < made.rate.kg_ha < 118
    assert made.now.kg == pytest.approx(2000 - made.rate.kg_ha * 4)


def test_what_was_left_in_the_bin_is_better_than_a_mark() -> None:
    made = ledger(
        [Fill(0, 2000, left=100), Fill(3 * 3600, 1500, left=700)], steady(), CARD, 3 * 3600
    )
    assert made.rows[1].used == pytest.approx(2100 - 700)
    assert made.rows[1].level == 2200


def test_a_fill_to_nowhere_in_particular_tells_no_rate_but_the_balance_runs_on() -> None:
    made = ledger([Fill(0, 2000), Fill(3 * 3600, 500, same_mark=False)], steady(), CARD, 3 * 3600)
    assert (made.rows[1].used, made.rows[1].rate, made.mean) == (None, None, None)
    assert made.rows[1].level == pytest.approx(2000 - 118 * 12 + 500)


def test_without_a_card_the_first_use_tells_the_rate_and_before_it_nothing_is_said() -> None:
    one = ledger([Fill(0, 2000)], steady(), None, 3600)
    assert (one.rate, one.now, one.rows[0].out) == (None, None, None)
    two = ledger([Fill(0, 2000), Fill(3 * 3600, 1368)], steady(), None, 3 * 3600)
    assert two.rate is not None
    assert two.rate.kg_ha == pytest.approx(114.0)
    assert two.rate.sigma_kg_ha == pytest.approx(2**0.5 * 40 / 12)


def test_a_top_up_on_no_ground_tells_no_rate() -> None:
    made = ledger([Fill(0, 2000), Fill(60, 30)], steady(), CARD, 3600)
    assert made.rows[1].rate is None
    assert made.rate == CARD


def test_where_it_ran_out_is_told_as_times_with_a_band() -> None:
    made = ledger([Fill(0, 1180)], steady(), Rate(118.0, 0.01), 10 * 3600, level_sigma=11.8)
    out = made.rows[0].out
    assert out is not None
    assert out.at_s == pytest.approx(2.5 * 3600, rel=1e-3)  # 10 ha at 4 ha/h
    assert out.from_s == pytest.approx((10 - 1.645 * 0.1) / 4 * 3600, rel=1e-3)
    assert out.to_s == pytest.approx((10 + 1.645 * 0.1) / 4 * 3600, rel=1e-3)
    enough = ledger([Fill(0, 11_800)], steady(), Rate(118.0, 0.01), 10 * 3600)
    assert enough.rows[0].out is None


def test_a_bin_that_may_be_empty_says_since_when_and_not_until_when() -> None:
    made = ledger([Fill(0, 1180)], steady(), Rate(118.0, 0.01), 2.5 * 3600 - 20, level_sigma=59)
    out = made.rows[0].out
    assert out is not None
    assert (out.at_s, out.to_s) == (None, None)


def test_no_fill_is_no_balance() -> None:
    assert ledger([], steady(), CARD, 0.0) == Ledger((), CARD, None, 0.0, 0.0)


def test_seeded_ground_is_width_times_way_in_order_of_time() -> None:
    ways = [lane(2, 1000, [0, 500], [10, 10]), lane(1, 0, [0, 250, 500], [0, 0, 0])]
    seeded = seeded_of(ways)
    assert seeded.at(-1) == 0.0
    assert seeded.at(125) == pytest.approx(0.25)  # half of 500 m by 10 m
    assert seeded.at(600) == pytest.approx(0.5)  # between the runs
    assert seeded.at(9999) == pytest.approx(1.0)
    assert seeded.when(0.75) == pytest.approx(1125)
    assert seeded.when(1.01) is None
    assert seeded_of([]).at(5) == 0.0


def test_a_round_is_up_and_back_or_once_round() -> None:
    back_and_forth = [lane(k, 600.0 * k, [0, 400], [10.0 * k] * 2) for k in range(4)]
    assert round_m(back_and_forth) == pytest.approx(800)
    lap = [lane(1, 0, [0, 300, 300, 0, 0], [0, 0, 200, 200, 5])]
    assert round_m(lap) == pytest.approx(300 + 200 + 300 + 195)
    assert round_m([lane(1, 0, [0, 50], [0, 0])]) is None


@settings(max_examples=60, deadline=None)
@given(
    true=st.floats(80, 160),
    hours=st.lists(st.floats(1.0, 4.0), min_size=2, max_size=6),
    start=st.floats(500, 3000),
)
def test_exact_fills_give_the_true_rate_and_the_balance_closes(
    true: float, hours: list[float], start: float
) -> None:
    seeded = steady(4.0, 30.0)
    at = np.cumsum([0.0, *hours]) * 3600
    fills = [Fill(0.0, start)] + [
        Fill(float(b), true * (seeded.at(float(b)) - seeded.at(float(a))))
        for a, b in zip(at[:-1], at[1:], strict=True)
    ]
    made = ledger(fills, seeded, CARD, float(at[-1]))
    assert made.mean == pytest.approx(true, rel=1e-6)
    assert made.now is not None
    assert made.now.kg == pytest.approx(start)
    went_in = sum(f.amount for f in fills)
    assert went_in - made.now.kg == pytest.approx(made.used)  # in − left = used
