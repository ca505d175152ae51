"""Fills typed in from the back of the sheet, and a day on which nobody tapped the lever."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

import farms
import thistle
from browsing import Look, too_small, too_wide, violations
from served import Served, served


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small farm, for this page's tests alone: they write into it."""
    folder = tmp_path_factory.mktemp("paper")
    thistle.put_in(folder)
    with served(folder) as made:
        thistle.settled(made)
        yield made


def fills_of(house: Served) -> list[dict[str, Any]]:
    thistle.settled(house)
    path = f"/api/work/{thistle.paddock(house)}?season={farms.SEASON}"
    found: list[dict[str, Any]] = json.loads(house.ask("GET", path)[2])["fills"]
    return found


def opened(look: Look, house: Served, **how: Any) -> Page:
    page = look(house, f"/desk/day/{farms.DAY}", **how)
    page.get_by_text("Type in fills from paper").click()
    expect(page.get_by_role("group", name="Fill 1")).to_be_visible()
    return page


def test_fills_are_typed_in_from_left_to_right_kept_and_taken_back(
    look: Look, paper: Served
) -> None:
    page = opened(look, paper, quiet=False)
    page.get_by_role("group", name="Fill 1").get_by_label("Time").focus()
    for cell in ("14:05", "450,5", "", "60", "by the gate", "Jo"):
        page.keyboard.type(cell)
        page.keyboard.press("Tab")
    expect(page.get_by_role("group", name="Fill 2").get_by_label("Time")).to_be_focused()
    page.keyboard.type("noon")
    page.keyboard.press("Tab")
    page.keyboard.type("100")
    page.get_by_role("button", name="Keep these fills").click()
    expect(page.get_by_role("alert")).to_contain_text("row 2")
    assert fills_of(paper) == []
    second = page.get_by_role("group", name="Fill 2")
    second.get_by_label("Time").fill("")
    second.get_by_label("Seed in").fill("")
    page.get_by_role("button", name="Keep these fills").click()
    expect(page.get_by_text("2 fills kept.")).to_be_visible()
    seed, fuel = fills_of(paper)
    assert (seed["product"], seed["kg"], seed["place"], seed["driver"]) == (
        *("seed", 450.5, "by the gate", "Jo"),
    )  # fmt: skip
    assert (fuel["product"], fuel["l"]) == ("fuel", 60)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_text("Taken back. The day is computed anew.")).to_be_visible()
    expect(page.get_by_role("button", name="Undo")).to_have_count(0)
    page.reload()
    assert fills_of(paper) == []


def test_a_form_without_a_fill_says_what_is_needed(look: Look, paper: Served) -> None:
    page = opened(look, paper)
    page.get_by_role("button", name="Keep these fills").click()
    expect(page.get_by_role("alert")).to_contain_text("a time, and what went in")
    page.get_by_role("button", name="One more row").click()
    expect(page.get_by_role("group", name="Fill 4")).to_be_visible()


def test_the_form_for_fills_is_fit_for_everybody_on_a_phone_and_on_a_desk(
    look: Look, house: Served
) -> None:
    for width, height, dark in ((360, 640, True), (1366, 900, False)):
        page = opened(look, house, width=width, height=height, dark=dark)
        assert violations(page) == []
        assert too_wide(page) == []
        assert too_small(page) == []


def test_a_day_without_one_tap_says_that_it_is_guessed(look: Look, tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        farms.stocked(farm)
        kept = [e for e in farms.day() if e["kind"] != "lever"]
        untapped = [{**entry, "seq": seq} for seq, entry in enumerate(kept, 1)]
        farm.take_entries("cab", 1, farms.body(untapped))
    with served(tmp_path) as house:
        thistle.settled(house)
        page = look(house, f"/desk/paddock/{thistle.paddock(house)}")
        expect(page.get_by_text("No lever was tapped")).to_be_visible()
        expect(page.get_by_text("needs seed filled in at two stops")).to_be_visible()
        assert violations(page) == []
