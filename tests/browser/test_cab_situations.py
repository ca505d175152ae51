"""Hard situations where the page itself matters: covered, started again, in a child's hands.

The others are held to the pad and the live picture in tests/web/cab, and to the day counted on the
phone in tests/web.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Browser, Page, expect

from browsing import too_wide, violations
from cabs import Cab
from drives import picked
from handset import until
from onboard import (
    EXPORT,
    MORNING_MS,
    NOW,
    SPEED_M_S,
    Onboard,
    Piece,
    entries,
    made,
    middle,
    passed,
    tap,
    track,
)
from unsown.core.day import find
from unsown.core.words import Settings
from unsown.formats import log as logs

GO: Piece = (100, SPEED_M_S, 0.0)
HALT: Piece = (60, 0.0, 0.0)
WIDTH_M = 8.4
COVER = """now => {
  Object.defineProperty(document, 'visibilityState', {get: () => now, configurable: true});
  document.dispatchEvent(new Event('visibilitychange'));
}"""


def written(page: Page, rows: list[dict[str, Any]]) -> None:
    """Puts entries into the phone's own log."""
    page.evaluate(
        """async rows => {
          const log = window.unsown.cab.get().keeper;
          const made = rows.map(row => log.append(row));
          await log.flush();
          await Promise.all(made);
        }""",
        rows,
    )


def asked(page: Page, words: str | re.Pattern[str]) -> None:
    """The standing page has come by itself, and asks."""
    until(page, "window.unsown.cab.get().page === 'standing'", 30)
    expect(page.locator("#questions")).to_contain_text(words, timeout=30_000)


def pressed(page: Page, selector: str) -> None:
    page.locator(f"#questions {selector}").click()
    expect(page.locator("#questions")).to_contain_text("Answered:")


def test_situation_04_a_call_covers_the_page_and_is_asked_about_at_the_halt(
    phone: Onboard,
) -> None:
    whole = track(MORNING_MS, (240, 1.5, 0.0), HALT)
    seen = [fix for i, fix in enumerate(whole) if not 40 <= i < 200]
    page = phone.drive(seen, faster=20)
    tap(page)
    passed(page, 38)
    page.evaluate(COVER, "hidden")
    expect(page.locator(".urgent")).to_have_text("No position", timeout=15_000)
    passed(page, 202)
    page.evaluate(COVER, "visible")
    assert page.locator("#pad .word").inner_text() == "DOWN"
    asked(page, "No position for 3 minutes. Was the tool down?")
    covers = [e["what"] for e in entries(page, "phone") if e["what"] in ("hidden", "shown")]
    assert covers == ["hidden", "shown"]
    pressed(page, "[data-answer=down]")
    (answer,) = entries(page, "blind")
    assert answer["answer"] == "down"
    assert_allclose((answer["to_ms"] - answer["from_ms"]) / 1000, 161, atol=3)


def test_situation_08_seed_stopped_before_anybody_heard_it_and_since_when_is_remembered(
    phone: Onboard,
) -> None:
    page = phone.drive([(170, SPEED_M_S, 0.0), HALT], faster=25)
    tap(page)
    passed(page, 160)
    tap(page, "[data-act=flow]")
    until(page, "document.querySelector('.urgent').textContent === 'Not flowing'")
    asked(page, "Seed did not flow. Since when, before you pressed it?")
    times = page.locator("#questions [data-since]")
    assert [times.nth(i).get_attribute("data-since") for i in range(times.count())] == [
        "30",
        "60",
        "90",
    ]
    pressed(page, "[data-since='90']")
    first, again = entries(page, "flow")
    assert again["t_ms"] == first["t_ms"]
    assert again["since_ms"] == first["t_ms"] - 90_000
    (undo,) = entries(page, "undo")
    assert undo["of"] == first["seq"]
    # a third of it either way is doubt, and the rest of the run is bare
    page.get_by_role("button", name="Leave paddock").click()
    expect(page.locator("#total")).to_be_visible(timeout=40_000)
    words = page.locator("#total").inner_text().replace("\u00a0", " ")
    doubt_ha = float(words.split("Not known ")[1].split(" ")[0])
    assert_allclose(doubt_ha * 1e4, 60 * SPEED_M_S * WIDTH_M, rtol=0.15)


