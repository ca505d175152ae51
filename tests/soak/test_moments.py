"""Leaving the paddock, measured: what counts as right, the section, and one small day in truth."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest
from numpy.testing import assert_allclose

from soak import dusk, exact, hopper, leaving
from soak.keep import MARKS, all_kept, cut, kept
from soak.leaving import LINES, section
from soak.measure import Row
from unsown.core.causes import CAUSES
from unsown.sim import trial

SMALL = {"area_ha": 9.0, "rig": "demo", "laps": 2, "keep_outs": 0}


def row(**more: object) -> Row:
    """A day on which every figure is what is wanted."""
    causes = dict.fromkeys(CAUSES, 0.1)
    fill = {"said_ha": 9.0, "from_ha": 8.0, "to_ha": 10.0, "true_ha": 9.5}
    return {
        **{"engine": "abc", "seed": 1, "kind": "dusk", "preset": "good", "net_ha": 50.0},
        **{"again_ha": 0.7, "low_ha": 0.6, "high_ha": 0.8, "true_again_ha": 0.71},
        **{"causes_ha": causes, "true_causes_ha": dict(causes), "closes": 0.004},
        "spread_ha": dict.fromkeys(causes, 0.05),
        "labels": [{"m2": 100.0, "said": "worth it", "true": "worth it"}] * 19
        + [{"m2": 30.0, "said": "leave", "true": "your call"}],
        "asked": [
            {"m2": 300.0, "said": "ask first", "bare": False, "bare_m2": 0.0},
            {"m2": 200.0, "said": "leave", "bare": True, "bare_m2": 150.0},
        ],
        **{"listed_m2": 900.0, "missed_m2": 9.0, "hit_m2": 0.0, "blocked": False},
        "fills": [fill] * 9 + [{**fill, "true_ha": 7.0}],
        **more,
    }


def month(**worse: object) -> list[Row]:
    """Ten days a preset, on one of them the truth beyond the band; the last one as given."""
    out = [row(true_again_ha=0.9), *[row() for _ in range(8)], row(**worse)]
    return [{**d, "seed": k, "preset": p} for k, d in enumerate(out) for p in ("good", "typical")]


def test_shares_are_counted_over_days_patches_and_fills() -> None:
    days = [row(), row(true_again_ha=0.9)]
    assert leaving.in_band(days).value == 0.5
    assert leaving.labels(days).value == 0.95
    assert leaving.foretold(days).value == 0.9
    assert leaving.drivable([*days, row(missed_m2=99.0), row(hit_m2=2.0)]).value == 0.5
    assert leaving.drivable([row(listed_m2=0.0)]).count == 0


def test_a_cause_is_near_within_a_quarter_or_a_third_of_a_per_cent_of_the_paddock() -> None:
    near = row(causes_ha={**row()["causes_ha"], CAUSES[0]: 0.24})  # 0.15 ha is 0.3 % of 50
    far = row(causes_ha={**row()["causes_ha"], CAUSES[0]: 0.26})
    assert leaving.right_causes([near]).value == 1.0
    assert_allclose(leaving.right_causes([far]).value, 6 / 7)


def test_a_cause_is_held_against_what_it_was_said_to_be_off_by() -> None:
    off = row(causes_ha={**row()["causes_ha"], CAUSES[0]: 0.16})
    assert_allclose(leaving.told_off([off]).value, 6 / 7)
    wide = {**off, "spread_ha": {**off["spread_ha"], CAUSES[0]: 0.07}}
    assert leaving.told_off([wide]).value == 1.0
    # no cause is told finer than a hundredth of a hectare
    fine = row(spread_ha=dict.fromkeys(CAUSES, 0.0), causes_ha=dict.fromkeys(CAUSES, 0.109))
    assert leaving.told_off([fine]).value == 1.0


def test_the_section_marks_what_is_missed_and_only_that() -> None:
    assert "✗**" not in section(month(), "python it")
    wrong = [{"m2": 1.0, "said": "leave", "true": "worth it"}] * 100
    for worse in (
        {"labels": wrong},
        {"missed_m2": 90.0},
        {"fills": [{"said_ha": 9.0, "from_ha": 8.0, "to_ha": 10.0, "true_ha": 5.0}] * 50},
        {"causes_ha": {**row()["causes_ha"], CAUSES[1]: 9.0}},
    ):
        assert "✗**" in section(month(**worse), "python it"), worse


def test_the_section_shows_how_often_each_label_is_said_and_for_what() -> None:
    text = section(month(), "python it")
    # ten days a preset: 19 worth it, all true, and one leave for your call on each
    assert "| said *worth it* | 190 of 190 | 190 of 190 |" in text
    assert "| said *your call* | 0 of 0 | 0 of 0 |" in text
    assert "| said *leave* | 0 of 10 | 0 of 10 |" in text
    assert "| said *leave* | 0 | 20 | 0 |" in text


def test_the_section_tells_apart_what_hangs_on_an_answer_and_what_of_it_is_bare() -> None:
    text = section(month(), "python it")
    # ten days a preset, on each one patch that is bare and one that is not
    assert "| truly bare, of all | 10 of 20 | 10 of 20 |" in text
    assert "| bare of their ground, ha | 0.15 of 0.50 | 0.15 of 0.50 |" in text
    older = [{k: v for k, v in d.items() if k != "asked"} for d in month()]
    assert "truly bare, of all" not in section(older, "python it")


def test_the_section_tells_trials_failures_and_what_is_missing() -> None:
    bad = {"engine": "abc", "seed": 2, "kind": "dusk", "preset": "good", "failed": "ValueError: x"}
    text = section([row(), bad], "python it", missing=3)
    flat = " ".join(text.split())
    assert "A trial of 1 days a preset" in flat
    assert "**Days not measured yet: 3.**" in flat
    assert "**Days that failed: 1.**" in flat
    assert "2 at good: `ValueError: x`" in text
    assert all(f"| {line.what} |" in text for line in LINES)
    with pytest.raises(ValueError, match="at least one measured day"):
        section([bad], "python it")


def test_every_command_keeps_what_the_others_wrote() -> None:
    page = "# Title\n\ntext\n\n## Time\n\nlate\n"
    both = kept(kept(page, "taps of old"), "## Leaving\n\none", "moments")
    assert both.index("taps of old") < both.index("## Leaving") < both.index("## Time")
    again = kept(both, "## Leaving\n\ntwo", "moments")
    assert again.replace("two", "one") == both
    new = all_kept(page.replace("text", "other days"), both)
    assert new == both.replace("text", "other days")
    assert [cut(new, of)[1] for of in MARKS] == ["taps of old", "## Leaving\n\none"]


def test_true_ways_sweep_what_the_simulator_says() -> None:
    day = trial(30012, preset="none", **SMALL)
    ways = exact.ways(day)
    swept = sum(w.length_m * w.width_m for w in ways)
    assert_allclose(swept, day.truth.swept_m2, rtol=1e-3)
    causes = exact.causes_ha(day, 10.0)
    assert_allclose(sum(causes.values()), exact.again_ha(day), atol=0.002 * day.truth.net_m2 / 1e4)
    t, ha = hopper.seeded_ha(ways)
    assert_allclose(ha[-1], swept / 1e4, rtol=1e-6)
    assert (np.diff(t) >= 0).all()


@pytest.fixture(scope="module")
def small() -> dict[str, Row]:
    """One small day on three phones, measured in a process whose matrix library has one thread."""
    before = os.environ.get("OPENBLAS_NUM_THREADS")
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    try:
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            found = pool.submit(_measured, ("rtk", "typical", "poor")).result()
    finally:
        if before is None:
            del os.environ["OPENBLAS_NUM_THREADS"]
        else:
            os.environ["OPENBLAS_NUM_THREADS"] = before
    return {r["preset"]: r for r in found}


def _measured(presets: tuple[str, ...]) -> list[Row]:
    return list(dusk.rows(30012, presets, **SMALL))


@pytest.mark.parametrize(("preset", "part"), [("rtk", 0.002), ("typical", 0.02), ("poor", 0.05)])
def test_what_was_sown_again_is_about_the_true(
    small: dict[str, Row], preset: str, part: float
) -> None:
    d = small[preset]
    assert "failed" not in d, d["failed"]
    assert abs(d["again_ha"] - d["true_again_ha"]) < part * d["net_ha"]
    assert abs(d["again_ha"] - sum(d["causes_ha"].values())) < part * d["net_ha"]
    for name, true in d["true_causes_ha"].items():
        assert abs(d["causes_ha"][name] - true) < 2 * part * d["net_ha"], name


def test_the_way_back_of_an_exact_day_is_driven_and_its_labels_are_true(
    small: dict[str, Row],
) -> None:
    d = small["rtk"]
    assert leaving.labels([d]).value >= 0.8
    assert d["labels"]
    assert d["missed_m2"] <= 0.03 * d["listed_m2"]
    assert d["hit_m2"] < 1.0


def test_bins_are_foretold_and_the_balance_closes(small: dict[str, Row]) -> None:
    for d in small.values():
        assert d["fills"]
        assert abs(d["closes"]) < 0.05
