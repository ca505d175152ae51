"""A phone in the cab for tests: installed once, home gone, then driven by recorded tracks."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from math import cos, pi, sin
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page, expect

import fields
from cabs import Cab
from handset import until
from unsown.core.plane import Plane
from unsown.sim import SimDay, day

#: Seeds that nothing is tuned on; only the paddock and the rig card of it are used.
DAY = {"seed": 341, "rig": "demo", "preset": "none", "area_ha": 12.0}
#: A track begins in the light, at ten in the morning there; and in the dark.
MORNING_MS, EVENING_MS = 1_778_774_400_000, 1_778_734_800_000
SPEED_M_S, FASTER = 2.083, 10
NOW = "window.unsown.driving.get().now"
EXPORT = "async () => (await window.unsown.cab.get().keeper.export()).text()"
#: Everything but what was installed: the log, and what pages remember of it.
_WIPE = """() => new Promise((done, failed) => {
  const ask = indexedDB.open('unsown');
  ask.onerror = () => failed(ask.error);
  ask.onsuccess = () => {
    const tx = ask.result.transaction(['tail', 'chunks', 'facts'], 'readwrite');
    tx.objectStore('tail').clear();
    tx.objectStore('chunks').clear();
    for (const key of ['dropped', 'acknowledged', 'page driving', 'page choices'])
      tx.objectStore('facts').delete(key);
    tx.oncomplete = () => { ask.result.close(); done(); };
    tx.onabort = () => failed(tx.error);
  };
})"""
#: What was put beside the page is driven instead of the phone's own positions. Unless told when it
#: began it begins when it is asked for: a busy machine may be long in loading the page.
REPLAY = """if (localStorage.told) window.unsownReplay =
  Object.defineProperty(JSON.parse(localStorage.told), 'begun_ms', {get() {
    localStorage.begun = localStorage.begun || String(Date.now() + 300);
    return Number(localStorage.begun);
  }})"""

Piece = tuple[float, float, float]


@cache
def made() -> SimDay:
    return day(**DAY)


def middle() -> Plane:
    """The plane round the middle of the paddock."""
    area = made().paddock.area
    assert area is not None
    west, south, east, north = area.bounds
    return Plane((south + north) / 2, (west + east) / 2)


def track(
    start_ms: int, *pieces: Piece, at: tuple[float, float, float] = (0.0, -90.0, 0.4)
) -> list[dict[str, Any]]:
    """One position a second of pieces of seconds, m/s and radians a second, from x, y, heading."""
    x, y, heading = at
    plane, t_s = middle(), 0
    out = []
    for seconds, speed, turn in pieces:
        for _ in range(round(seconds)):
            t_s += 1
            between = heading + turn / 2
            x, y, heading = x + speed * cos(between), y + speed * sin(between), heading + turn
            lon, lat = plane.to_degrees([x], [y])
            course = (90 - heading * 180 / pi) % 360
            where = {"lat_deg": float(lat[0]), "lon_deg": float(lon[0]), "acc_m": 3.0}
            moves = {"speed_m_s": speed, **({} if speed == 0 else {"course_deg": course})}
            out.append({"t_ms": start_ms + 1000 * t_s, **where, **moves})
    return out


class Onboard:
    """One installed phone; every drive begins with an empty log."""

    def __init__(self, page: Page, url: str) -> None:
        self.page, self.url = page, url

    def fresh(
        self, size: tuple[int, int] = (412, 915), log: Path | None = None, **choices: Any
    ) -> Page:
        """The first page with an empty log, or another phone's; nothing is driven."""
        page = self.page
        page.set_viewport_size({"width": size[0], "height": size[1]})
        # nothing may be logging while the log is cleared
        page.evaluate("() => { localStorage.clear() }")
        page.evaluate("() => window.unsown.cab.get().keeper.remember('driving', false)")
        page.reload()
        until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
        page.evaluate(_WIPE)
        page.evaluate("c => window.unsown.cab.get().keeper.remember('choices', c)", choices)
        page.reload()
        until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
        if log is not None:
            page.locator("[data-page=carry]").click()
            page.set_input_files("#file", log)
            expect(page.locator("#said")).to_contain_text("entries taken in")
            page.get_by_role("button", name="Back").click()
        return page

    def drive(
        self,
        pieces: Sequence[Piece] | list[dict[str, Any]],
        size: tuple[int, int] = (412, 915),
        start_ms: int = MORNING_MS,
        faster: float = FASTER,
        **choices: Any,
    ) -> Page:
        """Off it goes, on a track or its pieces."""
        ready = bool(pieces) and isinstance(pieces[0], dict)
        told = pieces if ready else track(start_ms, *pieces)  # type: ignore[arg-type]
        page = self.fresh(size, **choices)
        page.evaluate(
            "told => { localStorage.told = told }", json.dumps({"track": told, "speed": faster})
        )
        page.reload()
        until(page, "document.querySelector('[data-page=work]')")
        page.locator("[data-page=work]").click()
        until(page, f"{NOW} && {NOW}.known")
        return page


@contextmanager
def installed(
    browser: Browser, cab: Cab, folder: Path, pack: Path | None = None
) -> Iterator[Onboard]:
    """Installs the page, reads the cautions, takes in a farm pack; then home is gone."""
    context = browser.new_context(viewport={"width": 412, "height": 915}, has_touch=True)
    context.add_init_script(REPLAY)
    said: list[str] = []
    page = context.new_page()
    page.on("pageerror", lambda e: said.append(str(e)))
    page.goto(cab.url)
    until(page, "window.unsown && window.unsown.cab.get().page")
    page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    page.reload()
    until(page, "document.querySelector('#ready')?.textContent.startsWith('Ready')")
    page.locator("[data-page=carry]").click()
    page.set_input_files("#file", pack or fields.write(made(), folder, None)[0])
    expect(page.locator("#said")).to_contain_text("1 paddock")
    cab.go()
    yield Onboard(page, cab.url)
    context.close()
    assert not said, said


def tap(page: Page, selector: str = "#pad") -> None:
    """A finger in the middle of something, wherever the page is."""
    box = page.locator(selector).bounding_box()
    assert box is not None
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def press(page: Page, name: str) -> None:
    """A button by its whole name."""
    page.get_by_role("button", name=name, exact=True).click()


def said(page: Page, words: str) -> None:
    """The page answers in these words, or will soon."""
    expect(page.locator("#said")).to_contain_text(words)


def entries(page: Page, *kinds: str) -> list[dict[str, Any]]:
    """The log's entries of some kinds, or all but positions and what the phone says of itself."""
    rows = [json.loads(line) for line in page.evaluate(EXPORT).splitlines()]
    if kinds:
        return [row for row in rows if row["kind"] in kinds]
    return [row for row in rows if row["kind"] not in ("fix", "phone")]


def passed(page: Page, seconds: float, start_ms: int = MORNING_MS) -> None:
    """Waits until the track has come so far."""
    until(page, f"{NOW} && {NOW}.t_ms >= {start_ms + seconds * 1000}", 60)


def written(page: Page, rows: list[dict[str, Any]]) -> None:
    """Puts entries into the phone's own log."""
    page.evaluate(
        """async rows => {
          const log = window.unsown.cab.get().keeper;
          const made = rows.map(row => log.append(row));
          await log.flush();
          await Promise.all(made);
        }""",
        rows,
    )
