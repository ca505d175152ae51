"""Pages for what one does when one stands, each driven through as by somebody in gloves."""

from __future__ import annotations

import time
from math import pi
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Page, expect
from shapely.geometry import Polygon

from handset import until
from onboard import (
    NOW,
    Onboard,
    Piece,
    entries,
    made,
    middle,
    passed,
    press,
    said,
    tap,
    track,
)

HALT: Piece = (40, 0.0, 0.0)
DAY_MS = 86_400_000


def halted(phone: Onboard, *parts: Piece, faster: float = 20) -> Page:
    """Drives until it stands, by the clock on the wall; the standing page has come."""
    page = phone.drive(track(round(time.time() * 1000), *parts, HALT), start_ms=0, faster=faster)
    until(page, "window.unsown.cab.get().page === 'standing'", 40)
    return page


def later(page: Page, seconds: float) -> None:
    """The phone's clock is put on by so much, until the page is loaded again."""
    page.evaluate(
        "ms => { const now = Date.now; Date.now = () => now.call(Date) + ms }", seconds * 1000
    )


def test_a_pole_to_the_left_is_marked_where_it_stands_and_can_be_taken_out(phone: Onboard) -> None:
    page = halted(phone, (30, 2.0, 0.0))
    press(page, "Keep-out here")
    press(page, "Pole")
    expect(page.get_by_text("Keep at least 3 m (10 ft) from any line")).to_be_visible()
    press(page, "Left")
    press(page, "Away from the phone +")
    press(page, "Radius −")
    press(page, "Mark it")
    said(page, "Logged: Pole, 2 m round.")
    (mark,) = entries(page, "mark")
    assert (mark["what"], mark["side"], mark["distance_m"], mark["radius_m"]) == (
        *("pole", "left"),
        *(6, 2),
    )
    # six metres square to the left of where it stands, whatever way it came
    fix = entries(page, "fix")[-1]
    x, y = middle().to_xy([fix["lon_deg"], mark["lon_deg"]], [fix["lat_deg"], mark["lat_deg"]])
    assert_allclose(np.hypot(x[1] - x[0], y[1] - y[0]), 6, atol=0.1)
    assert_allclose(np.arctan2(y[1] - y[0], x[1] - x[0]), 0.4 + pi / 2, atol=0.1)
    press(page, "Take it out")
    said(page, "Logged: Take it out.")
    expect(page.get_by_text("Marked on this phone")).to_have_count(0)
    (undo,) = entries(page, "undo")
    assert undo["of"] == mark["seq"]


def test_what_was_marked_on_the_way_can_be_told_at_the_halt(phone: Onboard) -> None:
    now_ms = round(time.time() * 1000)
    page = phone.drive(track(now_ms, (40, 2.0, 0.0), HALT), faster=15)
    passed(page, 10, now_ms)
    tap(page, "[data-act=mark]")
    until(page, "window.unsown.cab.get().page === 'standing'", 40)
    (there,) = entries(page, "mark")
    press(page, "Keep-out here")
    press(page, "Hole")
    page.locator("[data-option^=pressed-]").click()
    press(page, "Mark it")
    said(page, "Logged: Hole, 3 m round.")
    hole = entries(page, "mark")[-1]
    assert (hole["what"], hole["note"]) == ("hole", "keep-out")
    assert abs(hole["lat_deg"] - there["lat_deg"]) < 1e-7
    assert abs(hole["lon_deg"] - there["lon_deg"]) < 1e-7


def test_a_wet_patch_has_a_date_and_is_left_out_of_the_count(phone: Onboard) -> None:
    page = halted(phone, (30, 2.0, 0.0))
    press(page, "Keep-out here")
    press(page, "Wet patch")
    for _ in range(3):
        press(page, "Wet patch −")
    for _ in range(27):
        press(page, "Radius +")
    press(page, "Mark it")
    said(page, "Logged: Wet patch, 30 m round.")
    (mark,) = entries(page, "mark")
    assert mark["until_ms"] == mark["t_ms"] + 11 * DAY_MS
    press(page, "Back")
    press(page, "Leave paddock")
    expect(page.locator("#total")).to_be_visible(timeout=40_000)
    net = float(page.locator("#total").inner_text().split("of ")[1].split("\u00a0")[0])
    area = made().paddock.area
    assert area is not None
    before = page.evaluate("() => window.unsown.cab.get().pack.paddocks[0].land.keep_outs.length")
    assert before >= 1, "the paddock has keep-outs of its own"
    # thirty metres round, less what lies in the paddock's own keep-outs
    assert 11.98 - net == pytest.approx(pi * 30**2 / 1e4, abs=0.03)


