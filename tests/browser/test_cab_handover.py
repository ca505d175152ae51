"""A second phone goes on from the first one's log, with no home and no signal, by one file."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

import farms
import keepers
import smallday
from browsing import too_small, too_wide, violations
from cabs import Cab
from handing import Entry, Phone, day, halves, phones
from handset import until

THUMB = 114


@pytest.fixture
def two(browser: Browser, tmp_path: Path) -> Iterator[tuple[Phone, Phone]]:
    with phones(browser, tmp_path) as pair:
        yield pair


def computed(folder: Path, logs: dict[str, list[Entry]], now_ms: int) -> dict[str, Any]:
    """What home makes of the logs of some phones."""
    with farms.computing(folder, clock=farms.Clock(now_ms)) as farm:
        id_ = farms.stocked(farm)
        for dev, entries in logs.items():
            farm.take_file(f"{dev}.jsonl", farms.body(entries))
        assert farm.finish(farms.WAIT_S)
        year = time.gmtime(now_ms / 1000).tm_year
        return farm.work(id_, year)


def test_a_second_phone_goes_on_offline_and_the_joined_day_is_that_of_one_phone(
    cab: Cab, two: tuple[Phone, Phone], tmp_path: Path
) -> None:
    first, second = two
    first.begin(cab)
    second.begin(cab)
    cab.go()
    for phone in two:
        phone.context.set_offline(True)
    morning, evening = halves(day())
    first.write(morning)
    first.to("standing", "over")
    expect(first.page.locator("#script")).to_contain_text("Small paddock. Sown 0.", timeout=40_000)
    expect(first.page.locator("#lines")).to_contain_text("openers stopped")
    first.page.locator("#pin").click()
    for sign in (1, 3, 3, 2):
        first.page.locator(f"[data-sign='{sign}']").click()
    expect(first.page.get_by_text("The other phone asks for four taps")).to_be_visible()
    file = first.hand_on()
    first.page.locator("#passed").click()
    expect(first.page.locator("#strip")).to_contain_text("Handed on")
    assert first.page.locator("[data-page=work]").count() == 0  # the pad is missing, not disabled

    second.to("take")
    second.page.set_input_files("#handover", file)
    expect(second.page.locator("#got")).to_contain_text("entries taken in, 0 known")
    expect(second.page.locator("#script")).to_contain_text("Small paddock. Sown 0.")
    expect(second.page.get_by_text("The tool was down.")).to_be_visible()
    second.page.get_by_label("Who drives now").fill("night")
    second.page.locator("#go-on").click()
    for sign in (1, 1, 1, 1):
        second.page.locator(f"[data-sign='{sign}']").click()
    expect(second.page.locator("#wrong")).to_contain_text("not the four taps")
    assert second.page.evaluate("() => window.unsown.cab.get().part") == "offered"
    for sign in (1, 3, 3, 2):
        second.page.locator(f"[data-sign='{sign}']").click()
    expect(second.page.locator("[data-page=work]")).to_be_visible()
    shift = [e for e in second.own() if e["kind"] == "shift"][-1]
    mine = first.own()
    assert (shift["driver"], shift["from_dev"]) == ("night", first.dev)
    assert shift["from_seq"] == mine[-1]["seq"]

    # the pad stands as it stood
    second.to("work")
    until(second.page, "!window.unsown.driving.get().making")
    expect(second.page.locator(".pad")).to_contain_text("DOWN")
    sown = second.page.evaluate("() => window.unsown.driving.get().now.sown_ha")
    assert sown > 0.5  # what the first phone sowed is on this one's ground

    # it stands where the first phone stood, and goes on from there
    now_ms = round(time.time() * 1000)
    stood = next(e for e in reversed(morning) if e["kind"] == "fix") | {"t_ms": now_ms + 1000}
    later = now_ms + 2000 - evening[0]["t_ms"]
    evening = [stood, *(e | {"t_ms": e["t_ms"] + later} for e in evening)]
    second.write(evening)
    second.page.reload()
    until(second.page, "window.unsown && window.unsown.cab.get().page")
    # still with no home, it counts both phones' ground as one day
    page = second.page
    page.evaluate("() => window.unsown.cab.set({standing: false})")
    page.evaluate("() => window.unsown.cab.set({standing: true})")  # it comes by itself
    second.to("gate")
    expect(page.locator("#foot")).to_contain_text("Bare 0.05", timeout=60_000)
    expect(page.locator("#total")).to_contain_text("Sown 0.91")
    now_ms = evening[-1]["t_ms"] + 60_000
    cab.come()
    for phone in two:
        phone.context.set_offline(False)
        dev = phone.dev
        mine = phone.own()
        for _ in range(400):
            if len(cab.held(dev)) >= len(mine):
                break
            phone.page.wait_for_timeout(50)
        assert {json.loads(line)["seq"] for line in cab.held(dev).values()} == {
            e["seq"] for e in mine
        }
    held = {phone.dev: [json.loads(line) for line in cab.held(phone.dev).values()] for phone in two}
    joined = computed(tmp_path / "two", held, now_ms)
    whole = [e | {"v": 1, "dev": "cab", "seq": n} for n, e in enumerate([*morning, *evening], 1)]
    one = computed(tmp_path / "one", {"cab": whole}, now_ms)
    assert len(joined["tally"]["patches"]) == len(one["tally"]["patches"]) == 1
    for name in ("sown_ha", "bare_ha", "doubt_ha", "twice_ha"):
        assert joined["tally"][name] == pytest.approx(one["tally"][name], abs=0.001), name
    missed = smallday.MISSED_M * smallday.TOOL_M / 1e4
    assert joined["tally"]["bare_ha"] == pytest.approx(missed, abs=0.003)


def test_two_keepers_at_once_are_noticed_and_said(cab: Cab, two: tuple[Phone, Phone]) -> None:
    first, second = two
    first.begin(cab)
    second.begin(cab)
    cab.go()
    entries = day()
    first.write(entries[:150])
    first.to("standing", "over")
    file = first.hand_on()
    first.page.locator("#passed").click()
    second.to("take")
    cut = first.folder / "cut.txt"
    cut.write_text(file.read_text(encoding="utf-8")[:40], encoding="utf-8")
    second.page.set_input_files("#handover", cut)
    expect(second.page.locator("#said")).to_contain_text("cut off")
    second.page.set_input_files("#handover", file)
    second.page.locator("#go-on").click()  # no taps were set
    expect(second.page.locator("[data-page=work]")).to_be_visible()
    second.write(entries[150:300])
    expect(second.page.locator("#also")).to_be_hidden()
    # the first driver takes it back and sows on, as if nothing had been handed over
    first.to("take")
    first.page.get_by_role("button", name="Take it back").click()
    until(first.page, "window.unsown.cab.get().part === 'keeper'")
    first.write([e | {"t_ms": e["t_ms"] + 300} for e in entries[150:300] if e["kind"] == "fix"])
    first.to("standing", "over")
    later = first.hand_on()
    second.to("carry")
    second.page.set_input_files("#file", later)
    expect(second.page.locator("#also")).to_contain_text(
        "another phone is the keeper", ignore_case=True
    )
    expect(second.page.locator("#also")).to_contain_text(first.dev)


def test_the_phone_stays_and_the_driver_changes_by_one_entry(
    cab: Cab, two: tuple[Phone, Phone]
) -> None:
    phone, _ = two
    phone.begin(cab)
    before = len(phone.lines())
    phone.to("standing", "over")
    phone.page.get_by_role("button", name="Change driver").click()
    expect(phone.page.locator("#said")).to_contain_text("A label is expected")
    phone.page.get_by_label("Who drives now").fill("night")
    phone.page.get_by_role("button", name="Change driver").click()
    expect(phone.page.locator("#said")).to_contain_text("Logged: night drives now.")
    added = [e for e in phone.lines()[before:] if e["kind"] != "phone"]
    assert [(e["kind"], e["driver"], e["shift"]) for e in added] == [("shift", "night", "start")]
    # the pages are for gloves, at arm's length, for everybody
    phone.page.locator("#pin").click()
    for width, height in ((360, 640), (412, 915), (915, 412)):
        phone.page.set_viewport_size({"width": width, "height": height})
        assert too_wide(phone.page) == []
        assert too_small(phone.page, THUMB) == []
    assert violations(phone.page) == []
    for sign in (2, 2, 4, 1):
        phone.page.locator(f"[data-sign='{sign}']").click()
    file = phone.hand_on()
    phone.page.locator("#passed").click()
    # its own file is no handover to it, and it may take the log back
    phone.to("take")
    phone.page.set_input_files("#handover", file)
    expect(phone.page.locator("#said")).to_contain_text("by this phone itself")
    assert violations(phone.page) == []
    phone.page.get_by_role("button", name="Take it back").click()
    expect(phone.page.locator("[data-page=work]")).to_be_visible()


def test_a_phone_that_only_looks_goes_on_with_the_keepers_four_taps_and_not_without(
    cab: Cab, two: tuple[Phone, Phone]
) -> None:
    keeper, rider = two
    keeper.begin(cab)
    rider.begin(cab, "rider")
    cab.go()
    keeper.write(day()[:120])
    keeper.to("standing", "over")
    keeper.page.locator("#pin").click()
    for sign in (4, 3, 2, 1):
        keeper.page.locator(f"[data-sign='{sign}']").click()
    file = keeper.hand_on()
    assert rider.page.locator("[data-page=work], [data-page=standing]").count() == 0
    before = rider.own()  # from before it was paired
    rider.to("carry")
    rider.page.set_input_files("#file", file)
    rider.page.locator("#go-on").click()
    for sign in (1, 2, 3, 4):
        rider.page.locator(f"[data-sign='{sign}']").click()
    expect(rider.page.locator("#wrong")).to_contain_text("not the four taps")
    # who does not go on from it is what he was, and can take it in again
    rider.page.locator("#leave").click()
    until(rider.page, "window.unsown.cab.get().part === 'rider'")
    assert rider.own() == before
    rider.page.set_input_files("#handover", file)
    rider.page.locator("#go-on").click()
    for sign in (4, 3, 2, 1):
        rider.page.locator(f"[data-sign='{sign}']").click()
    expect(rider.page.locator("[data-page=work]")).to_be_visible()
    rider.page.reload()
    until(rider.page, "window.unsown && window.unsown.cab.get().page")
    assert rider.page.evaluate("() => window.unsown.cab.get().part") == "keeper"
    assert [e["kind"] for e in rider.own()[len(before) :]][:2] == ["lever", "shift"]


SHARES = """() => {
  window.handed = [];
  window.thinks = 'better of it';
  navigator.canShare = () => true;
  navigator.share = async ({files}) => {
    if (window.thinks) throw new DOMException('', 'AbortError');
    window.handed.push([files[0].name, files[0].type, await files[0].text()]);
  };
}"""


def test_the_phones_own_sharing_takes_the_file_and_one_who_thinks_better_of_it_stays_keeper(
    cab: Cab, two: tuple[Phone, Phone]
) -> None:
    phone, _ = two
    phone.begin(cab)
    phone.page.evaluate(SHARES)
    phone.to("standing", "over")
    phone.page.locator("#hand").click()
    expect(phone.page.locator("#handed")).to_contain_text("This phone goes on.")
    assert phone.page.evaluate("() => window.unsown.cab.get().part") == "keeper"
    phone.page.evaluate("() => { window.thinks = '' }")
    phone.page.locator("#hand").click()
    expect(phone.page.locator("#passed")).to_be_visible()
    ((name, kind, text),) = phone.page.evaluate("() => window.handed")
    # what browsers let pages share is a list of kinds: a text is on it
    assert (name.endswith(".txt"), kind) == (True, "text/plain")
    assert json.loads(text.splitlines()[0])["handover"]["dev"] == phone.dev
    assert phone.page.evaluate("() => window.unsown.cab.get().part") == "keeper"
    phone.page.locator("#passed").click()
    expect(phone.page.locator("#strip")).to_contain_text("Handed on")
    phone.to("carry")
    phone.page.get_by_role("button", name="Hand the log on").click()
    until(phone.page, "window.handed.length === 2")
    assert phone.page.evaluate("() => window.handed[1][0]").endswith(".jsonl.txt")


def test_a_phone_hears_at_home_that_another_one_keeps_its_log_too(
    cab: Cab, two: tuple[Phone, Phone]
) -> None:
    phone, _ = two
    phone.begin(cab)
    by = farms.NOW_MS - 3_600_000 - keepers.T0

    def now(entries: list[Entry]) -> list[Entry]:
        return [{**entry, "t_ms": entry["t_ms"] + by} for entry in entries]

    phone.write(now(keepers.FIRST))
    handed = len(phone.own())
    phone.write(now(keepers.presses(20, 25, 30)))
    taken = [*keepers.taking(10, phone.dev, handed), *keepers.presses(15, 22, 35)]
    cab.farm.take_entries("night", 1, keepers.text("night", now(taken)))
    alarm = phone.page.locator("#also")
    for _ in range(2):  # what it brings is known to home the next time
        phone.page.evaluate("() => window.dispatchEvent(new Event('online'))")
        until(phone.page, "window.unsown.cab.get().sending.state === 'home'")
    expect(alarm).to_contain_text("Another phone is the keeper too: night", timeout=10_000)
    assert (violations(phone.page), too_wide(phone.page)) == ([], [])
