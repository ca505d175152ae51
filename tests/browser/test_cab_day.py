"""A whole day of the demo farm on a phone: installed, home gone, driven, killed, counted, home."""

from __future__ import annotations

import json
import time
import tomllib
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

import cabs
import farms
import smallday
from cabs import Cab
from gates import cards, counted
from handset import Handset, until
from onboard import MORNING_MS, SPEED_M_S, installed, tap, track
from onboard import entries as phone_entries
from unsown.demo import demo_day
from unsown.demo.write import paddock_text
from unsown.formats import log
from unsown.formats.rig import write_rig
from unsown.service.farm import Farm
from unsown.sim import SimDay

#: So many times faster than it was driven.
FASTER = 120
DRIVEN = "(Date.now() - window.unsownReplay.begun_ms) * window.unsownReplay.speed"
EXPORT = "async () => (await window.unsown.cab.get().keeper.export()).text()"
#: A finger that comes down on the pad where the driver moved the lever, if it is not so already.
TAPS = """taps => {
  const told = window.unsownReplay;
  const now = () => told.track[0].t_ms + (Date.now() - told.begun_ms) * told.speed;
  let next = 0, last = 0;
  while (next < taps.length && taps[next].t_ms <= now()) next += 1;
  setInterval(() => {
    const pad = document.querySelector('#pad');
    if (pad === null || next >= taps.length || taps[next].t_ms > now()) return;
    if (Date.now() - last < 65) return;  // the pad's rest, at this speed
    if (window.unsown.cab.get().lever !== taps[next].lever) {
      pad.dispatchEvent(new PointerEvent('pointerdown', {bubbles: true, cancelable: true}));
      last = Date.now();
    }
    next += 1;
  }, 5);
}"""


@cache
def made() -> SimDay:
    return demo_day(preset="typical", paddock="Bent Culvert")


def entries() -> list[dict[str, Any]]:
    """The day's log, in the farm's year."""
    lines = [json.loads(line) for line in log.write(made().log).splitlines()]
    later = smallday.START_MS - lines[0]["t_ms"]
    return [line | {"t_ms": line["t_ms"] + later} for line in lines]


def stocked(farm: Farm) -> str:
    """A farm with the day's paddock and rig card."""
    farm.save_rig(None, tomllib.loads(write_rig(made().rig)), None)
    return farm.save_paddock(None, json.loads(paddock_text(made().paddock, made().plane)), None).id


@pytest.fixture
def home(tmp_path: Path, trial: Path) -> Iterator[Cab]:
    with cabs.served(tmp_path / "farm", trial, stocked) as cab:
        yield cab


class Drive:
    """The day's track as the phone's positions; the tractor waits while the browser is dead."""

    def __init__(self, handset: Handset, url: str) -> None:
        self.handset, self.url = handset, url
        day = entries()
        self.track = [
            {k: v for k, v in e.items() if k not in ("v", "dev", "seq", "kind")}
            for e in day
            if e["kind"] == "fix"
        ]
        self.taps = [e for e in day if e["kind"] == "lever"]
        self.driven_ms = 0.0

    def start(self) -> Page:
        """Opens the browser, and the page with the rest of the track beside it."""
        return self.work(self.beside(self.handset.start()), self.url)

    def beside(self, page: Page) -> Page:
        """Puts the rest of the track beside whatever the page opens from now on."""
        page.context.add_init_script(
            f"window.unsownReplay = {json.dumps({'track': self.track, 'speed': FASTER})};"
            # it goes on when the page asks for it
            "Object.defineProperty(window.unsownReplay, 'begun_ms', {get() {"
            f" return this.begun = this.begun || Date.now() - {self.driven_ms / FASTER}; }}}});"
        )
        return page

    def work(self, page: Page, url: str | None = None) -> Page:
        """To the working page, and a finger for its pad."""
        page.goto(url) if url else page.reload()
        until(page, "window.unsown && window.unsown.cab.get().page")
        if page.locator("#pad").count() == 0:
            page.locator("[data-page=work]").first.click()
        page.evaluate(TAPS, self.taps)
        return page

    def until(self, share: float, page: Page) -> None:
        """Waits until so much of the day has gone by."""
        wanted = share * (self.track[-1]["t_ms"] - self.track[0]["t_ms"])
        until(page, f"{DRIVEN} >= {wanted}", 240)
        self.driven_ms = page.evaluate(f"() => {DRIVEN}")


