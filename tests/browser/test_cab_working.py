"""The working page on a phone whose home is gone: driven by a recorded track, tapped by touch."""

from __future__ import annotations

import json
from math import pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect

import fields
from browsing import too_small, too_wide, violations
from handset import until
from onboard import (
    EVENING_MS,
    MORNING_MS,
    NOW,
    SPEED_M_S,
    Onboard,
    entries,
    made,
    middle,
    passed,
    tap,
    track,
)

#: A thumb in a glove, CSS px; and the smallest text in the cab.
THUMB, TEXT = 114, 22
SIZES = {"small": (360, 640), "usual": (412, 915), "on its side": (640, 360)}


def sown_m2(page: Page) -> float:
    """By hand: each run from the front rank's place at first seed to the rear one's at the last."""
    taps = entries(page, "lever")
    rig = made().rig
    ranks = rig.tool.front_rank_m - rig.tool.rear_rank_m
    times = rig.times
    late = max(times.lower_s, times.meter_s + times.fill_s) - times.raise_s
    total = 0.0
    for down, up in zip(taps[::2], taps[1::2], strict=True):
        seconds = (up["t_ms"] - down["t_ms"]) / 1000 - late
        total += (seconds * SPEED_M_S - ranks) * rig.tool.width_m
    return total


TWO_RUNS = [(150, SPEED_M_S, 0.0), (15, SPEED_M_S, pi / 15), (130, SPEED_M_S, 0.0)]


def test_a_short_day_is_tapped_by_touch_and_kept_through_a_reload(phone: Onboard) -> None:
    # not quicker: a second of reloading on a busy machine is a gap of so many in the drive
    page = phone.drive(TWO_RUNS, faster=10)
    passed(page, 20)
    assert page.locator("#pad .word").inner_text() == "UP"
    tap(page)
    assert page.locator("#pad").get_attribute("aria-pressed") == "true"
    assert page.locator("#pad .word").inner_text() == "DOWN"
    until(page, "!document.querySelector('#pad').classList.contains('hollow')")
    passed(page, 80)
    before = page.evaluate(f"{NOW}.sown_ha")
    assert before > 0.05
    page.reload()
    until(page, f"{NOW} && {NOW}.sown_ha > 0")
    assert page.locator("#pad .word").inner_text() == "DOWN", "the state came back by itself"
    assert page.evaluate(f"{NOW}.sown_ha") > before - 0.01
    passed(page, 145)
    tap(page)
    passed(page, 175)
    tap(page)
    passed(page, 260)
    tap(page)
    until(page, "window.unsown.driving.get().unstored === 0")
    levers = entries(page, "lever")
    assert [row["lever"] for row in levers] == ["down", "up", "down", "up"]
    assert {row["how"] for row in levers} == {"pad"}
    passed(page, 268)
    assert page.evaluate(f"{NOW}.sown_ha") * 1e4 == pytest.approx(sown_m2(page), rel=0.03)
    shown = float(page.locator(".number").inner_text())
    assert shown == pytest.approx(sown_m2(page) / 1e4, abs=0.02)
    # what was sown on the way down and on the way back lies beside each other, not over
    assert page.evaluate("window.unsown.driving.get().live.grid.twice") * 0.25 < 0.1 * sown_m2(page)


