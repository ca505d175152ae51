"""The shape of a paddock: typed, from a file, drawn; corners by keyboard; keep-outs; versions."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

import farms
import smallday
from browsing import Look, violations
from houses import square
from served import Served

CORNERS = "49.7400, -106.2200\n49.7400, -106.2150\n49.7430, -106.2150\n49.7430, -106.2200"


def saved(house: Served, name: str) -> dict[str, Any]:
    listed = json.loads(house.ask("GET", "/api/paddocks?away=yes")[2])
    found = next(row for row in listed if row["name"] == name)
    out: dict[str, Any] = json.loads(house.ask("GET", f"/api/paddocks/{found['id']}")[2])
    return out


def typed(page: Page, name: str) -> None:
    page.get_by_text("From corners typed in").click()
    page.get_by_label("One corner a line: latitude, longitude").fill(CORNERS)
    page.get_by_role("button", name="Take these corners").click()
    page.get_by_label("Name").fill(name)
    page.get_by_label(
        "Name"
    ).blur()  # what hangs on the name is drawn anew before anything is pressed


def test_a_paddock_is_typed_in_saved_and_its_corner_moved_by_keyboard(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/new-paddock")
    page.get_by_text("From corners typed in").click()
    page.get_by_label("One corner a line: latitude, longitude").fill("49.74, -106.22\nnorth")
    page.get_by_role("button", name="Take these corners").click()
    expect(page.get_by_role("alert")).to_contain_text("Line 2: latitude and longitude")
    page.get_by_label("One corner a line: latitude, longitude").fill(CORNERS)
    page.get_by_role("button", name="Take these corners").click()
    expect(page.get_by_text("About 12 ha inside the line")).to_be_visible()
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("alert")).to_contain_text("The paddock needs a name.")
    page.get_by_label("Name").fill("Typed")
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Typed")
    page.get_by_role("link", name="Shape and keep-outs").click()
    page.get_by_text("Corners by keyboard").click()
    corner = page.get_by_role("button", name="Corner 2: 49.740000, -106.215000")
    corner.focus()
    page.keyboard.press("Shift+ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("#corner-1")).to_be_focused()
    expect(page.locator("#corner-1")).to_contain_text("49.740099")  # 11 m of 111.2 km a degree
    page.get_by_label("Why it changes").fill("walked it")
    page.get_by_role("button", name="Save as a new version").click()
    expect(page.get_by_role("status").filter(has_text="Saved as version 2.")).to_be_visible()
    thing = saved(workshop, "Typed")
    assert [v["why"] for v in thing["history"]] == ["", "walked it"]
    ring = thing["geojson"]["features"][0]["geometry"]["coordinates"][0]
    assert [-106.215, 49.7400989] in ring


def test_a_keep_out_is_marked_on_the_map_described_dated_and_taken_back(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/new-paddock")
    typed(page, "Poled")
    page.get_by_role("button", name="Mark a spot").click()
    expect(page.get_by_text("Click where it stands")).to_be_visible()
    middle(page)
    page.get_by_label("What it is").fill("pole")
    page.get_by_label("Dangerous to drive into").check()
    page.get_by_label("Until").fill("2099-06-01")
    page.get_by_label("Until").blur()
    assert violations(page) == []
    expect(page.locator("#out-2")).to_contain_text("A pole · until 2099-06-01")
    page.get_by_role("button", name="Mark a spot").click()
    middle(page, 60)
    expect(page.locator(".outs > li")).to_have_count(2)
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator(".outs > li")).to_have_count(1)
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Poled")
    thing = saved(workshop, "Poled")
    pole = thing["geojson"]["features"][1]["properties"]
    assert pole == {"kind": "pole", "hazard": True, "until": "2099-06-01"}
    assert 5 < thing["keep_out_ha"] * 1e4 < 9  # a circle of 1.5 m


def middle(page: Page, aside: int = 0) -> None:
    page.locator(".map").click(position={"x": 300 + aside, "y": 250})


def test_a_gate_is_set_on_the_map_moved_named_taken_back_and_typed(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/new-paddock")
    typed(page, "Gated")
    gates = page.get_by_role("region", name="Gates")
    expect(gates).to_contain_text("None is set")
    page.get_by_role("button", name="Set a gate").click()
    expect(page.get_by_text("Click where you drive in.")).to_be_visible()
    middle(page)
    at = gates.get_by_label("Gate 1: latitude, longitude")
    before = at.input_value()
    box = page.locator(".map").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 300, box["y"] + 250)
    page.mouse.down()
    page.mouse.move(box["x"] + 330, box["y"] + 230, steps=4)
    page.mouse.up()
    expect(at).not_to_have_value(before)
    moved = at.input_value()
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(at).to_have_value(before)
    assert moved != before
    at.fill("49.7400, -106.2180")
    at.blur()
    gates.get_by_label("Gate 1: name").fill("Mill road")
    gates.get_by_label("Gate 1: name").blur()
    assert violations(page) == []
    gates.get_by_label("Latitude, longitude of a gate").fill("somewhere")
    gates.get_by_role("button", name="Add this gate").click()
    expect(page.get_by_role("alert")).to_contain_text("Latitude and longitude of the gate")
    gates.get_by_label("Latitude, longitude of a gate").fill("49.7430, -106.2170")
    gates.get_by_role("button", name="Add this gate").click()
    expect(gates.get_by_role("listitem")).to_have_count(2)
    gates.get_by_role("button", name="Take gate 2 away").click()
    expect(gates.get_by_role("listitem")).to_have_count(1)
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Gated")
    *_, gate = saved(workshop, "Gated")["geojson"]["features"]
    assert gate["properties"] == {"kind": "gate", "name": "Mill road"}
    assert gate["geometry"] == {"type": "Point", "coordinates": [-106.218, 49.74]}
    page.get_by_role("link", name="Shape and keep-outs").click()
    expect(gates.get_by_label("Gate 1: name")).to_have_value("Mill road")
    expect(page.get_by_text("Ground that is never sown")).to_be_visible()  # a gate is no keep-out


def test_a_boundary_is_drawn_by_hand_with_its_last_corner_on_its_first(
    look: Look, workshop: Served
) -> None:
    page = look(workshop, "/desk/new-paddock")
    typed(page, "Drawn")
    page.get_by_role("button", name="Draw the boundary anew").click()
    expect(page.get_by_text("Click each corner.")).to_be_visible()
    for x, y in ((200, 120), (420, 130), (410, 330), (210, 300), (200, 120)):
        page.locator(".map").click(position={"x": x, "y": y})
    expect(page.get_by_text("Click each corner.")).to_be_hidden()
    page.get_by_text("Corners by keyboard").click()
    expect(page.locator(".corners > li")).to_have_count(4)
    page.get_by_role("button", name="Take corner 2 out").click()
    expect(page.locator(".corners > li")).to_have_count(3)


def test_a_boundary_comes_from_a_file_and_a_broken_file_says_why(
    look: Look, workshop: Served, tmp_path: Path
) -> None:
    page = look(workshop, "/desk/new-paddock", width=360, height=640, quiet=False)
    broken = tmp_path / "broken.geojson"
    broken.write_text("{")
    page.get_by_label("Boundary file").set_input_files(broken)
    expect(page.get_by_role("alert")).not_to_be_empty()
    good = tmp_path / "good.geojson"
    good.write_text(json.dumps(square("Copper Kettle")))
    page.get_by_label("Boundary file").set_input_files(good)
    expect(page.get_by_label("Name")).to_have_value("Copper Kettle")
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Copper Kettle")
    assert saved(workshop, "Copper Kettle")["version"] == 1


def test_a_boundary_comes_from_a_driven_lap(look: Look, workshop: Served, tmp_path: Path) -> None:
    assert workshop.ask("POST", "/api/rigs", {"card": farms.CARD})[0] == 201
    track = tmp_path / "lap.jsonl"
    track.write_text(smallday.lap())
    page = look(workshop, "/desk/carry")
    page.get_by_label("Files to carry in").set_input_files(track)
    expect(page.get_by_text("new entries of 3 May")).to_be_visible()
    page.goto(f"{workshop.origin}/desk/new-paddock")
    page.get_by_text("From a driven lap").click()
    page.get_by_label("Day of the lap").fill("2025-05-03")
    page.get_by_role("button", name="Take the lap").click()
    expect(page.get_by_text("boundary from the first lap")).to_be_visible()
    # 150 m by 100 m, and half a metre all round to the fence: 1.525 ha
    expect(page.get_by_role("listitem").filter(has_text="1.53 ha")).to_be_visible()
    page.get_by_label("Name").fill("Lapped")
    page.get_by_role("button", name="Save the paddock").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Lapped")
    assert saved(workshop, "Lapped")["boundary"] == "lap"


def test_a_paddock_is_put_away_after_asking_and_brought_back(look: Look, workshop: Served) -> None:
    page = look(workshop, "/desk/new-paddock")
    typed(page, "Spare")
    page.get_by_role("button", name="Save the paddock").click()
    page.get_by_role("link", name="Shape and keep-outs").click()
    page.get_by_role("button", name="Put this paddock away").click()
    asked = page.get_by_role("dialog", name="Put Spare away?")
    expect(asked).to_contain_text("it can be brought back")
    assert violations(page) == []
    asked.get_by_role("button", name="Leave it").click()
    expect(asked).to_be_hidden()
    assert not saved(workshop, "Spare")["away"]
    page.get_by_role("button", name="Put this paddock away").click()
    asked.get_by_role("button", name="Put this paddock away").click()
    expect(page.get_by_text("Spare was put away.")).to_be_visible()
    assert saved(workshop, "Spare")["away"]
    page.get_by_role("status").get_by_role("button", name="Undo").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Spare")
    assert not saved(workshop, "Spare")["away"]


def test_a_dragged_corner_snaps_to_the_neighbour(look: Look, workshop: Served) -> None:
    beside = square("Beside", lon=-106.2400)
    assert workshop.ask("POST", "/api/paddocks", {"geojson": beside})[0] == 201
    made = square("Dragged", lon=-106.2358)  # 14 m east of where the other one ends
    id_ = json.loads(workshop.ask("POST", "/api/paddocks", {"geojson": made})[2])["id"]
    page = look(workshop, f"/desk/paddock/{id_}/shape")
    page.get_by_text("Corners by keyboard").click()
    expect(page.locator("#corner-0")).to_have_text("49.730000, -106.235800")
    x, y, scale = south_west(page)
    away = 0.0002 * METRE_LON * scale
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - away / 2, y + 30, steps=4)
    page.mouse.move(x - away + 4, y - 3, steps=6)
    page.mouse.up()
    expect(page.locator("#corner-0")).to_have_text("49.730000, -106.236000")
    page.get_by_role("link", name="Paddocks", exact=True).click()
    asked = page.get_by_role("dialog", name="Leave without saving?")
    asked.get_by_role("button", name="Leave it").click()
    expect(page.locator("#corner-0")).to_be_visible()
    page.get_by_role("link", name="Paddocks", exact=True).click()
    asked.get_by_role("button", name="Leave", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("Start here|Paddocks"))


#: Web Mercator's metres of a degree of longitude (the sphere's radius is 6,378,137 m).
METRE_LON = 111_319.49


def south_west(page: Page) -> tuple[float, float, float]:
    """Where the south-west corner of ``square`` lies on its map, and pixels a projected metre."""
    box = page.locator(".map").bounding_box()
    assert box is not None
    rim, edge, foot = 2, 28, 62
    room_x, room_y = box["width"] - 2 * rim - 2 * edge, box["height"] - 2 * rim - edge - foot
    wide = 0.004 * METRE_LON
    high = 0.0025 * METRE_LON / math.cos(math.radians(49.73125))
    scale = min(room_x / wide, room_y / high)
    middle_x, middle_y = box["x"] + rim + edge + room_x / 2, box["y"] + rim + edge + room_y / 2
    return middle_x - wide * scale / 2, middle_y + high * scale / 2, scale
