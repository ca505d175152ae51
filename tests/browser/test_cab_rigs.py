"""Another phone's log on the phone: one cab or two rigs, and what is said where it is not there."""

from __future__ import annotations

import json
from dataclasses import replace
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Page, expect

from browsing import too_wide, violations
from drives import picked
from onboard import EXPORT, MORNING_MS, SPEED_M_S, Onboard, Piece, made, track, written
from unsown.core.day import find
from unsown.core.words import Settings
from unsown.formats import log as logs

HALT: Piece = (60, 0.0, 0.0)


def brought(page: Page, file: Path, rows: list[dict[str, Any]]) -> None:
    """Another phone's log is taken in as a file, and the gate check is opened."""
    lines = [{"v": 1, "dev": "other", "seq": i + 1, **row} for i, row in enumerate(rows)]
    file.write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    page.locator("[data-page=carry]").click()
    page.set_input_files("#file", file)
    expect(page.locator("#said")).to_contain_text("entries taken in")
    page.get_by_role("button", name="Back").click()
    page.locator("[data-page=gate]").click()
    expect(page.locator("#total")).to_be_visible(timeout=40_000)


def sown_ha(page: Page) -> float:
    return float(page.locator("#total").inner_text().split("Sown ")[1].split("\u00a0")[0])


def test_situation_13_what_two_phones_in_one_cab_logged_is_one_strip_here_and_at_home(
    phone: Onboard, tmp_path: Path
) -> None:
    # the other phone's clock is four minutes ahead, and its lever was never touched
    row: Piece = (140, SPEED_M_S, 0.0)
    turns: list[Piece] = [(15, SPEED_M_S, 0.21), (15, SPEED_M_S, -0.21)]
    parts = [row, turns[0], row, turns[1], row, turns[0], row, turns[1], row, HALT]
    first, other = track(MORNING_MS, *parts), track(MORNING_MS + 240_000, *parts)
    page = phone.fresh()
    taps = [(155 * k + t, word) for k in range(5) for t, word in ((4, "down"), (140, "up"))]
    levers = [
        {"kind": "lever", "t_ms": MORNING_MS + 1000 * t, "lever": word, "how": "pad"}
        for t, word in taps
    ]
    written(page, [{"kind": "fix", **fix} for fix in first] + levers)
    brought(page, tmp_path / "other.jsonl", [{"kind": "fix", **fix} for fix in other])
    expect(page.locator("#asof")).to_contain_text("clock is 4 minutes ahead")
    expect(page.locator("#rigs")).to_have_count(0)
    both = logs.read(page.evaluate(EXPORT).encode(), "phone")
    day = made()
    tally, _ = find(both, day.paddock, [day.rig], Settings(settle=False, draws=0))
    assert any("4 min 0 s" in note for note in tally.notes)
    assert len(tally.questions) <= 1
    assert_allclose(tally.sown_ha, sown_ha(page), rtol=0.03)
    assert tally.twice_ha < 0.05 * tally.sown_ha


def two_rows(start_ms: int, first_m: float, second_m: float, out: bool) -> list[dict[str, Any]]:
    """Two rows so far left of the line that tracks begin on, there and back; both are tapped."""
    rows: list[dict[str, Any]] = []
    for k, off_m in enumerate((first_m, second_m)):
        along_m, way = (0.0, 0.4) if (k == 0) == out else (250 * SPEED_M_S, 0.4 + pi)
        x, y = -off_m * sin(0.4) + along_m * cos(0.4), -90 + off_m * cos(0.4) + along_m * sin(0.4)
        begun = start_ms + 300_000 * k
        fixes = track(begun, (250, SPEED_M_S, 0.0), at=(x, y, way))
        taps = [(1, "down"), (250, "up")]
        rows += [{"kind": "fix", **fix} for fix in fixes]
        rows += [
            {"kind": "lever", "t_ms": begun + 1000 * t, "lever": word, "how": "pad"}
            for t, word in taps
        ]
    return sorted(rows, key=lambda row: row["t_ms"])


@pytest.mark.parametrize("named", [True, False])
def test_situation_14_another_rig_counts_here_if_both_named_their_card_and_its_seam_is_not_known(
    phone: Onboard, tmp_path: Path, named: bool
) -> None:
    page = phone.fresh()
    card = page.evaluate("window.unsown.cab.get().pack.rigs[0].name")
    ours = two_rows(MORNING_MS, 0.0, 8.1, True)
    theirs = two_rows(MORNING_MS, 24.3, 16.2, False)
    if named:
        says = {"kind": "rig", "t_ms": MORNING_MS, "card": card, "version": 1}
        ours, theirs = [says, *ours], [says, *theirs]
    written(page, ours)
    brought(page, tmp_path / "other.jsonl", theirs)
    both = logs.read(page.evaluate(EXPORT).encode(), "phone")
    own = next(name for name in both.fixes.phones if name != "other")
    day = made()
    if not named:
        mine = np.flatnonzero(both.fixes.phone == both.fixes.phones.index(own))
        both = replace(both, fixes=picked(both.fixes, mine), marks=both.marks[:4])
        expect(page.locator("#asof")).to_contain_text("name the rig card on both phones")
    phones = (own, "other") if named else ()
    plain = Settings(settle=False, draws=0)
    tally, _ = find(both, day.paddock, [replace(day.rig, phones=phones)], plain)
    assert len(tally.rigs) == 1 + named
    assert_allclose(sown_ha(page), tally.sown_ha, rtol=0.02)
    if named:
        expect(page.locator("#rigs")).to_contain_text("Sown by: ")
        expect(page.locator("#rigs")).to_contain_text("this rig")
        expect(page.locator(".seam")).to_contain_text("can’t tell. Nothing ties the phones")
        assert (violations(page), too_wide(page)) == ([], [])
        page.get_by_role("button", name="Back").click()
        page.locator("[data-page=standing]").click()
        page.locator("[data-page=over]").click()
        expect(page.locator("#lines")).to_contain_text(
            f"ook at the furrow along the seam between {card} and {card} (", timeout=40_000
        )
        expect(page.locator("#lines")).to_contain_text("can't tell, the phones may lie")
        assert (violations(page), too_wide(page)) == ([], [])


def test_ground_that_home_knew_of_by_a_phone_whose_log_is_not_here_is_told_of(
    phone: Onboard,
) -> None:
    page = phone.fresh()
    written(page, two_rows(MORNING_MS, 0.0, 8.1, True))
    page.evaluate(
        """() => {
          const { pack } = window.unsown.cab.get();
          const run = {geometry: {type: 'LineString', coordinates: []},
            properties: {state: 'run', phone: 'elsewhere', length_m: 1500, width_m: 8.4}};
          const ground = {type: 'FeatureCollection', features: [run]};
          const paddocks = pack.paddocks.map(each => ({...each, ground}));
          window.unsown.cab.set({pack: {...pack, paddocks}});
        }"""
    )
    page.locator("[data-page=gate]").click()
    expect(page.locator("#asof")).to_contain_text("Home knew 1.3", timeout=40_000)
    expect(page.locator("#asof")).to_contain_text("it is listed as bare")
    assert (violations(page), too_wide(page)) == ([], [])
