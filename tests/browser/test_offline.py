"""The phone's page without home: kept whole, started cold, changed only when asked."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from pathlib import Path

from playwright.sync_api import Page, Route

from cabs import Cab, served
from handset import Handset, until

READY = "document.querySelector('#ready')?.textContent.startsWith('Ready without signal')"
STATE = (
    "() => JSON.parse(JSON.stringify(window.unsown.cab.get(), (k, v) => k === 'keeper' ? 0 : v))"
)


def first_start(page: Page) -> None:
    """Through first start as a new driver goes, without pairing."""
    page.get_by_role("button", name="I have read this").click()
    page.get_by_role("button", name="Ask the browser").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Later").click()
    until(page, READY)
    page.get_by_role("button", name="Go on").click()


def changed(static: Path, into: Path, *, broken: bool = False) -> None:
    """Builds on what is there: another title, and the service worker that goes with it."""
    shutil.copytree(static, into, dirs_exist_ok=True)
    page, worker = into / "cab" / "index.html", into / "cab" / "sw.js"
    was = hashlib.sha256(page.read_bytes()).hexdigest()
    page.write_text(page.read_text().replace("<title>Unsown<", "<title>Unsown <"), "utf-8")
    now = hashlib.sha256(page.read_bytes()).hexdigest()
    text = worker.read_text()
    version = re.search(r"version:[`\"']([0-9a-f]{12})", text)
    assert version is not None
    assert was in text
    worker.write_text(
        text.replace(was, "0" * 64 if broken else now).replace(version[1], "f" * 12), "utf-8"
    )


def test_it_starts_cold_with_the_service_gone_and_asks_no_caution_twice(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url)
    first_start(page)
    handset.kill()
    cab.go()
    page = handset.start(cab.url + "?from=homescreen")
    until(page, READY)
    assert page.evaluate("() => window.unsown.cab.get().page") == "start"
    assert page.evaluate("() => window.unsown.cab.get().writes") is True
    said = page.evaluate("async () => (await window.unsown.cab.get().keeper.export()).text()")
    kinds = [
        (e["kind"], e.get("what") or e.get("prompt")) for e in map(json.loads, said.splitlines())
    ]
    assert kinds[:2] == [("phone", "start"), ("say", "cautions read")]
    assert kinds.count(("phone", "start")) == 2


def test_every_file_is_held_against_its_hash_before_it_says_ready(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url)
    first_start(page)
    spoil = """async () => {
      const name = (await caches.keys()).find(each => /^cab [0-9a-f]{12}$/.test(each));
      await (await caches.open(name)).put('/cab/icon.svg', new Response('spoilt'));
    }"""
    page.evaluate(spoil)
    page.reload()
    until(page, "document.querySelector('#ready')?.textContent.startsWith('Not ready: 1 file')")
    assert page.evaluate(STATE)["ready"] == {
        "state": "not", "why": "missing", "missing": ["/cab/icon.svg"],
    }  # fmt: skip


def test_a_page_that_cannot_be_fetched_whole_is_not_kept_and_does_not_say_ready(
    handset: Handset, trial: Path, tmp_path: Path
) -> None:
    static = tmp_path / "static"
    shutil.copytree(trial, static)
    (static / "cab" / "icon-512.png").write_bytes(b"another picture")
    with served(tmp_path / "farm", static) as cab:
        page = handset.start(cab.url)
        until(page, "window.unsown.cab.get().ready.state === 'not'")
        assert page.evaluate("() => caches.keys()") == []


def test_a_newer_version_waits_until_asked_and_never_comes_while_the_tool_is_down(
    handset: Handset, trial: Path, tmp_path: Path
) -> None:
    static = tmp_path / "static"
    shutil.copytree(trial, static)
    with served(tmp_path / "farm", static) as cab:
        page = handset.start(cab.url)
        first_start(page)
        before = page.evaluate(STATE)["ready"]["version"]
        changed(trial, static)
        page.evaluate(
            "() => navigator.serviceWorker.getRegistration('/cab/').then(r => r.update())"
        )
        until(page, "window.unsown.cab.get().newer")
        page.evaluate("() => window.unsown.cab.set({lever: 'down'})")
        take = page.get_by_role("button", name="Change to it")
        assert take.count() == 0
        assert "changed when the tool is up" in page.inner_text("main")
        # not even a phone that dies and begins anew changes by itself; Chromium writes down which
        # caches there are some five seconds late, and one that dies before that fetches them anew
        page.wait_for_timeout(7_000)
        handset.kill()
        page = handset.start(cab.url)
        until(page, READY)
        assert page.title() == "Unsown"
        assert page.evaluate(STATE)["ready"]["version"] == before
        until(page, "window.unsown.cab.get().newer")
        page.get_by_role("button", name="Change to it").click()
        until(page, "window.unsown && window.unsown.cab.get().ready.version === 'ffffffffffff'")
        assert page.evaluate(STATE)["newer"] is False
        assert page.evaluate("() => caches.keys()") == ["cab choice", "cab ffffffffffff"]
        cab.go()
        page.reload()
        until(page, READY)


def test_a_broken_newer_version_leaves_the_one_that_runs(
    handset: Handset, trial: Path, tmp_path: Path
) -> None:
    static = tmp_path / "static"
    shutil.copytree(trial, static)
    with served(tmp_path / "farm", static) as cab:
        page = handset.start(cab.url)
        first_start(page)
        before = page.evaluate(STATE)["ready"]["version"]
        changed(trial, static, broken=True)
        page.evaluate(
            "() => navigator.serviceWorker.getRegistration('/cab/')"
            ".then(r => r.update()).catch(() => 0)"
        )
        page.wait_for_timeout(1_000)
        cab.go()
        page.reload()
        until(page, READY)
        state = page.evaluate(STATE)
        assert (state["ready"]["version"], state["newer"]) == (before, False)


def test_the_page_that_came_over_an_open_connection_says_that_it_cannot_log_and_why(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start()

    def pass_on(route: Route) -> None:
        # a name that leads here without TLS, as where nothing redirects
        path = route.request.url.replace("http://farm.test", f"http://localhost:{cab.port}")
        route.fulfill(response=route.fetch(url=path))

    page.context.route("http://farm.test/**", pass_on)
    page.goto("http://farm.test/cab/?x=1")
    until(page, "document.querySelector('h1')")
    assert page.inner_text("h1") == "This page cannot log"
    assert "no position" in page.inner_text("main")
    assert page.get_by_role("link").get_attribute("href") == "/trust"
    assert page.evaluate("() => window.unsown") is None
    assert page.evaluate("async () => (await indexedDB.databases()).length") == 0
    page.context.unroute_all(behavior="ignoreErrors")  # what is still on its way has nobody to tell


def test_a_browser_finds_nothing_missing_to_install_it(cab: Cab, handset: Handset) -> None:
    page = handset.start(cab.url)
    first_start(page)
    session = page.context.new_cdp_session(page)
    assert session.send("Page.getInstallabilityErrors")["installabilityErrors"] == []
    manifest = json.loads(session.send("Page.getAppManifest")["data"])
    assert (manifest["id"], manifest["scope"], manifest["display"]) == (
        "/cab/", "/cab/", "standalone",
    )  # fmt: skip
    sizes = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    assert sizes == {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")}
    for icon in manifest["icons"]:
        width = page.evaluate(
            "src => new Promise(d => {const i = new Image(); i.onload = () => d(i.width);"
            " i.src = src})", icon["src"],
        )  # fmt: skip
        assert icon["sizes"].startswith(str(width))