def test_a_loop_driven_round_a_thing_is_kept_out_as_it_was_driven(phone: Onboard) -> None:
    # the way to the thing is long enough for a slow page: the tool is down before the loop begins
    to_it: Piece = (120, 2.0, 0.0)
    page = phone.drive(
        track(round(time.time() * 1000), to_it, (62, 2.0, 2 * pi / 60), HALT), faster=20
    )
    tap(page)
    until(page, "window.unsown.cab.get().page === 'standing'", 40)
    press(page, "Keep-out here")
    press(page, "Loop I drove")
    expect(page.locator("[aria-label=Radius]")).to_have_count(0)
    press(page, "Mark it")
    said(page, "inside the loop.")
    (mark,) = entries(page, "mark")
    x, y = middle().to_xy(*np.array(mark["ring"]).T)
    # the tool's inner end ran 14 m round; half a metre of its strip stays for the line
    assert_allclose(Polygon(np.c_[x, y]).area, pi * 14.4**2, rtol=0.2)


def test_no_loop_and_no_position_are_said(phone: Onboard) -> None:
    page = phone.fresh()
    press(page, "Standing Fill, stop, peg, loose ends")
    press(page, "Keep-out here")
    press(page, "Mark it")
    said(page, "No position is known.")
    press(page, "Loop I drove")
    press(page, "Mark it")
    said(page, "No closed loop was found in the last half hour.")
    assert entries(page) == []


def test_a_first_lap_gives_the_boundary_and_what_is_bare_in_it(phone: Onboard) -> None:
    side: Piece = (50, 2.0, 0.0)
    corner: Piece = (7, 2.0, pi / 14)
    lap = [side, corner, side, corner, side, corner, side, corner, (12, 2.0, 0.0)]
    page = phone.drive(track(round(time.time() * 1000), *lap, HALT, at=(-40, -60, 0.1)), faster=40)
    tap(page)
    until(page, "window.unsown.cab.get().page === 'standing'", 40)
    press(page, "Boundary by lap")
    press(page, "From the tool's outer end to the fence +")
    press(page, "Work it out")
    expect(page.get_by_text("The first lap closes. Inside the fence:")).to_be_visible(
        timeout=40_000
    )
    ha = float(page.locator("#said .large").inner_text().split(": ")[1].split("\u00a0")[0])
    # sides of 100 m and two corners of 8.9 m, half a tool and a metre outside, sharp corners
    across = 100 + 2 * (7 * 2.0) / (pi / 2) + 2 * (8.4 / 2 + 1.0)
    assert ha == pytest.approx(across**2 / 1e4, rel=0.02)
    press(page, "Check what is bare in it")
    expect(page.locator("#total")).to_be_visible(timeout=40_000)
    expect(page.locator("#asof")).to_contain_text("The paddock is the first lap:")
    expect(page.locator("#total")).to_contain_text("Bare ")


def test_a_lap_that_does_not_close_says_so(phone: Onboard) -> None:
    page = phone.drive(track(round(time.time() * 1000), (60, 2.0, 0.0), HALT), faster=20)
    tap(page)
    until(page, "window.unsown.cab.get().page === 'standing'", 40)
    press(page, "Boundary by lap")
    press(page, "Work it out")
    expect(page.locator("#said .said")).to_contain_text("expected", timeout=40_000)


