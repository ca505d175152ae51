"""The board: what to do first, the states of the paddocks, the first start, trouble."""

from __future__ import annotations

from playwright.sync_api import expect

import thistle
from browsing import Look, too_wide, violations
from served import Served


def test_the_board_says_what_to_do_first_and_leads_there(look: Look, house: Served) -> None:
    page = look(house, "/desk")
    lead = page.get_by_role("region", name="To do first")
    expect(lead).to_contain_text("Small has 1 question")
    card = page.get_by_role("listitem").filter(has_text="Loose ends")
    expect(card).to_contain_text("Sown 0.84 ha of 0.96 ha")
    expect(card).to_contain_text("1 question, 1 loose end")
    lead.get_by_role("link", name="Answer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Small 2025")
    assert page.url.endswith(f"/desk/paddock/{thistle.paddock(house)}?season=2025")
    page.go_back()
    expect(page.get_by_role("heading", level=1)).to_have_text("Paddocks")


def test_positions_that_lie_in_no_paddock_are_told_also_where_something_else_comes_first(
    look: Look, house: Served
) -> None:
    page = look(house, "/desk")
    expect(page.get_by_role("region", name="To do first")).to_contain_text("Small has 1 question")
    expect(page.locator("#unplaced")).to_have_count(0)
    found = thistle.board(house) | {"unplaced": {"fixes": 60, "days": ["2025-05-03"]}}
    page.route("**/api/board*", lambda route: route.fulfill(json=found))
    page.reload()
    told = page.locator("#unplaced")
    expect(told).to_contain_text("60 positions of 3 May lie in no paddock.")
    expect(told).to_contain_text("it was another place's file")
    expect(told.get_by_role("link")).to_have_attribute("href", "/desk/new-paddock")
    expect(page.get_by_role("region", name="To do first")).to_contain_text("Small has 1 question")
    assert violations(page) == []


def test_the_first_start_shows_the_cautions_and_then_one_step_after_the_other(
    look: Look, empty: Served
) -> None:
    page = look(empty, "/desk", new=True, width=360, height=640)
    expect(page.get_by_role("heading", name="Before you use it")).to_be_visible()
    expect(page.get_by_text("Do not rely on it for wires, holes or people")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("button", name="I have read this").click()
    first = page.locator("main .button.first")
    expect(first).to_have_text("Add a paddock")
    assert violations(page) == []
    assert too_wide(page) == []
    page.reload()
    expect(first).to_have_text("Add a paddock")
    first.click()
    expect(page.get_by_role("heading", name="First, its boundary")).to_be_visible()


def test_on_a_phone_the_list_of_pages_is_folded_away_until_it_is_asked_for(
    look: Look, house: Served
) -> None:
    page = look(house, "/desk", width=360, height=640)
    opens = page.get_by_role("button", name="Pages")
    settings = page.get_by_role("link", name="Settings")
    expect(settings).to_be_hidden()
    opens.click()
    expect(opens).to_have_attribute("aria-expanded", "true")
    settings.click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Settings")
    expect(settings).to_be_hidden()


def test_a_service_that_stops_answering_is_said_and_asked_again(look: Look, house: Served) -> None:
    page = look(house, "/desk", quiet=False)
    expect(page.get_by_role("heading", level=1)).to_have_text("Paddocks")
    page.route("**/api/rigs", lambda route: route.abort())
    page.get_by_role("link", name="Rig cards").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("The home service does not answer")
    expect(page.get_by_text("What stands here may be old")).to_be_visible()
    assert violations(page) == []
    page.unroute("**/api/rigs")
    alert.get_by_role("button", name="Try again").click()
    expect(page.get_by_role("link", name="Small bar")).to_be_visible()
    expect(page.get_by_text("What stands here may be old")).to_be_hidden()


def test_an_error_of_the_service_is_told_in_its_own_words(look: Look, house: Served) -> None:
    page = look(house, "/desk/rig/no-such-card", quiet=False)
    expect(page.get_by_role("alert")).to_contain_text("There is no rig 'no-such-card'.")
