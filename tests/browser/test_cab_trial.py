"""Timing trials: the stopwatch."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from onboard import Onboard, entries, press, said, tap

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