def test_situation_12_a_wet_patch_of_monday_is_bare_on_friday_and_says_since_when(
    phone: Onboard,
) -> None:
    parts: list[Piece] = [(150, SPEED_M_S, 0.0), (15, SPEED_M_S, 0.21), (140, SPEED_M_S, 0.0), HALT]
    monday = track(MORNING_MS, *parts)
    friday = track(MORNING_MS + 4 * 86_400_000, (20, SPEED_M_S, 0.0), at=(40, 40, 1))
    lon, lat = middle().to_degrees([-60.0], [60.0])
    wet = {
        **{
            "kind": "mark",
            "t_ms": MORNING_MS,
            "what": "wet",
            "note": "keep-out",
            "radius_m": 36.56,
        },
        **{"lat_deg": float(lat[0]), "lon_deg": float(lon[0])},
        "until_ms": MORNING_MS + 2 * 86_400_000,
    }
    levers = [
        {"kind": "lever", "t_ms": MORNING_MS + 1000 * t, "lever": word, "how": "pad"}
        for t, word in ((1, "down"), (149, "up"), (166, "down"), (304, "up"))
    ]
    page = phone.fresh()
    bare = []
    for fixes in (monday, friday):
        rows = [{"kind": "fix", **fix} for fix in fixes]
        written(page, rows + ([*levers, wet] if fixes is monday else []))
        page.locator("[data-page=gate]").click()
        expect(page.locator("#total")).to_be_visible(timeout=40_000)
        words = page.locator("#total").inner_text().replace("\u00a0", " ")
        bare.append(float(words.split("Bare ")[1].split(" ")[0]))
        assert ("Kept out until 16 May, counted again now: wet." in words) == (fixes is friday)
        page.reload()  # another day, the page opened anew
        until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
    assert_allclose(bare[1] - bare[0], 0.42, atol=0.02)


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


def test_a_day_on_which_nothing_was_tapped_is_guessed_said_to_be_and_asked_about(
    phone: Onboard,
) -> None:
    parts: list[Piece] = [(140, SPEED_M_S, 0.0), (15, SPEED_M_S, 0.21), (140, SPEED_M_S, 0.0), HALT]
    page = phone.fresh()
    written(page, [{"kind": "fix", **fix} for fix in track(MORNING_MS, *parts)])
    page.locator("[data-page=gate]").click()
    expect(page.locator("#asof")).to_contain_text("No tap was logged", timeout=40_000)
    # what was guessed counts, and all of it may be bare: the band says so
    words = page.locator("#total").inner_text().replace("\u00a0", " ")
    low, high = (float(x) for x in re.findall(r"likely ([\d.]+) to ([\d.]+)", words)[0])
    net = float(re.findall(r"of ([\d.]+) ha", words)[0])
    assert high - low > 0.3
    assert high >= net


def test_situation_16_the_phone_dies_and_starts_again_elsewhere(phone: Onboard) -> None:
    page = phone.drive([GO], faster=25)
    tap(page)
    passed(page, 95)
    page.wait_for_timeout(300)
    before = len(entries(page, "fix"))
    # forty minutes later, a hundred metres on
    gone_ms = MORNING_MS + 40 * 60_000
    later = track(gone_ms, (60, SPEED_M_S, 0.0), HALT, at=(60.0, 60.0, 2.0))
    page.evaluate(
        "told => { localStorage.told = told; localStorage.begun = String(Date.now() + 1500) }",
        json.dumps({"track": later, "speed": 25}),
    )
    page.reload()
    until(page, f"{NOW} && {NOW}.t_ms > {gone_ms}")
    assert page.locator("#pad .word").inner_text() == "DOWN", "work goes on by itself"
    expect(page.locator(".urgent")).to_contain_text("Was DOWN at")
    assert len(entries(page, "fix")) > before
    asked(page, re.compile(r"No position for 3[89] minutes\. Was the tool down\?"))
    kept = [e["t_ms"] for e in entries(page, "fix") if e["t_ms"] < gone_ms]
    assert max(kept) >= MORNING_MS + 95_000 - 5_000


def test_situation_18_a_child_presses_everything_and_nothing_enters_the_log(
    browser: Browser, cab: Cab
) -> None:
    context = browser.new_context(viewport={"width": 412, "height": 915}, has_touch=True)
    page = context.new_page()
    page.on("filechooser", lambda _: None)
    page.goto(cab.url)
    until(page, "window.unsown && window.unsown.cab.get().page")
    page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    page.reload()
    page.locator("[data-page=carry]").click()
    page.get_by_role("button", name="Pair with home").click()
    page.get_by_label("Code").fill(cab.code("rider"))
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "window.unsown.cab.get().home && window.unsown.cab.get().pack")
    dev = page.evaluate("() => window.unsown.cab.get().keeper.dev")
    expect(page.locator("#strip")).to_have_text("Looks only")
    before = page.evaluate(EXPORT)
    cab.go()
    page.reload()
    until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
    names = page.evaluate(
        "() => [...document.querySelectorAll('[data-page]')].map(b => b.dataset.page)"
    )
    assert {"rider", "gate", "settings", "carry"} <= set(names)
    assert not {"work", "standing", "trial"} & set(names)
    pressed_all = 0
    for name in names:
        page.locator(f"[data-page={name}]").first.click()
        for _ in range(2):
            buttons = page.locator("main button").all_inner_texts()
            for at, text in enumerate(buttons):
                button = page.locator("main button").nth(at)
                if text == "Back" or not button.is_visible() or not button.is_enabled():
                    continue
                button.click(timeout=5_000)
                page.keyboard.press("Enter")
                page.keyboard.press("PageDown")
                pressed_all += 1
        page.evaluate("() => window.unsown.cab.get().page")
        page.reload()
        until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
    assert pressed_all > 10
    assert page.evaluate(EXPORT) == before
    assert cab.held(dev) == {}
    assert page.evaluate("() => window.unsown.cab.get().keeper.dev") == dev
    context.close()


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
