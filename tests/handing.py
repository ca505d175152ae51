"""Phones for tests of the phone's page: each a browser's storage of its own, and a day to log."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser

import farms
from cabs import Cab
from handset import until

EXPORT = "async () => (await window.unsown.cab.get().keeper.export()).text()"
APPEND = """async drafts => {
  const log = window.unsown.cab.get().keeper;
  const made = drafts.map(draft => log.append(draft));
  await log.flush();
  return Promise.all(made);
}"""
DEV = "() => window.unsown.cab.get().keeper.dev"
Entry = dict[str, Any]


class Phone:
    """One phone: a browser's storage of its own."""

    def __init__(self, browser: Browser, folder: Path) -> None:
        self.context = browser.new_context(
            viewport={"width": 412, "height": 915}, has_touch=True, accept_downloads=True
        )
        self.page = self.context.new_page()
        self.folder = folder
        self.said: list[str] = []
        self.page.on("pageerror", lambda e: self.said.append(str(e)))

    def begin(self, cab: Cab, may: str = "keeper") -> None:
        """Past first start, paired, everything on the phone."""
        page = self.page
        page.goto(cab.url)
        until(page, "window.unsown && window.unsown.cab.get().page")
        page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
        page.reload()
        until(page, "document.querySelector('#ready')?.textContent.startsWith('Ready')")
        self.pair(cab, may)
        page.get_by_role("button", name="Back").click()

    def pair(self, cab: Cab, may: str = "keeper") -> None:
        page = self.page
        page.locator("[data-page=carry]").click()
        page.get_by_role("button", name="Pair").first.click()
        page.get_by_label("Code").fill(cab.code(may))
        page.get_by_role("button", name="Pair", exact=True).click()
        until(page, "window.unsown.cab.get().home && window.unsown.cab.get().pack")

    @property
    def dev(self) -> str:
        return str(self.page.evaluate(DEV))

    def write(self, entries: list[Entry]) -> None:
        """Logs as the working page does; in parts, so that no one of them takes long."""
        for at in range(0, len(entries), 200):
            self.page.evaluate(APPEND, entries[at : at + 200])

    def lines(self) -> list[Entry]:
        return [json.loads(line) for line in self.page.evaluate(EXPORT).splitlines()]

    def own(self) -> list[Entry]:
        dev = self.dev
        return [e for e in self.lines() if e["dev"] == dev]

    def to(self, *names: str) -> None:
        for name in names:
            self.page.locator(f"[data-page={name}]").first.click()

    def hand_on(self) -> Path:
        """By file: the way there is where nothing shares."""
        with self.page.expect_download() as download:
            self.page.locator("#hand").click()
        path = self.folder / download.value.suggested_filename
        download.value.save_as(path)
        return path


@contextmanager
def phones(browser: Browser, folder: Path) -> Iterator[tuple[Phone, Phone]]:
    pair = Phone(browser, folder), Phone(browser, folder)
    try:
        yield pair
    finally:
        for phone in pair:
            phone.context.close()
    assert [phone.said for phone in pair] == [[], []]


def day(logged: list[Entry] | None = None) -> list[Entry]:
    """A day, the small one, ended just now, as drafts: without numbers and a writer."""
    made = farms.day() if logged is None else logged
    shift = round(time.time() * 1000) - 120_000 - made[-1]["t_ms"]
    return [
        {k: v for k, v in e.items() if k not in ("v", "dev", "seq")} | {"t_ms": e["t_ms"] + shift}
        for e in made
    ]


@contextmanager
def away(
    browser: Browser, cab: Cab, folder: Path, logged: list[Entry] | None = None
) -> Iterator[Phone]:
    """A phone on which a day was logged, out of reach of home; its last entry but one is of now."""
    with phones(browser, folder) as (one, _):
        one.begin(cab)
        cab.go()
        one.context.set_offline(True)
        entries = day(logged)
        one.write([*entries, {**entries[-2], "t_ms": round(time.time() * 1000)}])
        yield one


def halves(entries: list[Entry]) -> tuple[list[Entry], list[Entry]]:
    """Until the middle of the fifth run, and from there: the tool is down."""
    ups = [k for k, e in enumerate(entries) if e.get("lever") == "up"]
    at = ups[3] + 50
    return entries[:at], entries[at:]
