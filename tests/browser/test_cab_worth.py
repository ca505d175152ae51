"""What a patch is worth, the way back and the bins, on a phone with no signal."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

import farms
import smallday
from browsing import plain, too_small, too_wide, violations
from cabs import Cab
from gates import LEAST, THUMB, in_sight
from handing import Phone, away
from handset import until
from onboard import NOW, REPLAY
from unsown.core.back import Back, back, gate_of
from unsown.core.day import find
from unsown.core.price import EXAMPLE
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig
from unsown.formats.track import join, read_track


@cache
def home() -> Back:
    """The small day's way back as home reckons it, with the prices of the invented farm."""
    log = join([read_track(farms.body(farms.day()), "day")])
    rig = read_rig(smallday.CARD.encode(), "r")
    fence = read_paddock(json.dumps(farms.paddock()).encode(), "p")
    tally, plane = find(log, fence, [rig])
    x, y = plane.to_xy(log.fixes.lon_deg, log.fixes.lat_deg)
    return back(tally, [rig], EXAMPLE, gate_of(tally.ground.net, x, y), 56 * 60.0)


@pytest.fixture
def phone(browser: Browser, cab: Cab, tmp_path: Path) -> Iterator[Phone]:
    """A phone on which the small day was logged, out of reach of home."""
    with away(browser, cab, tmp_path) as one:
        yield one


def counted(page: Page) -> None:
    page.locator("[data-page=gate]").first.click()
    expect(page.locator("#foot")).to_be_visible(timeout=60_000)


def test_the_gate_check_weighs_the_patch_as_home_does_and_says_the_way(phone: Phone) -> None:
    page = phone.page
    w = home().now
    assert w is not None
    (group,) = w.groups
    counted(page)
    expect(page.locator(".card .label")).to_have_text("Worth it")
    said = plain(page, ".card .money")
    money = [float(part.strip(",")) for part in said.split() if part.strip(",").isdigit()]
    assert money[:2] == pytest.approx([group.value, group.cost], abs=1.5), said
    assert f"{group.seconds / 60:.0f} min" in said
    way = plain(page, "#way")
    assert way.startswith("1. Patch 1: ")
    assert f"in {len(w.stops)} runs" in way
    assert "Then the gate. About " in way
    assert page.locator("path.g-way").count() >= 2 * len(w.stops)
    # the room is too narrow for its turns: said, not hidden
    assert w.route.blocked
    expect(page.get_by_text("No way round was found for part of it")).to_be_visible()
    foot = plain(page, "#foot")
    assert foot.startswith("Bare 0.05 ha · worth it 0.05 ha · ")
    assert foot.endswith(" min · Gate")
    expect(page.locator("#examples")).to_contain_text("invented farm")
    expect(page.locator("#caution")).to_be_in_viewport()
    assert violations(page) == []
    expect(page.locator(".button.first")).to_have_text("GoPatch 1")
    for width, height in LEAST.values():
        page.set_viewport_size({"width": width, "height": height})
        assert in_sight(page, "[data-decision=go]"), (width, height)
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
    page.locator("[data-decision=go]").click()
    told: list[dict[str, Any]] = [e for e in phone.own() if e.get("about") == "patch"]
    assert [e["answer"] for e in told] == ["go"]