def test_the_pad_acts_when_touched_and_not_again_within_its_rest(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    passed(page, 10)
    page.evaluate(
        """() => {
          const pad = document.querySelector('#pad');
          const touch = () => pad.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}));
          touch(); touch(); setTimeout(touch, 300);
        }"""
    )
    page.wait_for_timeout(600)
    assert [row["lever"] for row in entries(page, "lever")] == ["down"]
    page.wait_for_timeout(300)
    tap(page)
    page.wait_for_timeout(200)
    assert [row["lever"] for row in entries(page, "lever")] == ["down", "up"]


def test_oops_takes_the_last_lever_entry_back_and_its_ground_with_it(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    passed(page, 15)
    tap(page)
    passed(page, 60)
    assert page.evaluate(f"{NOW}.sown_ha") > 0.02
    tap(page, "[data-act=oops]")
    until(page, "window.unsown.cab.get().lever === 'up'")
    until(page, f"{NOW}.sown_ha === 0 && !window.unsown.driving.get().making")
    assert page.locator("#pad .word").inner_text() == "UP"
    (lever,) = entries(page, "lever")
    (undo,) = entries(page, "undo")
    assert undo["of"] == lever["seq"]


def test_when_a_press_should_have_been_is_asked_at_the_next_stop(phone: Onboard) -> None:
    page = phone.drive([(120, SPEED_M_S, 0.0), (200, 0.0, 0.0)])
    passed(page, 15)
    tap(page)
    passed(page, 60)
    tap(page)
    until(page, "window.unsown.driving.get().unstored === 0")
    page.wait_for_timeout(800)
    tap(page, "[data-act=oops]")
    until(page, "window.unsown.cab.get().lever === 'down'")
    assert page.locator("#questions").count() == 0, "nothing is asked while it moves"
    box = page.locator("#questions")
    expect(box).to_contain_text("You took UP back. When was it lifted?", timeout=20_000)
    assert violations(page) == []
    assert too_wide(page) == []
    expect(box.locator(".answers svg")).to_have_count(box.locator(".answers button").count())
    page.locator("[data-answer=before]").click()
    expect(box).to_contain_text("Answered: 10 s before I pressed.")
    until(page, "window.unsown.cab.get().lever === 'up'")
    down, pressed, told = entries(page, "lever")
    assert (told["lever"], told["how"]) == ("up", "afterwards")
    assert told["t_ms"] == pressed["t_ms"] - 10_000 > down["t_ms"]
    until(page, "!window.unsown.driving.get().making")
    rig = made().rig
    late = max(rig.times.lower_s, rig.times.meter_s + rig.times.fill_s) - rig.times.raise_s
    ranks = rig.tool.front_rank_m - rig.tool.rear_rank_m
    way_m = SPEED_M_S * ((told["t_ms"] - down["t_ms"]) / 1000 - late) - ranks
    sown = page.evaluate(f"{NOW}.sown_ha") * 1e4
    assert sown == pytest.approx(way_m * rig.tool.width_m, rel=0.03)
    page.get_by_role("button", name="Take the answer back").click()
    expect(box).to_contain_text("You took UP back.")
    until(page, "window.unsown.cab.get().lever === 'down'")


def test_mark_and_not_flowing_act_at_once_and_are_entries(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    passed(page, 15)
    tap(page)
    page.wait_for_timeout(800)
    tap(page, "[data-act=mark]")
    page.wait_for_timeout(800)
    tap(page, "[data-act=flow]")
    expect(page.locator("[data-act=flow]")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".urgent")).to_have_text("Not flowing")
    page.wait_for_timeout(800)
    tap(page, "[data-act=flow]")
    expect(page.locator("[data-act=flow]")).to_have_attribute("aria-pressed", "false")
    (mark,) = entries(page, "mark")
    assert mark["side"] == "here"
    assert abs(mark["lat_deg"] - 49.7) < 2
    assert [row["flow"] for row in entries(page, "flow")] == ["off", "on"]


def test_a_taught_button_does_what_the_pad_does_and_other_keys_do_not(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)], button="PageDown")
    passed(page, 10)
    page.keyboard.press("PageUp")
    page.keyboard.press("PageDown")
    until(page, "window.unsown.cab.get().lever === 'down'")
    page.wait_for_timeout(200)
    (lever,) = entries(page, "lever")
    assert lever["how"] == "button"


