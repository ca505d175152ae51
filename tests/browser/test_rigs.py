"""Two phones at the desk: the lever set right rig by rig, and two keepers of one log."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import expect

import farms
import pairs
from browsing import Look, too_small, too_wide, violations
from drives import START_MS
from keepers import FIRST, T0, presses, taking, text
from outfitted import lines, stocked
from served import Served, served

SEASON = time.gmtime(START_MS / 1000).tm_year


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Two rigs in one paddock, the third lift of the small one forgotten; two keepers just now."""
    folder = tmp_path_factory.mktemp("two")
    by = round(time.time() * 1000) - 3_600_000 - T0
    with farms.farm_in(folder) as farm:
        stocked(farm, "a")
        farm.take_entries("b", 1, lines("b", forgotten=5))
        logs = {"morning": [*FIRST, *presses(20, 25, 30)],
                "night": [*taking(10, "morning", 2), *presses(15, 22, 35)]}  # fmt: skip
        for dev, entries in logs.items():
            now = [{**entry, "t_ms": entry["t_ms"] + by} for entry in entries]
            farm.take_entries(dev, 1, text(dev, now))
    with served(folder) as house:
        yield house


def asked(house: Served, path: str) -> Any:
    return json.loads(house.ask("GET", path)[2])


def settled(house: Served) -> dict[str, Any]:
    """The paddock's work once nothing is computed any more."""
    [paddock] = asked(house, "/api/paddocks")
    end = time.monotonic() + farms.WAIT_S
    while time.monotonic() < end:
        found: dict[str, Any] = asked(house, f"/api/work/{paddock['id']}?season={SEASON}")
        if found["state"] == "ready" and not found["stale"]:
            return {**found, "id": paddock["id"]}
        time.sleep(0.2)
    raise AssertionError("the day was not computed in time")


def test_two_keepers_stand_on_top_of_the_board_with_what_to_do(look: Look, two: Served) -> None:
    page = look(two, "/desk", width=360, height=640)
    told = page.get_by_role("alert")
    expect(told).to_contain_text("morning and night both keep the log")
    expect(told).to_contain_text("On the other: Standing, Hand over")
    box = told.bounding_box()
    assert box is not None
    assert box["y"] < 640
    assert (violations(page), too_wide(page), too_small(page)) == ([], [], [])


def test_what_each_rig_sowed_and_how_the_seam_between_them_lies_stands_on_top_of_the_sheet(
    look: Look, two: Served
) -> None:
    found = settled(two)
    big, small = (rig["sown_ha"] for rig in found["tally"]["rigs"])
    page = look(two, f"/desk/paddock/{found['id']}?season={SEASON}", width=360, height=640)
    told = page.locator("#rigs")
    expect(told).to_contain_text("2 rigs worked here")
    expect(told).to_contain_text(f"Sown by big {big:.2f}\u00a0ha, small {small:.2f}\u00a0ha.")
    (seam,) = found["tally"]["between"]
    length = f"{round(seam['length_m'] / 10) * 10}\u00a0m"
    expect(told.locator(".seam")).to_contain_text(f"between big and small, {length}: can't tell")
    expect(told.locator(".seam")).to_contain_text("Look at the furrow there.")


def test_a_lever_is_added_for_the_rig_whose_time_line_is_worked_with(
    look: Look, two: Served
) -> None:
    before = settled(two)
    page = look(two, f"/desk/paddock/{before['id']}?season={SEASON}", width=360, height=640)
    rig = page.get_by_label("Rig", exact=True)
    expect(rig.locator("option")).to_have_text(["big (a)", "small (b)"])
    count = 2 * pairs.ROWS
    expect(page.locator(".grip")).not_to_have_count(0)
    rig.select_option(label="small (b)")
    third = [m for m in pairs.both().marks if m.phone == "b"][5]
    [question] = before["tally"]["questions"]
    assert (question["phone"], count) == ("b", 20)
    assert (violations(page), too_wide(page)) == ([], [])
    page.evaluate("() => document.querySelector('.strip').scrollIntoView()")
    strip = page.locator(".strip")
    box = strip.bounding_box()
    assert box is not None
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.locator("#add-up").click()
    page.locator("#changes-save").click()
    expect(page.get_by_text("Saved. The day is computed anew.")).to_be_visible()
    after = settled(two)
    lever = asked(two, f"/api/work/{before['id']}/timeline?season={SEASON}&day={before['days'][0]}")
    small = lever["rigs"][1]
    [added] = [t for t in small["lever"] if t["dev"] != "b"]
    assert added["of_dev"] == "b"
    assert not [t for t in lever["rigs"][0]["lever"] if t["dev"] != "a"]
    assert after["tally"]["rigs"][0] == before["tally"]["rigs"][0]
    assert abs(added["t_ms"] - third.t_ms) < 20 * 60_000
