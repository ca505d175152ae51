"""Every page of the desk: fit for everybody, on a phone and on a desk, in light and dark."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

import thistle
from browsing import go, looking, too_small, too_wide, violations
from served import Served

PAGES = {
    "board": "/desk",
    "sheet": "/desk/paddock/{id}",
    "shape": "/desk/paddock/{id}/shape",
    "new paddock": "/desk/new-paddock",
    "rigs": "/desk/rigs",
    "new rig": "/desk/new-rig",
    "days": "/desk/days",
    "day": "/desk/day/2025-05-03",
    "phones": "/desk/phones",
    "carry": "/desk/carry",
    "settings": "/desk/settings",
    "prices": "/desk/settings/prices",
    "rate test": "/desk/settings/rate-test",
    "planning figures": "/desk/settings/planning",
    "fills": "/desk/paddock/{id}/bins",
    "handover": "/desk/paddock/{id}/handover",
    "season": "/desk/season/2025",
    "none": "/desk/no-such-page",
}


SCREENS = {"phone, dark": (360, 640, True), "desk, light": (1366, 900, False)}


@pytest.fixture(scope="module")
def screens(browser: Browser, house: Served) -> Iterator[dict[str, Page]]:
    """One page a screen, that goes from place to place as a person's does."""
    with looking(browser) as look:
        yield {
            name: look(house, "/desk", width=width, height=height, dark=dark)
            for name, (width, height, dark) in SCREENS.items()
        }


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_fit_for_everybody_on_a_phone_and_on_a_desk(
    screens: dict[str, Page], house: Served, name: str
) -> None:
    for screen, page in screens.items():
        go(page, PAGES[name].format(id=thistle.paddock(house)))
        expect(
            page.locator(f'main[data-place="{page.evaluate("location.pathname")}"]')
        ).to_be_visible()
        expect(page.locator("h1")).to_be_visible()
        expect(page.locator(".waiting")).to_have_count(0)
        if name == "sheet":
            expect(page.locator(".grip").first).to_be_visible()
        assert violations(page) == [], screen
        assert too_wide(page) == [], screen
        assert too_small(page) == [], screen
        first = page.locator("main .button.first:visible")
        assert first.count() <= 1, "more than one thing to do first"
