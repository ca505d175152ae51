"""A patch that an open answer may close: desk and paper ask before they send anybody there."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import expect

import askday
import farms
import thistle
from browsing import Look, plain, too_small, too_wide, violations
from served import Served, served


@pytest.fixture(scope="module")
def shed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small farm with the day of a forgotten tap."""
    folder = tmp_path_factory.mktemp("asking")
    with farms.farm_in(folder) as farm:
        farm.save_rig(None, farms.CARD, None)
        farm.save_paddock(None, farms.paddock("Small"), None)
        farm.take_file("cab.jsonl", farms.body(askday.entries()))
    with served(folder) as made:
        thistle.settled(made)
        yield made


@pytest.mark.parametrize(("width", "dark"), [(1366, False), (360, True)])
def test_the_sheet_asks_before_it_sends_anybody_and_the_lines_and_the_script_do_too(
    look: Look, shed: Served, width: int, dark: bool
) -> None:
    page = look(shed, f"/desk/paddock/{thistle.paddock(shed)}", width=width, dark=dark)
    expect(page.locator(".worth-sum")).to_contain_text("Ask first about 1 patch: 0.02 ha, about")
    said = plain(page, "#patch-1 .worth")
    assert said.startswith("Ask first · net ")
    assert "may be sown after all: answer what is asked about " in said
    page.get_by_text("The way in words").click()
    expect(page.locator("details[open] .lines li").first).to_contain_text("40 m. Ask first.")
    assert violations(page) == []
    assert too_wide(page) == []
    assert too_small(page) == []
    whole = plain(page, "main")
    assert "go back for patch 1" not in whole.lower()
    page.goto(f"{shed.origin}/desk/paddock/{thistle.paddock(shed)}/handover")
    expect(page.locator("body")).to_contain_text("Next: ask first, patch 1 may be sown")
    expect(page.locator("body")).to_contain_text("Ask first: patch 1 may be sown after all;")
