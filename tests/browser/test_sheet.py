"""The paddock sheet: map and list light each other, questions are answered, levers set right."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

import farms
import thistle
from browsing import Look, violations
from served import Served

#: The lever of the fourth run: lowered 60 m late, as smallday says.
LATE_MS = farms.smallday.START_MS + 1000 * (3 * 121 + 30)


def sheet(look: Look, house: Served, **how: Any) -> Page:
    page = look(house, f"/desk/paddock/{thistle.paddock(house)}", **how)
    expect(page.locator(".grip").first).to_be_visible()
    return page


def on_map(page: Page, east_m: float, north_m: float) -> tuple[float, float]:
    """Where a place of the small paddock lies on the map that shows the whole of it, pixels."""
    box = page.locator(".map").bounding_box()
    assert box is not None
    rim, edge, foot = 2, 28, 62  # the map's border, and the room it keeps round the paddock
    width, height = box["width"] - 2 * rim, box["height"] - 2 * rim
    scale = (width - 2 * edge) / farms.smallday.LENGTH_M
    middle = box["y"] + rim + edge + (height - edge - foot) / 2
    x = box["x"] + rim + edge + east_m * scale
    return x, middle - (north_m - farms.smallday.WIDTH_M / 2) * scale


def test_a_patch_lights_up_on_the_map_and_in_the_list_whichever_is_touched(
    look: Look, house: Served
) -> None:
    page = sheet(look, house)
    patch = page.locator("#patch-1")
    expect(patch).to_contain_text("480 m²")
    expect(patch).to_have_attribute("aria-pressed", "false")
    page.mouse.click(*on_map(page, 170, 28))
    expect(patch).to_have_attribute("aria-pressed", "true")
    page.mouse.click(*on_map(page, 60, 10))
    expect(patch).to_have_attribute("aria-pressed", "false")
    before = page.locator(".map canvas").first.screenshot()
    patch.click()
    expect(page.get_by_text("Patch 1 of 1:")).to_be_visible()
    assert page.locator(".map canvas").first.screenshot() != before


def test_layers_can_be_taken_off_the_map_and_stay_off(look: Look, house: Served) -> None:
    page = sheet(look, house)
    canvas = page.locator(".map canvas").first
    with_sown = canvas.screenshot()
    page.get_by_label("Sown 0.84 ha").uncheck()
    expect(page.get_by_label("Sown 0.84 ha")).not_to_be_checked()
    assert canvas.screenshot() != with_sown
    page.reload()
    expect(page.get_by_label("Sown 0.84 ha")).not_to_be_checked()


def test_a_question_is_answered_and_the_answer_taken_back(look: Look, house: Served) -> None:
    page = sheet(look, house)
    asked = page.get_by_role("region", name="1 question first")
    expect(asked).to_contain_text("No position for 46 s, 90 m. Was the tool down?")
    asked.get_by_role("button", name="Show it").click()
    expect(page.locator(".range")).to_contain_text("14:0")
    asked.get_by_role("button", name="Down all the way").click()
    expect(page.get_by_text("Answered: Down all the way")).to_be_visible()
    expect(asked).to_be_hidden()
    expect(page.locator(".tally")).to_contain_text("0.91 ha")
    assert thistle.tally(house)["questions"] == []
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(asked).to_be_visible()
    expect(page.locator(".tally")).to_contain_text("0.84 ha")
    assert len(thistle.tally(house)["questions"]) == 1


def test_a_forgotten_lever_is_dragged_right_tried_saved_and_undone(
    look: Look, house: Served
) -> None:
    page = sheet(look, house)
    page.get_by_role("button", name="Whole day").click()
    grip = late_lever(page)
    box = grip.locator(".grip-wedge").bounding_box()
    strip = page.locator(".strip").bounding_box()
    assert box is not None
    assert strip is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    day = page.evaluate("() => [...document.querySelectorAll('.grip')].map(g => +g.ariaValueNow)")
    pixels = (strip["width"] - 16) / (max(day) - min(day)) * 30_000
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - pixels / 2, y, steps=4)
    page.mouse.move(x - pixels, y, steps=4)
    page.mouse.up()
    expect(page.get_by_text("1 change not saved")).to_be_visible()
    expect(page.get_by_text("Was 14:06:33")).to_be_visible()
    table = page.locator("#before-after")
    expect(table).to_be_visible()
    bare = table.get_by_role("row", name="Bare")
    expect(bare).to_contain_text("0.05 ha")
    expect(bare).to_contain_text("0.00 ha")
    assert violations(page) == []
    assert page.locator("main .button.first:visible").count() == 1
    assert thistle.tally(house)["bare_ha"] > 0.04, "a try changes nothing"
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("No bare patch was found.")).to_be_visible()
    assert thistle.tally(house)["bare_ha"] < 0.01
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(page.locator("#patch-1")).to_be_visible()
    assert thistle.tally(house)["bare_ha"] == pytest.approx(0.048, abs=0.001)


def late_lever(page: Page) -> Any:
    return page.locator(f'.grip[aria-valuenow="{LATE_MS}"]')


def test_a_lever_is_set_right_by_keyboard_alone(look: Look, house: Served) -> None:
    page = sheet(look, house)
    page.get_by_role("button", name="Whole day").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    expect(page.locator(".grip:focus")).to_have_count(1)
    for _ in range(20):
        if page.evaluate("() => +document.activeElement.ariaValueNow") == LATE_MS:
            break
        page.get_by_role("button", name="Lever after").focus()
        page.keyboard.press("Enter")
        page.locator(".grip.selected").focus()
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".grip:focus")).to_have_attribute("aria-valuetext", "14:06:22")
    expect(page.get_by_text("1 change not saved")).to_be_visible()
    page.get_by_role("button", name="Take it out").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Taken out.")).to_be_visible()
    page.get_by_role("button", name="Throw away").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("not saved")).to_be_hidden()


def test_a_change_that_nobody_tapped_is_added_where_the_line_was_clicked(
    look: Look, house: Served
) -> None:
    page = sheet(look, house)
    page.locator(".strip").click(position={"x": 300, "y": 60})
    add = page.get_by_role("button", name="Add up at")
    expect(add).to_be_visible()
    add.click()
    expect(page.get_by_text("Added here.")).to_be_visible()
    expect(page.get_by_text("1 change not saved")).to_be_visible()
    page.get_by_role("button", name="Throw away").click()


def test_a_press_that_oops_took_back_is_asked_about_in_the_phone_s_words(
    look: Look, house: Served
) -> None:
    taken = {
        **{"dev": "cab", "seq": 9, "lever": "up", "again_seq": None},
        **{"from_ms": LATE_MS, "to_ms": LATE_MS + 3000},
        "answers": {"leave": None, "oops": LATE_MS + 3000, "edge": LATE_MS - 8000},
    }
    sent: list[Any] = []

    def work(route: Route) -> None:
        response = route.fetch()
        route.fulfill(response=response, json=response.json() | {"taken": [taken]})

    def kept(route: Route) -> None:
        sent.extend(route.request.post_data_json["entries"])
        route.fulfill(status=201, json={"seq": [1, 2]})

    page = look(house, "/desk")
    page.route("**/api/work/*", work)
    page.route("**/api/entries", kept)
    page.get_by_role("link", name="Small").click()
    asked = page.get_by_role("listitem").filter(has_text="You took UP back. When was it lifted?")
    expect(asked.get_by_role("button")).to_have_text(
        ["Show it", "It was not", "When I pressed Oops", "At the edge"]
    )
    assert violations(page) == []
    asked.get_by_role("button", name="At the edge").click()
    expect(page.get_by_text("Answered: At the edge")).to_be_visible()
    lever, said = sent
    assert (lever["kind"], lever["lever"], lever["t_ms"]) == ("lever", "up", LATE_MS - 8000)
    assert (said["about"], said["of"], said["answer"]) == ("oops", 9, "edge")
    assert lever["of_dev"] == said["of_dev"] == "cab"
    page.unroute_all(behavior="wait")  # it reads the work anew


@pytest.mark.parametrize(
    ("work", "says"),
    [
        ({"state": "none"}, "Nothing was logged here this season."),
        ({"state": "computing", "part": 0.3}, "The day is being computed."),
        (
            {
                "state": "failed",
                "reason": {"message": "The fence crosses itself.", "hint": "Mend it."},
            },
            "The fence crosses itself. Mend it.",
        ),
    ],
)
def test_a_paddock_without_numbers_says_why_and_what_to_do(
    look: Look, house: Served, work: dict[str, Any], says: str
) -> None:
    page = look(house, "/desk", width=360, height=640)
    found = {"stale": False, "tally": None, "runs": [], "days": [], "area_check": None, **work}
    page.route("**/api/work/*", lambda route: route.fulfill(json=found))
    page.get_by_role("link", name="Small").click()
    expect(page.get_by_text(says)).to_be_visible()
    expect(page.locator(".map canvas").first).to_be_visible()
    assert violations(page) == []


def test_a_day_that_is_computed_fills_the_bar_as_the_service_tells_it(
    look: Look, house: Served
) -> None:
    page = look(house, "/desk")
    told = (
        "event: work\ndata: "
        f'{{"paddock": "{thistle.paddock(house)}", "season": 2025, "state": "computing", '
        '"stage": "settle", "part": 0.5}\n\n'
    )
    answer = {"status": 200, "content_type": "text/event-stream", "body": told}
    page.route("**/api/events", lambda route: route.fulfill(**answer))
    page.reload()
    bar = page.get_by_role("progressbar", name="Computing")
    expect(bar).to_have_attribute("value", "0.5")
