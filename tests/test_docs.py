"""The reference names everything that exists, and the documents' links lead somewhere."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from shapely.geometry import Point

import tallies
from unsown.cli import COMMANDS, parser_of
from unsown.commands.find import EXAMPLES
from unsown.core.back import back
from unsown.core.price import EXAMPLE
from unsown.core.rigs import Between, Share
from unsown.core.waste import Waste
from unsown.core.words import Rig, Tool
from unsown.formats.again import to_waste
from unsown.formats.going import to_worth
from unsown.formats.report import to_object

ROOT = Path(__file__).resolve().parents[1]
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
COMMAND = (ROOT / "docs/reference/command.md").read_text(encoding="utf-8")
JSON = (ROOT / "docs/reference/json.md").read_text(encoding="utf-8")


def section(name: str) -> str:
    found = re.search(rf"^## `unsown {name}`$(.*?)(?=^## |\Z)", COMMAND, re.M | re.S)
    assert found, f"docs/reference/command.md has no heading for unsown {name}"
    return found.group(1)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_of_a_command_stands_in_its_section(name: str) -> None:
    text = section(name)
    for action in parser_of(name)._actions:
        names = [n for n in action.option_strings if n.startswith("--")] or [action.metavar]
        for option in names:
            assert re.search(rf"^\| `{option}\b", text, re.M), f"unsown {name}: {option}"
        for choice in action.choices or ():
            assert f"`{names[0]} {choice}`" in text, f"unsown {name}: {names[0]} {choice}"


@pytest.mark.parametrize("name", COMMANDS)
def test_no_section_names_an_option_that_is_gone(name: str) -> None:
    known = {n for action in parser_of(name)._actions for n in action.option_strings}
    assert set(re.findall(r"^\| `(--[a-z-]+)", section(name), re.M)) <= known


def test_every_json_key_has_its_row_with_a_meaning() -> None:
    rows = {
        key
        for row in re.findall(r"^\| (.*?) \|", JSON, re.M)
        for key in re.findall(r"`([a-z_.0-9]+)`", row)
    }
    share = Share("drill", ("cab",), 1.0, 1.0, 1.0, 1.0)
    seam = Between((0, 1), 400.0, 0.2, 3.0, 0.4, Point(-106.2, 49.7))
    two = replace(tallies.day(), rigs=(share, share), between=(seam,))
    said = to_object(two, "Dry Ladle")
    keys = set(said) - {"paddock"} | {f"paddock.{key}" for key in said["paddock"]}
    again = to_waste(Waste(0.2, 0.1, 0.3, 0.01, {}, {}, 0.0, 0.0, 4.0, True))
    parts = [said[name][0] for name in ("patches", "questions", "rigs", "between")]
    for part in (*parts, said["settle"], again, *worth_parts()):
        keys |= set(part)
    assert keys <= rows
    assert rows <= keys | {"settle", "waste", "worth", "examples"}


def worth_parts() -> list[dict[str, object]]:
    """Every part of the key ``worth``, of the day drawn by hand."""
    rig = Rig("bar", "mounted", Tool(8.4), tightest_m=8.0)
    tally = tallies.day()
    said = to_worth(back(tally, [rig], EXAMPLE, (-420.0, 0.0), 600.0), tally, tallies.PLANE)
    now, later = said["now"], said["later"]
    stop = now["stops"][0]
    return [said, now, later, now["groups"][0], stop, stop["run"], now["way"][0]]


def test_the_default_draws_are_those_that_the_page_states() -> None:
    from unsown.core.words import Settings

    assert f"default {Settings().draws}" in COMMAND
    assert f"default {Settings().clearance_m:g}" in COMMAND
    assert f"default {Settings().seed}" in COMMAND


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_links_between_the_pages_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text):
        if not target.startswith(("http:", "https:", "mailto:")):
            assert (page.parent / target).exists(), f"{target} is not there"


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_commands_shown_in_the_pages_can_be_given(page: Path) -> None:
    shown = re.findall(r"^(?:\.venv/bin/)?unsown (\w+) (.+)$", page.read_text("utf-8"), re.M)
    for name, rest in shown:
        words = rest.partition(" > ")[0].split()
        parser_of(name).parse(words)


def test_the_examples_of_the_help_can_be_given() -> None:
    for rest in re.findall(r"^  unsown find (.+)$", EXAMPLES, re.M):
        parser_of("find").parse(rest.partition(" > ")[0].split())


@pytest.mark.soak
def test_the_pages_show_what_the_demo_really_prints(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    import refresh

    found = refresh.blocks()
    for page in refresh.PAGES:
        text = page.read_text(encoding="utf-8")
        assert refresh.refreshed(text, found) == text, f"run make docs: {page.name} is stale"
