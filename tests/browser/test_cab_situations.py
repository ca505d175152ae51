"""Hard situations where the page itself matters: covered, started again, in a child's hands.

The others are held to the pad and the live picture in tests/web/cab, and to the day counted on the
phone in tests/web.
"""

from __future__ import annotations

import json
import re

from numpy.testing import assert_allclose
from playwright.sync_api import Browser, Page, expect

from cabs import Cab
from handset import until
from onboard import (
    EXPORT,
    MORNING_MS,
    NOW,
    SPEED_M_S,
    Onboard,
    Piece,
    entries,
    middle,
    passed,
    tap,
    track,
    written,
)

GO: Piece = (100, SPEED_M_S, 0.0)
HALT: Piece = (60, 0.0, 0.0)
WIDTH_M = 8.4
COVER = """now => {
  Object.defineProperty(document, 'visibilityState', {get: () => now, configurable: true});
  document.dispatchEvent(new Event('visibilitychange'));
}"""


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
