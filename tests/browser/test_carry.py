"""The log comes home: by itself, again and again, and as a file where there is no network."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Playwright

import farms
from cabs import Cab
from handset import Handset, chromium, until

OPEN = "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().page"
APPEND = """async ([first, count]) => {
  const log = window.unsown.cab.get().keeper;
  const made = [];
  for (let n = first; n < first + count; n++) {
    made.push(log.append({kind: 'fix', t_ms: 1746280800000 + 1000 * n, lat_deg: 49.7302,
      lon_deg: -106.209 + 1e-5 * n, acc_m: 2.5}));
  }
  await log.flush();
  return Promise.all(made);
}"""
STATE = "() => JSON.stringify(window.unsown.cab.get(), (k, v) => k === 'keeper' ? 0 : v)"
EXPORT = "async () => (await window.unsown.cab.get().keeper.export()).text()"


def state(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(page.evaluate(STATE))
    return found


def go(page: Page, name: str) -> None:
    """To a page from the first one, past first start."""
    until(page, OPEN)
    page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    page.reload()
    until(page, "window.unsown && window.unsown.cab.get().page === 'start'")
    page.locator(f"[data-page={name}]").click()


def paired(page: Page, cab: Cab, may: str = "keeper") -> str:
    """Pairs by typing a code; the phone's label."""
    go(page, "carry")
    page.get_by_role("button", name="Pair with home").click()
    page.get_by_label("Code").fill(cab.code(may).lower())
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "window.unsown.cab.get().home && window.unsown.cab.get().pack")
    dev: str = page.evaluate("() => window.unsown.cab.get().keeper.dev")
    return dev


def all_home(page: Page, cab: Cab, dev: str) -> None:
    """Until home has what the phone has, line for line, and the phone says so."""
    exported = page.evaluate(EXPORT).splitlines()
    for _ in range(400):
        if len(cab.held(dev)) >= len(exported):
            break
        page.wait_for_timeout(25)
    held = [line.decode() for line in cab.held(dev).values()]
    assert held[: len(exported)] == exported  # the phone may have written more meanwhile
    until(page, "document.querySelector('#strip').textContent === 'All at home'")


def test_it_is_paired_by_the_square_code_and_the_code_leaves_the_address(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url + f"#pair={cab.code()}")
    until(page, OPEN)
    assert page.url == cab.url
    page.get_by_role("button", name="I have read this").click()
    page.get_by_role("button", name="Ask the browser").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "window.unsown.cab.get().pack")
    assert "Paired as morning: this phone keeps the log." in page.inner_text("main")
    until(page, "document.querySelector('#ready').textContent.includes('1 paddock, rig card of')")
    dev = page.evaluate("() => window.unsown.cab.get().keeper.dev")
    assert [phone.dev for phone in cab.farm.phones()] == [dev]
    all_home(page, cab, dev)


def test_a_wrong_code_says_so_and_nothing_changes(cab: Cab, handset: Handset) -> None:
    page = handset.start(cab.url)
    go(page, "carry")
    page.get_by_role("button", name="Pair with home").click()
    page.get_by_label("Code").fill("short")
    page.get_by_role("button", name="Pair", exact=True).click()
    assert "A code has ten letters" in page.inner_text("main")
    page.get_by_label("Code").fill("AAAAA-AAAAA")
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "document.querySelector('main').innerText.includes('This code is not good')")
    assert "Make a new one at the desk." in page.inner_text("main")
    assert state(page)["home"] is None


def test_everything_comes_home_by_itself_however_often_home_goes_away(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url)
    dev = paired(page, cab)
    page.evaluate(APPEND, [0, 700])
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_home(page, cab, dev)
    cab.go()
    page.evaluate(APPEND, [700, 50])
    assert page.inner_text("#strip").endswith("50 entries not home")
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    until(page, "window.unsown.cab.get().sending.state === 'waiting'")
    assert "Home is not in reach; tried again by itself." in page.inner_text("#sending")
    handset.kill()
    page = handset.start(cab.url)  # the page is on the phone: it starts with home away
    until(page, OPEN)
    page.evaluate(APPEND, [750, 5])
    left = state(page)["count"]
    assert left["stored"] - left["held"] >= 55
    cab.come()
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_home(page, cab, dev)
    assert len(cab.held(dev)) >= 755