def at_home(folder: Path, held: list[dict[str, Any]]) -> dict[str, Any]:
    """What home makes of the entries that it holds."""
    with farms.computing(folder) as farm:
        id_ = stocked(farm)
        farm.take_file("phone.jsonl", farms.body(held))
        assert farm.finish(farms.WAIT_S)
        return dict(farm.work(id_, farms.SEASON)["tally"])


def test_the_demo_day_is_driven_without_home_and_comes_home_as_the_phone_had_it(
    home: Cab, handset: Handset, tmp_path: Path
) -> None:
    page = handset.start(home.url)
    page.get_by_role("button", name="I have read this").click()
    page.get_by_role("button", name="Ask the browser").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Code").fill(home.code())
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "window.unsown.cab.get().home && window.unsown.cab.get().pack")
    until(page, "document.querySelector('#ready')?.textContent.startsWith('Ready')")
    handset.kill()
    home.go()
    drive = Drive(handset, home.url)
    page = drive.start()
    drive.until(0.3, page)
    drive.work(drive.beside(page))
    drive.until(0.6, page)
    handset.kill()
    page = drive.start()
    drive.until(1.0, page)
    handset.kill()

    page = drive.start()
    # in the shed there is no position: the driver says that he stands
    expect(page.locator("[data-act=stands]")).to_be_visible(timeout=90_000)
    log_ = [json.loads(line) for line in page.evaluate(EXPORT).splitlines()]
    driven = [e for e in log_ if e["kind"] == "fix"]
    assert len(driven) > 0.97 * len(drive.track)
    assert sum(e["kind"] == "lever" for e in log_) > 0.9 * len(drive.taps)
    page.locator("[data-act=stands]").click()
    counted(page)
    shown = cards(page)
    words = page.locator("#total").inner_text().replace("\u00a0", " ")

    home.come()
    dev = str(log_[0]["dev"])
    mine = [json.loads(line) for line in page.evaluate(EXPORT).splitlines()]
    for _ in range(600):
        if len(home.held(dev)) >= len(mine):
            break
        page.wait_for_timeout(100)
    held = [json.loads(line) for line in home.held(dev).values()]
    assert {e["seq"] for e in held} >= {e["seq"] for e in mine}
    tally = at_home(tmp_path / "again", held)
    patches = tally["patches"]
    assert len(shown) == len(patches) > 3
    left = list(shown)
    for patch in patches:
        near = [
            c for c in left if abs(c["m2"] - patch["area_m2"]) <= max(0.02 * patch["area_m2"], 3.0)
        ]
        assert near, (patch, left)
        left.remove(near[0])
    bare = float(words.split("Bare ")[1].split(" ")[0])
    assert bare == pytest.approx(tally["bare_ha"], abs=0.005 * made().truth.net_m2 / 1e4)


def by_its_own_positions(browser: Browser, cab: Cab, folder: Path, seconds: int) -> None:
    """Sows straight on by what the browser itself gives, a position a second."""
    with installed(browser, cab, folder) as phone:
        page = phone.fresh()
        phone.page.context.grant_permissions(["geolocation"])
        walk = track(MORNING_MS, (seconds, SPEED_M_S, 0.0))
        page.locator("[data-page=work]").click()
        begun = time.monotonic()
        for k, at in enumerate(walk):
            page.wait_for_timeout(max(0.0, 1000 * (begun + k - time.monotonic())))
            page.context.set_geolocation(
                {"latitude": at["lat_deg"], "longitude": at["lon_deg"], "accuracy": 3.0}
            )
            if k in (4, seconds - 5):
                until(page, "window.unsown.driving.get().now")
                tap(page)
        got = phone_entries(page, "fix")
        assert len(got) >= 0.9 * seconds, len(got)
        steps = [b["t_ms"] - a["t_ms"] for a, b in pairwise(got)]
        assert sorted(steps)[len(steps) // 2] == pytest.approx(1000, abs=200)
        assert [e["lever"] for e in phone_entries(page, "lever")] == ["down", "up"]
        if seconds > 60:  # until then the hoses fill
            until(page, "window.unsown.driving.get().now.sown_ha > 0", 5)


def test_the_browsers_own_positions_are_logged_each_second(
    browser: Browser, cab: Cab, tmp_path: Path
) -> None:
    by_its_own_positions(browser, cab, tmp_path, 20)


@pytest.mark.soak
def test_the_browsers_own_positions_are_logged_each_second_for_three_minutes(
    browser: Browser, cab: Cab, tmp_path: Path
) -> None:
    by_its_own_positions(browser, cab, tmp_path, 180)
