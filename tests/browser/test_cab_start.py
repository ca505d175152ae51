"""The first pages a new driver sees: fit for a thumb in a glove, at arm's length, for everybody."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from browsing import too_small, too_wide, violations
from cabs import Cab
from handset import until

#: 18 mm at 6.3 CSS px, and the smallest text in the cab.
THUMB, TEXT = 114, 22
SIZES = {"small": (360, 640), "usual": (412, 915), "on its side": (915, 412)}
SMALL_TEXT = """least => [...document.querySelectorAll('body *')]
  .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()))
  .filter(e => e.offsetParent && !e.closest('.spoken, noscript'))
  .filter(e => parseFloat(getComputedStyle(e).fontSize) < least)
  .map(e => e.tagName + ' ' + e.textContent.slice(0, 40))"""
STEPS = ("I have read this", "Ask the browser", "Go on", "Go on", "Later", "Go on")

Open = Callable[..., Page]


@pytest.fixture
def opened(browser: Browser, cab: Cab) -> Iterator[Open]:
    contexts = []

    def open_(size: str = "usual", *, night: bool = False, path: str = "") -> Page:
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, has_touch=True)
        contexts.append(context)
        page = context.new_page()
        page.goto(cab.url + path)
        until(page, "window.unsown && window.unsown.cab.get().page")
        if night:
            page.evaluate("() => { document.documentElement.dataset.light = 'night'; }")
        return page

    yield open_
    for context in contexts:
        context.close()


def looked_at(page: Page, what: str) -> None:
    assert not too_wide(page), what
    assert not too_small(page, THUMB), what
    assert not page.evaluate(SMALL_TEXT, TEXT), what
    assert not violations(page), what
    assert page.locator("main .button.first").count() <= 1, f"{what}: more than one first thing"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("night", [False, True], ids=["day", "night"])
def test_every_step_of_first_start_is_large_clear_and_one_thing(
    opened: Open, size: str, night: bool, tmp_path: Path
) -> None:
    page = opened(size, night=night)
    for at, name in enumerate(STEPS):
        looked_at(page, f"step {at}, {size}")
        page.get_by_role("button", name=name, exact=True).click()
    until(page, "window.unsown.cab.get().page === 'start'")
    for name in ("start", "carry", "phone"):
        if name != "start":
            page.locator(f"[data-page={name}]").click()
        looked_at(page, f"{name}, {size}")
        if name != "start":
            page.get_by_role("button", name="Back").click()


def test_the_cautions_say_what_must_be_said(opened: Open) -> None:
    page = opened()
    text = page.inner_text("main")
    for needed in (
        "It never steers or stops anything.",
        "Questions wait until you stand.",
        "at least 3 m (10 ft) from any line",
        "tool lowered or locked, engine stopped, key out",
        "Never clear a hose at face level with the blower running",
        "It knows no slopes",
        "no cable near pedals or levers",
        "No passenger without a seat",
        "It is no rescue system",
        "The position log is personal.",
    ):
        assert needed in text, needed


def test_nothing_else_opens_before_the_cautions_were_acknowledged(opened: Open) -> None:
    page = opened()
    page.reload()
    until(page, "window.unsown && window.unsown.cab.get().page")
    assert page.inner_text("h1") == "Before you use it"
    page.go_back()
    page.wait_for_timeout(200)
    assert page.inner_text("h1") == "Before you use it"


def test_a_phone_that_installs_by_its_share_button_is_told_to_pair_there(
    browser: Browser, cab: Cab
) -> None:
    context = browser.new_context(viewport={"width": 412, "height": 915})
    context.add_init_script(
        "Object.defineProperty(Navigator.prototype, 'standalone', {get: () => false})"
    )
    page = context.new_page()
    code = cab.code()
    page.goto(cab.url + f"#pair={code}")
    until(page, "window.unsown && window.unsown.cab.get().page")
    page.get_by_role("button", name="I have read this").click()
    page.get_by_role("button", name="Ask the browser").click()
    page.get_by_role("button", name="Go on").click()
    text = page.inner_text("main")
    assert "Tap Share, then Add to Home Screen." in text
    assert code.replace("-", "") in text.replace("-", "")
    context.close()


def test_without_what_a_browser_may_lack_it_starts_all_the_same(browser: Browser, cab: Cab) -> None:
    context = browser.new_context(viewport={"width": 412, "height": 915})
    context.add_init_script(
        """for (const name of ['locks', 'getBattery', 'wakeLock', 'vibrate', 'storage', 'canShare',
          'share']) delete Navigator.prototype[name];
        for (const name of ['CompressionStream', 'AbortController', 'speechSynthesis',
          'DeviceMotionEvent']) delete window[name];"""
    )
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(cab.url)
    until(page, "window.unsown && window.unsown.cab.get().writes")
    for name in STEPS:
        page.get_by_role("button", name=name, exact=True).click()
    page.locator("[data-page=phone]").click()
    text = page.inner_text("main")
    for absence in (
        "The browser does not say how full the battery is",
        "The browser does not say how much room is left",
        "This browser cannot be asked",
    ):
        assert text.count(absence) == 1
    assert not wrong
    context.close()