def test_what_home_lost_is_given_again(cab: Cab, handset: Handset) -> None:
    page = handset.start(cab.url)
    dev = paired(page, cab)
    page.evaluate(APPEND, [0, 900])
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_home(page, cab, dev)
    from unsown.store import chunks
    from unsown.store.schema import chunk, writer

    with cab.farm.store.write() as conn:  # as after a restore from a backup of before
        found = list(chunks.chunks_of(conn, dev))
        conn.execute(chunk.delete().where(chunk.c.dev == dev, chunk.c.first > found[0].first))
        last = found[0].last
        conn.execute(writer.update().where(writer.c.dev == dev).values(held=last))
    assert len(cab.held(dev)) < 900
    page.evaluate("() => window.dispatchEvent(new Event('online'))")
    all_home(page, cab, dev)


def test_a_withdrawn_phone_stops_says_so_and_is_paired_anew_under_its_label(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url)
    dev = paired(page, cab)
    cab.farm.withdraw(dev)
    page.evaluate(APPEND, [0, 3])
    page.get_by_role("button", name="Send now").click()
    until(page, "window.unsown.cab.get().sending.state === 'stopped'")
    assert "Home refuses the log:" in page.inner_text("#sending")
    page.get_by_role("button", name="Pair anew").click()
    page.get_by_label("Code").fill(cab.code())
    page.get_by_role("button", name="Pair", exact=True).click()
    all_home(page, cab, dev)
    assert [phone.dev for phone in cab.farm.phones()] == [dev]


def test_without_any_network_the_log_goes_as_a_file_to_home_and_to_another_phone(
    cab: Cab, handset: Handset, driver: Playwright, tmp_path: Path
) -> None:
    page = handset.start(cab.url)
    go(page, "carry")
    dev = page.evaluate("() => window.unsown.cab.get().keeper.dev")
    page.evaluate(APPEND, [0, 20])
    cab.go()
    with page.expect_download() as told:
        page.get_by_role("button", name="Save the log as a file").click()
    name = told.value.suggested_filename
    assert name.startswith(f"unsown-{dev}-")
    assert name.endswith(".jsonl")
    file = tmp_path / name
    told.value.save_as(file)
    assert f"Saved as {name}." in page.inner_text("#said")
    taken = cab.farm.take_file(name, file.read_bytes())
    assert (taken.devs, taken.kind) == ((dev,), "log")
    assert len(cab.held(dev)) == taken.kept == len(file.read_text().splitlines())
    cab.come()
    dev_ = paired(page, cab)  # home knows the label by the file, and lets the phone have it
    assert dev_ == dev
    all_home(page, cab, dev)
    other = Handset(driver, chromium(), tmp_path / "other")
    try:
        second = other.start(cab.url)
        go(second, "carry")
        second.set_input_files("#file", file)
        until(second, "document.querySelector('#said').textContent !== ''")
        said = second.inner_text("#said")
        assert said.startswith(f"{taken.kept} entries taken in, 0 entries known already.")
        theirs = second.evaluate(
            "async () => Array.from((await window.unsown.cab.get().keeper.fixes()).phones)"
        )
        assert theirs == [dev]
    finally:
        other.kill()


def test_a_farm_pack_comes_as_a_file_too(cab: Cab, handset: Handset, tmp_path: Path) -> None:
    page = handset.start(cab.url)
    go(page, "carry")
    pack = tmp_path / "pack.json"
    pack.write_text(json.dumps(cab.farm.pack(farms.SEASON)), encoding="utf-8")
    page.set_input_files("#file", pack)
    until(page, "window.unsown.cab.get().pack")
    assert page.inner_text("#said") == "Farm pack taken in: 1 paddock, 1 rig card."
    pack.write_text('{"paddocks": [], "rigs": [], "settings": {}}', encoding="utf-8")
    page.set_input_files("#file", pack)
    until(page, "document.querySelector('#said').textContent.includes('That did not work')")
    assert len(state(page)["pack"]["paddocks"]) == 1


def test_a_phone_that_only_looks_gets_the_pack_and_sends_nothing(
    cab: Cab, handset: Handset
) -> None:
    page = handset.start(cab.url)
    dev = paired(page, cab, "rider")
    assert page.inner_text("#strip") == "Looks only"
    assert page.get_by_role("button", name="Send now").count() == 0
    page.get_by_role("button", name="Fetch the farm pack").click()
    page.wait_for_timeout(300)
    assert cab.held(dev) == {}
