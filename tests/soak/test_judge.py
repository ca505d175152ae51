"""The measuring itself: what counts as found and as real, intervals, and a page that tells all."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import MultiPolygon, box

from soak import cache, sums
from soak.figures import median, middle, pooled, share
from soak.judge import best_shift, constant_error, shares, shifted, united
from soak.measure import Row, rows
from soak.page import page
from soak.plain import buffered
from unsown.core.errors import DayError
from unsown.sim import trial

HERE = Path(__file__).resolve().parent


def row(**more: object) -> Row:
    """A day whose two patches were found, one of them sure."""
    true = {"m2": 60.0, "width_m": 3.0, "widest_m": 4.0, "why": "corner", "found": 0.6}
    said = {"m2": 66.0, "width_m": 3.0, "chance": 0.95, "real": 0.8, "real_moved": 0.9}
    return {
        "engine": "abc",
        "seed": 1,
        "kind": "day",
        "preset": "good",
        "true_ha": 0.2,
        "bare_ha": 0.22,
        "low_ha": 0.15,
        "high_ha": 0.25,
        "hours": 3.0,
        "cpu_s": 6.0,
        "error_m": [0.3, 0.4],
        "story": {"steer_m": 0.2, "overlap_m": 0.3},
        "true": [{**true, "found_moved": 0.7}, {**true, "found_moved": 0.7, "why": "wander"}],
        "said": [said, {**said, "chance": 0.65}],
        "plain": {"bare_ha": 0.6, "patches": [0.9, 0.1, 0.2, 0.0]},
        "tow": {"bare_ha": 0.4, "patches": [0.9, 0.1]},
        **more,
    }


def test_a_share_counts_all_disjoint_parts_under_an_outline() -> None:
    ground = MultiPolygon([box(0, 0, 2, 10), box(5, 0, 6, 10), box(50, 0, 60, 10)])
    assert_allclose(shares([box(0, 0, 10, 10), box(20, 0, 30, 10)], ground), [0.3, 0.0])
    assert len(shares([], ground)) == 0
    assert_allclose(shares([box(0, 0, 1, 1)], MultiPolygon()), [0.0])


def test_the_picture_is_shifted_against_the_constant_error_where_that_finds_more() -> None:
    wanted = [box(0, 0, 4, 20), box(30, 0, 34, 20)]
    said = united([shifted(w, (3.0, -1.5)) for w in wanted], np.array([True, True]))
    assert_allclose(best_shift(wanted, said, (3.0, -1.5)), (-3.0, 1.5))
    assert best_shift(wanted, united(wanted, np.array([True, True])), (3.0, -1.5)) == (0.0, 0.0)


def test_the_constant_error_is_that_of_the_receiver() -> None:
    day = trial(30012, area_ha=8.0, rig="six", preset="good")
    east, north = constant_error(day)
    assert abs(east - day.error.error_x_m.mean()) < 0.3
    assert abs(north - day.error.error_y_m.mean()) < 0.3
    assert constant_error(day.logged("none")) == (0.0, 0.0)


def test_the_plain_way_sweeps_width_times_way_and_misses_nothing_of_the_ground() -> None:
    day = trial(30012, area_ha=8.0, rig="six", preset="none")
    bare, found = buffered(day)
    assert bare.area > day.truth.bare_m2
    assert bare.area < 0.2 * day.truth.net_m2
    assert all(f.area > 6 and f.difference(bare.buffer(0.01)).area < 0.1 for f in found)


def test_intervals_are_those_of_the_textbook() -> None:
    # 81 of 263: Wilson 95 % is 0.255 to 0.366. Newcombe, Statistics in Medicine 17 (1998), 861
    figure = share(81, 263)
    assert_allclose((figure.low, figure.high), (0.2553, 0.3662), atol=5e-4)
    assert share(0, 0).count == 0


def test_a_pooled_share_is_wider_where_days_differ() -> None:
    alike, unlike = pooled([(5, 10)] * 20), pooled([(10, 10), (0, 10)] * 10)
    assert alike.value == unlike.value == 0.5
    assert unlike.high - unlike.low > 1.5 * (alike.high - alike.low)
    assert_allclose(pooled([(10, 10)] * 5).low, share(50, 50).low)


def test_medians_leave_out_days_without_a_ratio() -> None:
    assert median([1.0, 2.0, np.nan, 3.0]).value == 2.0
    assert median([np.nan]).count == 0
    assert [f.value for f in middle(np.arange(11.0))] == [1.0, 9.0]


def test_found_and_real_are_counted_at_half() -> None:
    day = row()
    assert sums.found([day]).value == 1.0
    day["true"][0]["found"] = 0.49
    assert sums.found([day]).value == 0.5
    assert sums.real([day]).count == 1
    assert sums.real([day], 0.6, 0.7).value == 1.0
    assert_allclose(sums.listed([day]), [2 * 66 / 120])
    assert sums.holds([row(low_ha=0.21)]).value == 0.0


def test_a_day_that_raises_becomes_a_row_that_says_so() -> None:
    def broken(seed: int, **_: object) -> None:
        raise DayError("sim-too-small", f"no room on {seed}")

    found = list(rows(7, ("good", "poor"), make=broken))  # type: ignore[arg-type]
    assert [r["preset"] for r in found] == ["good", "poor"]
    assert all("no room on 7" in r["failed"] for r in found)


def test_the_page_tells_failures_what_is_missing_and_what_falls_short() -> None:
    bad = {"engine": "abc", "seed": 2, "kind": "day", "preset": "good", "failed": "ValueError: x"}
    text = page([row(), row(seed=3), bad], "python it", HERE, missing=4)
    assert "**Days that failed: 1**" in text
    assert "| 2 | good | day | `ValueError: x` |" in text
    assert "**Days not measured yet: 4.**" in text
    assert "A trial of 3 days a preset" in text
    assert "| good | days whose band holds the truth | 100 %" in text
    assert "**100 % (34 to 100) ✗**" in text
    assert "| good | patches found |" not in text


def test_rows_outlive_a_run_broken_off(tmp_path: Path) -> None:
    cache.add(tmp_path, row())
    whole = (tmp_path / "1.jsonl").read_text(encoding="utf-8")
    (tmp_path / "1.jsonl").write_text(whole + whole[:-9], encoding="utf-8")
    cache.add(tmp_path, row(preset="poor"))
    found, torn = cache.read(tmp_path)
    assert [r["preset"] for r in found] == ["good", "poor"]
    assert torn == 1


@pytest.mark.parametrize(
    ("text", "same"),
    [("def f():\n    '''b'''\n    return 1  # c", True), ("def f(): return 2", False)],
)
def test_comments_do_not_change_the_state_of_the_code(text: str, same: bool) -> None:
    assert (cache._code("def f():\n    return 1") == cache._code(text)) is same
