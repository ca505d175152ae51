"""The gate check and the standing page on a phone whose home is gone, on a simulated day.

The day reaches the phone as two files, a farm pack and another phone's log, and is computed there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

import cabs
import fields
from browsing import too_small, too_wide, violations
from cabs import Cab
from gates import SIZES, THUMB, cards, counted, small_text, to
from handset import until
from onboard import EXPORT, Onboard, installed
from unsown.core.place import place_of
from unsown.core.words import Tally
from unsown.formats.place import in_words
from unsown.formats.units import Units
from unsown.sim import SimDay, day

#: Seeds that nothing is tuned on; two stretches without positions, a corner kept, missed ends.
DAY = {"seed": 341, "rig": "demo", "preset": "typical", "area_ha": 5.0, "gaps": 2}


@cache
def made() -> SimDay:
    return day(**DAY)


@cache
def home() -> tuple[Tally, str]:
    return fields.home(made())


@pytest.fixture(scope="module")
def phone(
    browser: Browser, trial: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Onboard, Path]]:
    """A phone with the day's farm pack whose home is gone, and the day as another phone's log."""
    folder = tmp_path_factory.mktemp("phone")
    pack, log = fields.write(made(), folder, home()[1])
    with (
        cabs.served(folder / "farm", trial) as cab,
        installed(browser, cab, folder, pack) as ready,
    ):
        yield ready, log


@pytest.fixture
def opened(phone: tuple[Onboard, Path]) -> Page:
    """The first page of a phone that has taken the day in and has logged nothing itself."""
    ready, log = phone
    return ready.fresh(log=log)


@pytest.fixture
def rider(browser: Browser, cab: Cab, tmp_path: Path) -> Iterator[Page]:
    """A phone that only looks, with the same farm pack; then home is gone."""
    context = browser.new_context(viewport={"width": 412, "height": 915}, has_touch=True)
    page = context.new_page()
    page.goto(cab.url)
    until(page, "window.unsown && window.unsown.cab.get().page")
    page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    page.reload()
    to(page, "carry")
    page.get_by_role("button", name="Pair with home").click()
    page.get_by_label("Code").fill(cab.code("rider"))
    page.get_by_role("button", name="Pair", exact=True).click()
    until(page, "window.unsown.cab.get().home && window.unsown.cab.get().pack")
    cab.go()
    page.set_input_files("#file", fields.write(made(), tmp_path, home()[1])[0])
    expect(page.locator("#said")).to_contain_text("1 paddock")
    page.get_by_role("button", name="Back").click()
    yield page
    context.close()


def entries(page: Page, kind: str) -> list[dict[str, Any]]:
    """What this phone itself wrote of a kind."""
    dev = page.evaluate("() => window.unsown.cab.get().keeper.dev")
    lines = [json.loads(line) for line in page.evaluate(EXPORT).splitlines()]
    return [line for line in lines if line["dev"] == dev and line["kind"] == kind]


def test_the_phone_finds_the_patches_that_home_finds(opened: Page) -> None:
    tally, _ = home()
    page = opened
    counted(page)
    found = cards(page)
    assert sorted(card["number"] for card in found) == list(range(1, len(found) + 1))
    assert len(tally.patches) >= 3
    left = list(found)
    for patch in tally.patches:
        where = in_words(place_of(patch.outline, tally.ground.net), Units())
        near = [c for c in left if abs(c["m2"] - patch.area_m2) <= max(0.02 * patch.area_m2, 3.0)]
        same = [c for c in near if c["where"] == where]
        assert same, (where, patch.area_m2, left)
        left.remove(same[0])
        assert same[0]["number"] == patch.number
        if patch.chance >= 0.95:
            assert same[0]["dots"] == 3
        if patch.chance <= 0.85:
            assert same[0]["dots"] < 3
    assert not left
    words = page.locator("#total").inner_text().replace("\u00a0", " ")
    bare = float(words.split("Bare ")[1].split(" ")[0])
    slack = 0.5 * (tally.bare_high_ha - tally.bare_low_ha) + 0.01
    assert abs(bare - tally.bare_ha) <= slack, (words, tally.bare_ha)
    assert f"of {tally.net_ha:.2f} ha" in words
    expect(page.locator("#caution")).to_be_in_viewport()


def test_a_first_answer_comes_before_the_count_and_the_count_can_be_stopped(
    opened: Page,
) -> None:
    page = opened
    page.evaluate(
        """() => new MutationObserver(() => {
          const glance = document.querySelector('#glance');
          if (glance && glance.textContent && !window.glanced) {
            window.glanced = [glance.textContent, document.querySelector('#total') === null];
          }
        }).observe(document.body, {childList: true, subtree: true, characterData: true})"""
    )
    counted(page)
    text, before = page.evaluate("() => window.glanced")
    assert "At a first glance about" in text
    assert before
    page.get_by_role("button", name="Count again").click()
    page.get_by_role("button", name="Stop counting").click()
    expect(page.get_by_text("Stopped. Nothing was changed.")).to_be_visible()


ONE_CORE = "() => Object.defineProperty(navigator, 'hardwareConcurrency', {value: 1})"
CORES = "() => Object.defineProperty(navigator, 'hardwareConcurrency', {value: 4})"
REFUSED = """() => {
  const real = window.Worker;
  let many = 0;
  window.Worker = function (script) {
    if (many++ % 2 === 1) throw new Error('no more workers');
    return new real(script);
  };
}"""


#: A small day is counted sooner than two clicks are made one after the other from outside.
BEGUN_AND_STOPPED = """() => {
  const press = name => [...document.querySelectorAll('button')]
    .find(button => button.textContent.trim() === name).click();
  press('Count again');
  press('Stop counting');
}"""


def none_works(page: Page) -> None:
    """All workers are ended, or soon are."""
    for _ in range(50):
        if not page.workers:
            return
        page.wait_for_timeout(100)
    assert page.workers == []


@pytest.mark.parametrize(
    ("phone_is", "many"),
    [((CORES,), 2), ((ONE_CORE,), 1), ((CORES, REFUSED), 1)],
    ids=["several cores", "one core", "a second worker refused"],
)
def test_the_count_says_the_same_by_two_workers_and_by_one_and_by_those_that_rested(
    opened: Page, phone_is: tuple[str, ...], many: int
) -> None:
    page = opened
    again = page.get_by_role("button", name="Count again")
    stop = page.get_by_role("button", name="Stop counting")
    counted(page)
    both = page.locator("#total").inner_text(), cards(page)
    # a count that is stopped takes its workers with it
    page.evaluate(BEGUN_AND_STOPPED)
    expect(page.get_by_text("Stopped. Nothing was changed.")).to_be_visible()
    none_works(page)
    for how in phone_is:
        page.evaluate(how)
    for _ in range(2):
        again.click()
        expect(stop).to_have_count(0, timeout=60_000)
        # those that counted rest, and count the next time
        assert len(page.workers) == many
        assert (page.locator("#total").inner_text(), cards(page)) == both
    page.evaluate(BEGUN_AND_STOPPED)
    none_works(page)


def test_what_is_decided_of_a_patch_is_an_entry_and_is_known_after_the_next_count(
    opened: Page,
) -> None:
    page = opened
    counted(page)
    first = cards(page)[0]
    page.get_by_role("button", name="Looked: it’s sown").click()
    expect(page.locator("#total")).to_contain_text("1 patch looked at and sown")
    (said,) = [entry for entry in entries(page, "say") if entry.get("about") == "patch"]
    assert said["answer"] == "sown"
    assert said["paddock"] == fields.PADDOCK
    assert abs(said["area_m2"] - first["m2"]) < 0.2
    page.get_by_role("button", name="Count again").click()
    expect(page.get_by_role("button", name="Stop counting")).to_have_count(0, timeout=40_000)
    expect(page.locator("#total")).to_contain_text("1 patch looked at and sown")
    pressed = page.locator(".card [aria-pressed=true]")
    expect(pressed).to_have_text("Looked: it’s sown")


def test_a_question_is_asked_while_standing_only_and_its_answer_is_an_entry(
    opened: Page,
) -> None:
    tally, _ = home()
    asked = [q for q in tally.questions if q.kind == "blind"]
    assert asked, "the day was to have stretches without positions"
    page = opened
    to(page, "standing")
    box = page.locator("#questions")
    expect(box).to_contain_text("Was the tool down?", timeout=40_000)
    page.evaluate("() => window.unsown.cab.set({standing: false})")
    expect(box).to_have_count(0)
    assert page.evaluate("() => window.unsown.cab.get().page") == "work"
    page.evaluate("() => window.unsown.cab.set({standing: true})")
    # it comes by itself
    many = len(tally.questions)
    title = "One question" if many == 1 else f"{many} questions"
    expect(box).to_contain_text(title, timeout=20_000)
    expect(box.locator(".answers button")).to_have_count(3)
    assert box.locator(".answers svg").count() == 3
    page.locator("[data-answer=down]").click()
    expect(box).to_contain_text("Answered: Down all the way.")
    (first,) = [e for k in ("blind", "say") for e in entries(page, k) if "from_ms" in e]
    assert (first["from_ms"], first["to_ms"]) in [(q.from_ms, q.to_ms) for q in tally.questions]
    assert first["answer"] == "down"
    page.get_by_role("button", name="Take the answer back").click()
    expect(box.locator(".answers button")).to_have_count(3)
    (undone,) = entries(page, "undo")
    assert undone["of"] == first["seq"]


def test_fills_and_stops_are_entries(opened: Page) -> None:
    page = opened
    to(page, "standing")
    to(page, "fill")
    page.get_by_role("button", name="Log the fill").click()
    expect(page.locator("#said")).to_contain_text("Nothing was filled in yet")
    page.locator("[data-option=fuel]").click()
    for _ in range(3):
        page.locator("[data-by=more]").click()
    page.locator("[data-option=small]").click()
    page.locator("[data-by=more]").click()
    page.get_by_role("button", name="Log the fill").click()
    expect(page.locator("#said")).to_contain_text("Logged: 160 L fuel.")
    (filled,) = entries(page, "fill")
    assert (filled["product"], filled["l"]) == ("fuel", 160)
    page.get_by_role("button", name="Back").click()
    to(page, "stop")
    page.locator("[data-reason=rain]").click()
    expect(page.locator("#said")).to_contain_text("Logged: Rain.")
    assert [stop["reason"] for stop in entries(page, "stop")] == ["rain"]


def test_a_rider_sees_the_ground_and_can_write_nothing(rider: Page) -> None:
    tally, _ = home()
    page = rider
    expect(page.locator("[data-page=standing]")).to_have_count(0)
    expect(page.locator("[data-page=trial]")).to_have_count(0)
    to(page, "rider")
    expect(page.get_by_role("img", name="Map of the paddock")).to_be_visible()
    sown = page.get_by_text("Sown ").inner_text().replace("\u00a0", " ")
    assert f"{tally.ground.sown.area / 1e4:.2f}" in sown
    listed = sum(p.area_m2 for p in tally.patches)
    assert listed > 0
    expect(page.get_by_text(f"{len(tally.patches)} bare patches")).to_be_visible()
    assert {b.inner_text() for b in page.locator("main button").all()} == {"Back"}


PAGES = (
    *("start", "standing", "fill", "stop", "peg", "over", "outs", "lap"),
    *("trial", "settings", "gate"),
)


def test_every_page_is_large_whole_and_plain_to_everybody(opened: Page) -> None:
    page = opened
    for name in PAGES:
        page.set_viewport_size({"width": 412, "height": 915})
        reach(page, name)
        assert violations(page) == [], name
        if name in ("standing", "gate", "outs"):
            page.evaluate("() => { document.documentElement.dataset.light = 'night' }")
            assert violations(page) == [], (name, "at night")
            page.evaluate("() => { document.documentElement.dataset.light = 'day' }")
        for size, (width, height) in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            assert too_wide(page) == [], (name, size)
            assert too_small(page, THUMB) == [], (name, size)
            assert small_text(page) == [], (name, size)


def reach(page: Page, name: str) -> None:
    """To a page from whichever is shown."""
    standing = name in ("standing", "fill", "stop", "peg", "over", "outs", "lap")
    fit = ("start", "standing") if standing else ("start",)
    while page.evaluate("() => window.unsown.cab.get().page") not in fit:
        page.locator("main .button", has_text="Back").last.click()
    if name == "gate":
        counted(page)
    elif standing:
        if page.evaluate("() => window.unsown.cab.get().page") == "start":
            to(page, "standing")
        expect(page.locator("#questions")).to_contain_text("Was the tool down?", timeout=40_000)
        if name != "standing":
            to(page, name)
    elif name != "start":
        to(page, name)
