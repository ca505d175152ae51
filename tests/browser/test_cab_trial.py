"""Timing trials: the stopwatch, and which rig card its times are for."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

import fields
from onboard import Onboard, entries, made, press, said, tap


@pytest.fixture
def newer(phone: Onboard, tmp_path: Path) -> Iterator[str]:
    """The name of a second rig card on the phone, made after the first; it is gone again after."""
    pack = fields.pack(made())
    (card,) = pack["rigs"]
    name = f"{card['name']} with a spare bar"
    two = [card, {**card, "id": "newer", "name": name, "made_ms": 1}]
    for what, rigs in (("two", two), ("one", [card])):
        (tmp_path / f"{what}.json").write_text(json.dumps({**pack, "rigs": rigs}), encoding="utf-8")
    take(phone.fresh(), tmp_path / "two.json")
    yield name
    take(phone.fresh(), tmp_path / "one.json")


def take(page: Page, pack: Path) -> None:
    press(page, "Carry home")
    page.set_input_files("#file", pack)
    said(page, "1 paddock")
    press(page, "Back")


@pytest.mark.parametrize("older", [False, True])
def test_timing_trials_go_onto_the_card_in_use_and_onto_the_newest_where_none_was_chosen(
    phone: Onboard, newer: str, older: bool
) -> None:
    page = phone.page
    if older:
        press(page, "Settings")
        page.locator("[data-card=card]").click()
        said(page, f"Logged: rig card {made().rig.name}.")
        press(page, "Back")
    press(page, "Timing trials Stopwatch for the rig card")
    tap(page, "#press")
    page.wait_for_timeout(300)  # two touches nearer together are one
    tap(page, "#press")
    press(page, "Log these times")
    name = made().rig.name if older else newer
    said(page, f"Logged: times of {name}.")
    (times,) = entries(page, "say")
    assert times["prompt"] == f"timing trial of {name}, version 1"


# this holds the page's clock, which cannot be given back: it comes last


def test_three_trials_of_each_give_the_times_and_their_spread(phone: Onboard) -> None:
    page = phone.fresh()
    press(page, "Timing trials Stopwatch for the rig card")
    expect(page.get_by_text("Two people, agreed signals")).to_be_visible()
    page.clock.install()
    page.clock.pause_at(page.evaluate("() => Date.now()") + 1_000)
    for name, waits in (("points", [1800]), ("seed", [900, 5000]), ("lift", [600, 4000])):
        page.locator(f"[data-option={name}]").click()
        for trial in range(3):
            if trial:
                page.clock.run_for(1_000)
                press(page, "Again")
            tap(page, "#press")
            for ms in waits:
                page.clock.run_for(ms + 100 * (trial - 1))
                tap(page, "#press")
    page.clock.resume()
    press(page, "Log these times")
    said(page, "Logged: times of")
    (times,) = entries(page, "say")
    assert times["about"] == "times"
    measured = {k: times[k] for k in ("lower_s", "meter_s", "fill_s", "raise_s", "drain_s")}
    assert measured == pytest.approx(
        {"lower_s": 1.8, "meter_s": 0.9, "fill_s": 5.0, "raise_s": 0.6, "drain_s": 4.6}, abs=0.02
    )
    assert times["fill_spread_s"] == pytest.approx(0.1, abs=0.02)