def test_go_shows_how_to_drive_up_while_it_stands_and_one_short_line_on_the_way(
    phone: Phone,
) -> None:
    page = phone.page
    now_ms, (lon, lat) = round(time.time() * 1000), smallday.ring()[0]
    still = {"lat_deg": lat + 1e-4, "lon_deg": lon + 1e-4, "acc_m": 3.0, "speed_m_s": 0.0}
    fixes: list[dict[str, Any]] = [{"t_ms": now_ms + 1000 * s, **still} for s in range(1, 600)]
    for s, fix in enumerate(fixes[400:]):
        fix |= {"lon_deg": still["lon_deg"] + s * 2e-5, "speed_m_s": 1.45, "course_deg": 90.0}
    page.add_init_script(REPLAY)
    page.evaluate(
        "told => { localStorage.told = told; localStorage.begun = String(Date.now() + 300) }",
        json.dumps({"track": fixes, "speed": 10}),
    )
    page.reload()
    page.locator("[data-page=work]").click()
    until(page, f"{NOW} && {NOW}.stood_s > 6")
    counted(page)
    enter = plain(page, ".card .enter")
    assert enter.startswith("Enter from the ")
    page.locator("[data-decision=go]").click()
    line = page.locator(".urgent")
    expect(line).to_contain_text("Patch 1: ")
    assert enter in plain(page, ".urgent")
    for size in ((360, 640), (412, 915), (915, 412)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert too_wide(page) == []
        assert violations(page) == []
    until(page, f"{NOW}.stood_s === 0", 60)
    side, rest = enter.removeprefix("Enter from ").rstrip(".").split(", ")
    expect(line).to_have_text(f"1 from {side}, {rest.split(' in ')[0]}")


def test_other_prices_make_other_labels_and_are_told_apart_from_examples(phone: Phone) -> None:
    page = phone.page
    phone.to("prices")
    for size in ((360, 640), (915, 412), (412, 915)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
    assert violations(page) == []
    assert page.get_by_text("example: not set").count() == 11
    page.get_by_label("Tractor and driver").fill("ten")
    page.get_by_role("button", name="Keep these prices").click()
    expect(page.locator("#said")).to_contain_text("Tractor and driver: a number from nought up")
    page.get_by_label("Tractor and driver").fill("1200")
    page.get_by_role("button", name="Keep these prices").click()
    expect(page.get_by_text("set on this phone")).to_have_count(1)
    page.get_by_role("button", name="Back").click()
    counted(page)
    expect(page.locator(".card .label")).to_have_text("Leave")
    assert plain(page, "#foot").endswith("nothing is worth the way · Gate")


def test_a_fill_by_large_steps_is_an_entry_and_the_balance_runs_on_from_it(phone: Phone) -> None:
    page = phone.page
    phone.to("prices")
    page.get_by_label("Seed, kg/ha").fill("120")
    page.get_by_role("button", name="Keep these prices").click()
    page.get_by_role("button", name="Back").click()
    phone.to("standing", "fill")
    expect(page.locator("#aboard")).to_contain_text("No fill is logged yet")
    page.locator("#log-fill").click()
    expect(page.locator("#said")).to_contain_text("Nothing was filled in yet")
    page.locator("[data-option=bag]").click()
    page.locator("[data-by=more]").click()
    page.locator("[data-by=more]").click()
    expect(page.locator("#amount")).to_have_text("2 bags, 1,000 kg")
    page.locator("[data-option=middle]").click()
    page.locator("[data-by=less]").click()
    page.locator("[data-option=left]").click()
    page.get_by_role("button", name="Was left in it +").click()
    for size in ((360, 640), (915, 412), (412, 915)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
    assert violations(page) == []
    page.locator("#log-fill").click()
    expect(page.locator("#said")).to_contain_text("Logged: 950 kg seed.")
    (filled,) = [e for e in phone.own() if e["kind"] == "fill"]
    assert (filled["product"], filled["kg"], filled["left"]) == ("seed", 950, 50)
    # 50 and 950 kg at 120 kg/ha: nothing was sown since
    expect(page.locator("[data-bin=seed]")).to_have_attribute("data-kg", "1000", timeout=60_000)
    expect(page.locator("[data-bin=seed]")).to_contain_text("Lasts nine times in ten for")
    page.locator("#ran-out").click()
    expect(page.locator("#band")).to_contain_text("cannot tell since when")
    page.get_by_role("button", name="Back").first.click()
    assert [e for e in phone.own() if e["kind"] == "flow"] == []


def test_seed_that_ran_out_behind_is_doubt_within_the_band_and_bare_after_it(phone: Phone) -> None:
    page = phone.page
    phone.to("prices")
    page.get_by_label("Seed, kg/ha").fill("1000")
    page.get_by_role("button", name="Keep these prices").click()
    page.get_by_role("button", name="Back").click()
    begun = next(e for e in phone.own() if e["kind"] == "fix")["t_ms"]
    phone.write([{"kind": "fill", "t_ms": begun, "product": "seed", "kg": 500}])
    phone.to("standing", "fill")
    expect(page.locator("[data-bin=seed]")).to_contain_text("Seed may be out.", timeout=60_000)
    page.locator("#ran-out").click()
    expect(page.locator("#band")).to_contain_text("it ran out between")
    page.locator("#ran-out-sure").click()
    expect(page.locator("#said")).to_contain_text("ran out behind")
    (off,) = [e for e in phone.own() if e["kind"] == "flow"]
    assert off["flow"] == "off"
    # half of the paddock's hectare was sown when 500 kg at 1000 kg/ha had gone
    runs_s = (off["since_ms"] - begun) / 1000
    assert 250 < runs_s < 500
    page.get_by_role("button", name="Back").last.click()
    page.get_by_role("button", name="Back").last.click()
    counted(page)
    bare = float(plain(page, "#foot").split("Bare ")[1].split(" ")[0])
    assert bare > 0.3
    expect(page.locator("#total")).to_contain_text("Not known 0.")


def test_every_rate_test_shows_its_formula_with_the_numbers_in_it(phone: Phone) -> None:
    page = phone.page
    phone.to("rates")
    fill = {"turns": "20", "wheel_m": "2", "width_m": "12", "first": "5.5", "second": "5.6"}
    for name, value in fill.items():
        page.locator(f"#tray-{name}").fill(value)
    page.locator("#tray-third").fill("5,7")
    # 20 turns x 2.00 m x 12 m = 480 m²; 5.6 kg on it are 116.7 kg/ha, spread 0.1 of 5.6
    answer = plain(page, "#tray-answer")
    assert "20 turns × 2 m × 12 m ÷ 10 000 = 0.048 ha" in answer
    assert "5.6 kg ÷ 0.048 ha = 117 kg/ha" in answer
    assert "differ by 1.8 %." in answer
    page.locator("#tray-third").fill("7")
    expect(page.locator("#tray-answer")).to_contain_text("catch again")
    page.locator("#tray-third").fill("5.7")
    page.locator("#field-turns").fill("48")
    expect(page.locator("#field-answer")).to_contain_text("× 48 × 2 m ÷ 100 m = 112 kg/ha")
    page.locator("#field-answer").get_by_role("button", name="seed rate").click()
    expect(page.locator("#said")).to_contain_text("112 kg/ha is kept on this phone")
    # Agriland (Ireland), seeding rate: 300 plants of 51.9 g at 0.85 are 183 kg/ha
    for name, value in {"plants": "300", "seed_g": "51.9", "germination": "85"}.items():
        page.locator(f"#plants-{name}").fill(value)
    expect(page.locator("#plants-answer")).to_contain_text("expected in every box")
    page.locator("#plants-establishment").fill("100")
    expect(page.locator("#plants-answer")).to_contain_text("÷ 0.85 ÷ 100 = 183 kg/ha")
    for name, value in {"plants": "9", "row_m": "1", "spacing_cm": "18"}.items():
        page.locator(f"#count-{name}").fill(value)
    expect(page.locator("#count-answer")).to_contain_text("9 ÷ 1 m ÷ 0.18 m = 50 plants/m²")
    for size in ((360, 640), (915, 412), (412, 915)):
        page.set_viewport_size({"width": size[0], "height": size[1]})
        assert too_wide(page) == []
        assert too_small(page, THUMB) == []
    assert violations(page) == []
    page.get_by_role("button", name="Back").click()
    phone.to("prices")
    expect(page.get_by_label("Seed, kg/ha")).to_have_value("112")


def test_what_runs_out_first_is_said_while_driving(phone: Phone) -> None:
    page = phone.page
    phone.to("prices")
    page.get_by_label("Fertiliser, kg/ha").fill("105")
    page.get_by_role("button", name="Keep these prices").click()
    page.get_by_role("button", name="Back").click()
    begun = next(e for e in phone.own() if e["kind"] == "fix")["t_ms"]
    # 0.91 ha of runs of 200 m took 96 kg: 94 are left, read to 40, for 0.9 ha and rounds of 0.32
    phone.write([{"kind": "fill", "t_ms": begun, "product": "fertiliser", "kg": 190}])
    phone.context.grant_permissions(["geolocation"])
    phone.to("work")
    for step in range(40):
        place = {"latitude": 49.7301, "longitude": -106.2095 + step * 3e-5, "accuracy": 2}
        phone.context.set_geolocation(place)
        page.wait_for_timeout(500)
        if "round" in page.locator(".urgent").inner_text():
            break
    expect(page.locator(".urgent")).to_have_text("1 round of fertiliser")