def test_a_write_that_fails_is_shown_and_the_rim_stays_hollow(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    passed(page, 10)
    page.evaluate(
        """() => {
          window.whole = IDBObjectStore.prototype.add;
          IDBObjectStore.prototype.add = () => {
            throw new DOMException('no room', 'QuotaExceededError');
          };
        }"""
    )
    tap(page)
    until(page, "document.querySelector('#pad').classList.contains('hollow')")
    until(page, "document.querySelector('.urgent').textContent === 'Not stored'")
    assert page.locator("#pad .word").inner_text() == "DOWN"
    assert [row["lever"] for row in entries(page, "lever")] == ["down"], "it is in the file"
    page.evaluate("() => { IDBObjectStore.prototype.add = window.whole }")
    until(page, "!document.querySelector('#pad').classList.contains('hollow')", 30)


def test_the_page_goes_dark_on_a_steady_run_and_the_pad_still_acts_at_once(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    passed(page, 10)
    tap(page)
    # the touch lights it for twenty seconds of the world
    until(page, "document.querySelector('.work').classList.contains('dim')", 40)
    assert page.locator(".ground").is_hidden()
    assert page.locator("#pad .word").is_visible()
    tap(page)
    assert page.evaluate("window.unsown.cab.get().lever") == "up"
    until(page, "!document.querySelector('.work').classList.contains('dim')")


def test_no_position_is_said_and_the_state_stays(phone: Onboard) -> None:
    page = phone.drive([(20, SPEED_M_S, 0.0)])
    passed(page, 12)
    tap(page)
    until(page, "document.querySelector('.urgent').textContent === 'No position'", 30)
    assert page.locator("#pad .word").inner_text() == "DOWN"


@pytest.mark.parametrize("night", [False, True])
def test_the_working_page_fits_every_screen_and_everybody(phone: Onboard, night: bool) -> None:
    start_ms = EVENING_MS if night else MORNING_MS
    page = phone.drive([(400, SPEED_M_S, 0.0)], SIZES["usual"], start_ms)
    passed(page, 10, start_ms)
    tap(page)
    light = "night" if night else "day"
    until(page, f"(document.documentElement.dataset.light || 'day') === '{light}'")
    for wide, high in SIZES.values():
        page.set_viewport_size({"width": wide, "height": high})
        page.wait_for_timeout(800)  # what flashed with the touch is over
        assert violations(page) == []
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
        assert too_little(page) == []
        assert page.evaluate("document.documentElement.scrollHeight") <= high
        box = page.locator("#pad").bounding_box()
        assert box is not None
        if wide < high:
            assert box["height"] >= high / 2 - 1
            assert box["y"] + box["height"] == pytest.approx(high, abs=1)


def test_whatever_page_is_open_gives_way_to_the_pad_when_the_wheels_turn(phone: Onboard) -> None:
    page = phone.drive([(10, SPEED_M_S, 0.0), (60, 0.0, 0.0), (200, SPEED_M_S, 0.0)], faster=15)
    until(page, "window.unsown.cab.get().page === 'standing'")
    page.get_by_role("button", name="Back", exact=True).click()
    page.get_by_role("button", name="Settings", exact=True).click()
    assert page.evaluate("window.unsown.cab.get().page") == "settings"
    until(page, "window.unsown.cab.get().page === 'work'")
    assert page.locator("#pad").is_visible()


COLOURS = """() => {
  const canvas = document.querySelector('.ground');
  const data = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  const found = {};
  for (let i = 0; i < data.length; i += 4) {
    const key = [0, 1, 2].map(k => data[i + k].toString(16).padStart(2, '0')).join('');
    found[key] = (found[key] || 0) + 1;
  }
  return found;
}"""


def shares(page: Page) -> dict[str, float]:
    """What part of the picture of the ground has each colour."""
    found: dict[str, int] = page.evaluate(COLOURS)
    return {colour: count / sum(found.values()) for colour, count in found.items()}


def test_doubt_is_drawn_as_dots_once_seed_has_stopped(phone: Onboard) -> None:
    page = phone.drive([(400, SPEED_M_S, 0.0)])
    tap(page)
    passed(page, 16)
    sown = shares(page).get("4f7fb5", 0)
    assert sown > 0.01, "the strip is drawn while it is sown"
    tap(page, "[data-act=flow]")
    until(page, "window.unsown.driving.get().live.doubt.covered > 50")
    for _ in range(10):  # the picture comes a few frames after the engine, more where others work
        page.wait_for_timeout(200)
        if (after := shares(page).get("4f7fb5", 0)) < 0.3 * sown:
            break
    assert after < 0.3 * sown


def test_what_home_knew_of_the_ground_lies_under_what_is_sown_now(
    phone: Onboard, tmp_path: Path
) -> None:
    plane = middle()

    def feature(state: str, box: tuple[float, float, float, float]) -> dict[str, Any]:
        x0, y0, x1, y1 = box
        x, y = [x0, x1, x1, x0, x0], [y0, y0, y1, y1, y0]
        lon, lat = plane.to_degrees(x, y)
        ring = np.c_[lon, lat].tolist()
        geometry = {"type": "Polygon", "coordinates": [ring]}
        return {"type": "Feature", "geometry": geometry, "properties": {"state": state}}

    # where it drives, east along y = 0: sown to the left, a part of it twice, doubt to the right
    ground = [
        feature("sown", (-90, 6, 90, 60)),
        feature("twice", (-90, 10, 90, 14)),
        feature("doubt", (-90, -40, 90, -6)),
    ]
    pack = fields.pack(made(), json.dumps({"type": "FeatureCollection", "features": ground}))
    file = tmp_path / "pack.json"
    file.write_text(json.dumps(pack), encoding="utf-8")
    page = phone.fresh()
    page.locator("[data-page=carry]").click()
    page.set_input_files("#file", file)
    expect(page.locator("#said")).to_contain_text("1 paddock")
    page = phone.drive(track(MORNING_MS, (100, 1.0, 0.0), at=(-50, 0, 0)), faster=2)
    page.wait_for_timeout(1_000)
    seen = shares(page)
    assert seen["4f7fb5"] > 0.1, "sown"
    assert 0.01 < seen["14233f"] < 0.5 * seen["4f7fb5"], "sown twice is not a hole in it"
    # dots of six pixels every twelve, on the ground's own colour
    assert 0.02 < seen["000000"] < 0.3


def too_little(page: Page) -> list[str]:
    """Texts that are smaller than can be read at arm's length."""
    found: list[str] = page.evaluate(
        """least => [...document.querySelectorAll('.work *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
          .filter(e => !e.closest('.spoken') && parseFloat(getComputedStyle(e).fontSize) < least)
          .map(e => e.outerHTML)""",
        TEXT,
    )
    return found