def test_a_wireless_button_is_learned_by_pressing_it_and_then_moves_the_lever(
    phone: Onboard,
) -> None:
    page = phone.fresh()
    press(page, "Settings")
    press(page, "Learn a button")
    expect(page.locator("#learned")).to_have_text("Press the button now.")
    page.keyboard.press("Tab")
    expect(page.locator("#learned")).to_contain_text("Tab moves about on the page")
    press(page, "Learn a button")
    page.keyboard.press("AudioVolumeUp")
    expect(page.locator("#learned")).to_contain_text("Learned: AudioVolumeUp")
    kept = page.evaluate("() => window.unsown.cab.get().keeper.recall('choices')")
    assert kept["button"] == "AudioVolumeUp"
    page = phone.drive([(100, 2.0, 0.0)], button="AudioVolumeUp")
    passed(page, 5)
    page.keyboard.press("AudioVolumeUp")
    until(page, "window.unsown.cab.get().lever === 'down'")
    (lever,) = entries(page, "lever")
    assert lever["how"] == "button"


def test_where_the_phone_sits_is_told_by_the_card_and_logged(phone: Onboard) -> None:
    page = phone.fresh()
    press(page, "Settings")
    place = made().rig.phone
    card = page.locator("[data-card=card]")
    expect(card).to_contain_text(f"phone {place.ahead_of_axle_m:.2f}\u00a0m ahead of the rear axle")
    assert card.locator("svg").count() == 1
    card.click()
    said(page, f"Logged: rig card {made().rig.name}.")
    (rig,) = entries(page, "rig")
    assert (rig["card"], rig["version"]) == (made().rig.name, 1)
    expect(card).to_have_attribute("aria-pressed", "true")


def test_a_fill_shift_and_stop_are_one_press_after_the_other(phone: Onboard) -> None:
    page = phone.fresh()
    press(page, "Standing Fill, stop, peg, loose ends")
    press(page, "Stop reason")
    press(page, "Breakdown")
    said(page, "Logged: Breakdown.")
    assert [e["reason"] for e in entries(page, "stop")] == ["breakdown"]


def test_what_is_stepped_up_and_down_stands_between_its_two_buttons_on_a_narrow_phone(
    phone: Onboard,
) -> None:
    page = phone.fresh((360, 640))
    press(page, "Standing Fill, stop, peg, loose ends")
    press(page, "Boundary by lap")
    names = (f"From the tool's outer end to the fence {sign}" for sign in "−+")
    less, more = (page.get_by_role("button", name=n, exact=True).bounding_box() for n in names)
    assert less is not None
    assert more is not None
    assert (less["y"], less["width"], more["width"]) == (more["y"], 114, 114)
    assert more["x"] - less["x"] > 200


def test_a_file_that_is_none_of_ours_is_named_with_what_to_do(
    phone: Onboard, tmp_path: Path
) -> None:
    page = phone.fresh()
    press(page, "Carry home")
    other = tmp_path / "monday.gpx"
    other.write_text("<gpx></gpx>", encoding="utf-8")
    page.set_input_files("#file", other)
    said(page, "monday.gpx: expected a farm pack or the log of another phone, but it is neither. ")
    said(page, "Tracks and boundaries are carried in at the desk.")


def test_a_peg_check_without_positions_logs_nothing(phone: Onboard) -> None:
    page = phone.fresh()
    press(page, "Standing Fill, stop, peg, loose ends")
    press(page, "Peg check")
    press(page, "Begin")
    said(page, "A peg needs a name")
    page.get_by_label("Name of the peg").fill("gate")
    press(page, "Begin")
    later(page, 13)
    said(page, "No positions are coming")
    assert entries(page) == []


def test_a_peg_is_checked_by_its_name_which_is_offered_the_next_time(phone: Onboard) -> None:
    page = halted(phone, (20, 2.0, 0.0), (2000, 0.0, 0.0))
    press(page, "Peg check")
    page.get_by_label("Name of the peg").fill("gate")
    press(page, "Begin")
    until(page, f"{NOW}.t_ms >= {page.evaluate(f'({NOW}).t_ms')} + 60_000")
    later(page, 30)
    said(page, "Logged: gate: mean of")
    (peg,) = entries(page, "peg")
    x, y = middle().to_xy([peg["lon_deg"]], [peg["lat_deg"]])
    now = page.evaluate(f"({NOW})")
    assert peg["n"] >= 5
    assert now["standing"]
    press(page, "Back")
    press(page, "Peg check")
    page.locator("[data-option=gate]").click()
    assert page.get_by_label("Name of the peg").input_value() == "gate"
    assert np.hypot(x[0], y[0] + 90) < 60
