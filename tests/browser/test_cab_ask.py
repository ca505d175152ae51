"""A patch that an open answer may close: the phone asks before it sends anybody there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

import askday
from browsing import plain, too_small, too_wide, violations
from cabs import Cab
from gates import LEAST, THUMB, in_sight
from handing import Phone, away

WAIT_MS = 60_000


@pytest.fixture
def phone(browser: Browser, cab: Cab, tmp_path: Path) -> Iterator[Phone]:
    """A phone with the day of a forgotten tap, out of reach of home."""
    with away(browser, cab, tmp_path, askday.entries()) as one:
        yield one


def test_the_gate_check_asks_before_it_sends_the_driver_and_the_answer_settles_it(
    phone: Phone,
) -> None:
    page = phone.page
    phone.to("gate")
    expect(page.locator("#foot")).to_be_visible(timeout=WAIT_MS)
    expect(page.locator(".card .label")).to_have_text("Ask first")
    asked = plain(page, ".card .asks")
    assert asked.startswith("It may be sown after all. ")
    assert asked.endswith("It looks like sowing, but no down was tapped. Was the tool down?")
    assert "40 m. Ask first." in plain(page, "#way")
    foot = plain(page, "#foot")
    assert "ask first 0.02 ha" in foot
    assert "worth it" not in foot
    # to answer is the one thing to do, not to go
    assert page.locator(".gate .button.first").all_inner_texts() == ["Answer"]
    for width, height in LEAST.values():
        page.set_viewport_size({"width": width, "height": height})
        assert in_sight(page, ".gate .button.first"), (width, height)
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
    assert violations(page) == []
    page.locator(".gate .button.first").click()
    page.locator("[data-answer=down]").click()
    expect(page.get_by_text("Answered: Down all the way.")).to_be_visible()
    page.locator("[data-page=gate]").first.click()
    expect(page.locator("#foot")).to_be_visible(timeout=WAIT_MS)
    assert "ask first" not in plain(page, "#foot")
    expect(page.locator(".asks")).to_have_count(0)


def test_the_script_and_the_lines_that_are_handed_over_ask_first_too(phone: Phone) -> None:
    page = phone.page
    phone.to("standing", "over")
    script = page.locator("#script")
    expect(script).to_contain_text("Next: ask first, patch 1 may be sown", timeout=WAIT_MS)
    assert "go back for patch 1" not in plain(page, "body")
    expect(page.locator("body")).to_contain_text("Ask first: patch 1 may be sown after all;")
