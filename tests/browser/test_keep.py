"""What the phone's log does in a real browser when something is in its way."""

from __future__ import annotations

import json
from typing import Any

from playwright.sync_api import Page

from cabs import Cab
from handset import Handset, until

WRITES = "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().writes"
LEVER = """async state => window.unsown.cab.get().keeper
  .append({kind: 'lever', t_ms: Date.now(), lever: state, how: 'pad'})
  .then(seq => 'stored ' + seq, error => 'failed ' + error.why.code)"""
EXPORT = "async () => (await window.unsown.cab.get().keeper.export()).text()"


def opened(page: Page, url: str) -> Page:
    page.goto(url)
    until(page, "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().page")
    return page


def lines(page: Page) -> list[dict[str, Any]]:
    return [json.loads(line) for line in page.evaluate(EXPORT).splitlines()]


def told(page: Page) -> list[str]:
    return [entry["what"] for entry in lines(page) if entry["kind"] == "phone"]


def test_of_two_tabs_one_writes_and_the_other_goes_on_when_it_is_closed(
    cab: Cab, handset: Handset
) -> None:
    first = opened(handset.start(), cab.url)
    assert first.evaluate(LEVER, "down") == "stored 2"
    first.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    second = opened(first.context.new_page(), cab.url)
    assert second.evaluate(LEVER, "up") == "failed read-only"
    assert "Another tab keeps the log" in second.inner_text("main")
    assert [entry["kind"] for entry in lines(second)] == ["phone", "lever"]
    first.close()
    until(second, WRITES)
    until(second, "!document.querySelector('main').innerText.includes('Another tab')")
    assert second.evaluate(LEVER, "up").startswith("stored ")
    seqs = [entry["seq"] for entry in lines(second)]
    assert seqs == list(range(1, len(seqs) + 1))


def test_a_full_phone_is_said_at_once_and_the_log_goes_on_in_memory_and_in_the_file(
    cab: Cab, handset: Handset
) -> None:
    page = opened(handset.start(), cab.url)
    assert page.evaluate(LEVER, "down").startswith("stored ")
    handset.kill()
    page = handset.start()
    session = page.context.new_cdp_session(page)
    # before the page: a browser looks at the room that is left only every half minute
    room = {"origin": cab.url.removesuffix("/cab/")}
    session.send("Storage.overrideQuotaForOrigin", {**room, "quotaSize": 1})
    opened(page, cab.url)
    stored = page.evaluate("() => window.unsown.cab.get().keeper.count().stored")
    assert page.evaluate(LEVER, "up") == "failed full"
    alarm = page.get_by_role("alert").first
    assert "No room left on the phone" in alarm.inner_text()
    assert page.evaluate(LEVER, "down") == "failed full"
    with page.expect_download() as download:
        alarm.get_by_role("button", name="Save the log as a file").click()
    text = download.value.path().read_text("utf-8")
    levers = [e["lever"] for e in map(json.loads, text.splitlines()) if e["kind"] == "lever"]
    assert levers == ["down", "up", "down"]
    assert page.evaluate("() => window.unsown.cab.get().keeper.count().stored") == stored
    session.send("Storage.overrideQuotaForOrigin", room)
    until(page, "window.unsown.cab.get().trouble === null", 30)
    assert page.evaluate(LEVER, "up").startswith("stored ")
    page.reload()
    until(page, WRITES)
    kept = lines(page)
    assert [e["lever"] for e in kept if e["kind"] == "lever"] == ["down", "up", "down", "up"]
    assert [e["seq"] for e in kept] == list(range(1, len(kept) + 1))
    assert any(e["kind"] == "phone" and e["what"] == "keep" for e in kept)


def test_a_write_that_fails_for_any_reason_is_said_and_made_good(
    cab: Cab, handset: Handset
) -> None:
    page = opened(handset.start(), cab.url)
    page.evaluate(
        """() => {
          const add = IDBObjectStore.prototype.add;
          window.mend = () => { IDBObjectStore.prototype.add = add; };
          IDBObjectStore.prototype.add = function () {
            this.transaction.abort();
            return add.apply(this, arguments);
          };
        }"""
    )
    assert page.evaluate(LEVER, "down").startswith("failed ")
    assert page.get_by_role("alert").first.is_visible()
    page.evaluate("() => window.mend()")
    assert page.evaluate(LEVER, "up").startswith("stored ")
    assert page.get_by_role("alert").first.is_hidden()
    assert [e["lever"] for e in lines(page) if e["kind"] == "lever"] == ["down", "up"]


def test_what_the_browser_does_to_the_page_is_an_entry(cab: Cab, handset: Handset) -> None:
    page = opened(handset.start(), cab.url)
    # the driver keeps every page shown, so what a browser says when it is covered is said by hand
    page.evaluate(
        """() => {
          document.dispatchEvent(new Event('freeze'));
          document.dispatchEvent(new Event('resume'));
          const turn = state => {
            Object.defineProperty(document, 'visibilityState', {value: state, configurable: true});
            document.dispatchEvent(new Event('visibilitychange'));
          };
          turn('hidden');
          turn('visible');
        }"""
    )
    page.evaluate("() => { const now = Date.now; Date.now = () => now() - 3600000; }")
    until(page, "window.unsown.cab.get().keeper.count().stored >= 6")
    assert told(page)[:6] == ["start", "freeze", "resume", "hidden", "shown", "clock"]
    moved = [entry for entry in lines(page) if entry.get("what") == "clock"]
    assert abs(moved[0]["jump_ms"] + 3_600_000) < 2_000
    page.reload()
    until(page, WRITES)
    assert "leave" in told(page)
