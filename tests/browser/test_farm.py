"""Rig cards, phones, files, settings, seasons, slips: what a farm keeps, by its pages."""

from __future__ import annotations

import json
from pathlib import Path

from playwright.sync_api import expect

import farms
from browsing import Look, violations
from served import Served


def test_a_rig_card_is_filled_in_refused_with_the_field_and_drawn_once_it_fits(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/new-rig", quiet=False)
    expect(page.get_by_text("Before measuring: tool lowered or locked")).to_be_visible()
    page.get_by_label("Name of this rig").fill("Long drill")
    page.get_by_label("Phone ahead of the rear axle").fill("0.9")
    page.get_by_label("Rear axle to hitch pin").fill("1.05")
    page.get_by_label("Working width").fill("840")
    page.get_by_label("Hitch pin to the tool's axle").fill("6,1")
    page.get_by_role("button", name="Save the card").click()
    expect(page.get_by_role("alert")).to_contain_text("width_m")
    expect(page.get_by_label("Working width")).to_be_focused()
    page.get_by_label("Working width").fill("8.4")
    page.get_by_role("button", name="Save the card").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Long drill")
    sketch = page.get_by_role("img", name="Sketch of Long drill to scale")
    expect(sketch).to_be_visible()
    assert sketch.evaluate("img => img.decode().then(() => img.naturalWidth)") > 0
    rigs = json.loads(workshop.ask("GET", "/api/rigs")[2])
    card = next(row["card"] for row in rigs if row["name"] == "Long drill")
    assert card["tool"] == {"width_m": 8.4, "pin_to_axle_m": 6.1}
    page.get_by_label("Row spacing").fill("0.3")
    page.get_by_label("Why it changes").fill("counted")
    page.get_by_role("button", name="Save as a new version").click()
    expect(page.get_by_text("2 versions")).to_be_visible()


def test_a_phone_is_paired_by_a_code_that_can_be_seen_and_withdrawn_again(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/phones")
    page.get_by_label("What this phone is called").fill("Cab phone")
    page.get_by_role("button", name="Make a code").click()
    expect(page.get_by_role("img", name="Square code that pairs a phone")).to_be_visible()
    expect(page.get_by_role("timer")).to_contain_text("Good once, for another 9 min")
    assert violations(page) == []
    code = page.locator("strong.code").text_content()
    claimed = workshop.ask("POST", "/api/pairings/claim", {"code": code})
    assert claimed[0] == 201
    page.reload()
    row = page.get_by_role("listitem").filter(has_text="Cab phone")
    expect(row).to_contain_text("Keeper")
    row.get_by_role("button", name="Withdraw Cab phone").click()
    page.get_by_role("dialog").get_by_role("button", name="Withdraw", exact=True).click()
    expect(row).to_contain_text("withdrawn")
    token = json.loads(claimed[2])["token"]
    bearer = {"Authorization": f"Bearer {token}"}
    assert workshop.ask("GET", "/api/pack", headers=bearer)[0] == 401


def test_a_track_is_carried_in_once_and_the_second_time_changes_nothing(
    look: Look, workshop: Served, tmp_path: Path
) -> None:
    page = look(workshop, "/desk/carry", quiet=False)
    track = tmp_path / "cab.jsonl"
    track.write_bytes(farms.body(farms.day("spare-phone")))
    field = page.get_by_label("Files to carry in")
    field.set_input_files(track)
    expect(page.get_by_text("new entries of 3 May")).to_be_visible()
    field.set_input_files(track)
    expect(page.get_by_text("Nothing new: all of it was here already.")).to_be_visible()
    other = tmp_path / "shopping.txt"
    other.write_text("bread, oil, split pins")
    field.set_input_files(other)
    expect(page.locator(".wrong").filter(has_text="shopping").or_(page.locator("li .wrong"))
           ).not_to_be_empty()  # fmt: skip


def test_everything_can_be_carried_out_in_open_formats(look: Look, house: Served) -> None:
    page = look(house, "/desk/carry")
    starts = {"Ground": "{", "Bare patches": "", "Runs": "", "Track": "<?xml", "Log": "{",
              "Days": "", "Whole log": "{", "Farm pack": "{"}  # fmt: skip
    for name, start in starts.items():
        with page.expect_download() as waiting:
            page.get_by_role("link", name=f"Save: {name}", exact=True).click()
        text = waiting.value.path().read_text("utf-8")
        assert text.startswith(start), name
        assert len(text) > 40, name


def test_settings_change_words_units_and_light_on_every_page(look: Look, workshop: Served) -> None:
    page = look(workshop, "/desk/settings")
    page.get_by_label("Name of the farm").fill("Kettle Bend")
    page.get_by_label("Acres and feet").check()
    page.get_by_label("Field", exact=True).check()
    page.get_by_role("button", name="Save settings").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()
    expect(page.get_by_role("link", name="Kettle Bend")).to_be_visible()
    page.get_by_label("Dark").check()
    ground = page.evaluate("() => getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(11, 12, 14)"
    page.get_by_role("link", name="Rig cards").click()
    expect(page.get_by_role("link", name="Fields")).to_be_visible()
    page.goto(f"{workshop.origin}/desk/new-rig")
    expect(page.locator(".with-unit").first).to_contain_text("ft")
    page.goto(f"{workshop.origin}/desk/settings")
    page.get_by_label("Hectares and metres").check()
    page.get_by_label("Paddock", exact=True).check()
    page.get_by_role("button", name="Save settings").click()
    expect(page.get_by_text("Settings saved.")).to_be_visible()


def test_the_day_slip_sums_the_day_and_leads_to_its_print(look: Look, house: Served) -> None:
    page = look(house, "/desk/days")
    page.get_by_role("link", name="Open its slip").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Saturday, 3 May 2025")
    expect(page.locator(".tally")).to_contain_text("0.84 ha")
    expect(page.get_by_text("1 question of this day is open; the slip says so.")).to_be_visible()
    with page.expect_popup() as opening:
        page.get_by_role("link", name="Print the slip").click()
    expect(opening.value.locator("body")).to_contain_text("Small")


def test_a_season_is_deleted_only_after_its_year_was_typed(
    look: Look, workshop: Served, tmp_path: Path
) -> None:
    track = tmp_path / "old.jsonl"
    track.write_bytes(farms.body(farms.day("old-phone", later_ms=-366 * 86_400_000)))
    page = look(workshop, "/desk/carry")
    page.get_by_label("Files to carry in").set_input_files(track)
    expect(page.get_by_text("new entries of 2 May")).to_be_visible()
    page.goto(f"{workshop.origin}/desk/season/2024")
    expect(page.get_by_text("A stone is left in its place")).to_be_visible()
    page.get_by_role("button", name="Delete season 2024").click()
    asked = page.get_by_role("dialog")
    act = asked.get_by_role("button", name="Delete season 2024")
    expect(act).to_be_disabled()
    asked.get_by_label("Type 2024 to go on").fill("2025")
    expect(act).to_be_disabled()
    assert violations(page) == []
    asked.get_by_label("Type 2024 to go on").fill("2024")
    act.click()
    expect(page.get_by_text("Season 2024 is deleted")).to_be_visible()
    assert json.loads(workshop.ask("GET", "/api/season/2024")[2])["entries"] == 0
