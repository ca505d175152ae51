"""The reference pages say what the readers do."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from unsown.formats import gis, gisread, gpxtree, guard, log, tables
from unsown.formats.limits import LIMITS
from unsown.formats.rig import read_rig

PAGES = Path(__file__).resolve().parents[2] / "docs" / "reference"


def page(name: str) -> str:
    return " ".join((PAGES / name).read_text(encoding="utf-8").split())


def test_the_log_page_has_a_line_and_an_example_of_every_kind():
    text = (PAGES / "log.md").read_text(encoding="utf-8")
    examples = re.findall(r"^\| `(\w+)` \|.*\| `(\{.*\})` \|$", text, re.MULTILINE)
    assert [kind for kind, _ in examples] == ["fix", *log.KINDS]
    for kind, example in examples:
        assert json.loads(example)["kind"] == kind
    found = log.read("\n".join(example for _, example in examples).encode(), "log.md")
    assert len(found.fixes) == 1
    assert not found.skipped
    shown = [log.shown(mark).kind for mark in found.marks]
    assert shown == list(log.KINDS)


@pytest.mark.parametrize("key", LIMITS)
def test_the_card_page_has_every_key_with_its_limits(key):
    limit = LIMITS[key]
    row = f"| `{key}` | {limit.what} | {limit.low:g} to {limit.high:g} |"
    assert row in page("rig-card.md")


def test_the_cards_example_is_a_card_without_a_note():
    text = (PAGES / "rig-card.md").read_text(encoding="utf-8")
    example = text.partition("```toml\n")[2].partition("```")[0]
    assert read_rig(example.encode(), "rig-card.md").notes == ()


@pytest.mark.parametrize("name", sorted({n for names in tables.NAMES.values() for n in names}))
def test_the_track_page_has_every_column_name(name):
    assert f"`{name}`" in page("tracks.md")


def test_the_pages_state_the_limits_that_hold():
    assert f"{guard.TRACK_BYTES // 10**6} MB each" in page("tracks.md")
    assert f"{gpxtree.MOST_POINTS:,} points" in page("tracks.md")
    assert gpxtree.NAMESPACE in page("tracks.md")
    paddocks = page("paddocks.md")
    assert f"Up to {guard.PADDOCK_BYTES // 10**6} MB" in paddocks
    assert f"{gis.SECONDS} s, {gisread.MEMORY_BYTES // 10**9} GB" in paddocks
    assert f"{gisread.MOST_FEATURES:,} features" in paddocks
    assert f"{guard.ZIP_MEMBERS:,} files" in paddocks
    assert f"{gis.INFLATED_BYTES // 10**6} MB and {guard.ZIP_RATIO} times" in paddocks
    assert f"{guard.RIG_BYTES // 1000} kB" in page("rig-card.md")
