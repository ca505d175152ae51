"""Two rigs in one paddock at once, at home: each phone named its card, and both count."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import farms
import pairs
from drives import START_MS, picked
from unsown.core.words import Log, Mark
from unsown.formats.log import write

CARDS = {"a": ("big", 8.4), "b": ("small", 6.0)}


def lines(phone: str, *, named: bool = True) -> bytes:
    """One phone's log, numbered, its rig card named first."""
    log = pairs.both()
    mine = np.flatnonzero(log.fixes.phone == log.fixes.phones.index(phone))
    marks = [replace(m, seq=0) for m in log.marks if m.phone == phone]
    if named:
        says = {"card": CARDS[phone][0]}
        marks.insert(0, Mark(START_MS - 1000, "rig", phone, 0, says))
    return write(Log(picked(log.fixes, mine), tuple(marks)), number_lines=True).encode()


def work(folder: Path, phones: str, *, named: bool = True) -> dict:
    with farms.computing(folder) as farm:
        for name, width in CARDS.values():
            farm.save_rig(None, {**farms.CARD, "name": name, "tool": {"width_m": width}}, None)
        outline = pairs.ground().area
        land = {"type": "Feature", "properties": {"name": "land"},
                "geometry": outline.__geo_interface__}  # fmt: skip
        id_ = farm.save_paddock(None, land, None).id
        for phone in phones:
            farm.take_entries(phone, 1, lines(phone, named=named))
        (season,) = farm.board()["seasons"]
        return farms.computed(farm, id_, season)


def test_both_rigs_count_whichever_comes_home_first(tmp_path: Path) -> None:
    one, other = work(tmp_path / "ab", "ab"), work(tmp_path / "ba", "ba")
    assert one["state"] == "ready"
    assert [(r["name"], r["phones"]) for r in one["tally"]["rigs"]] == [
        ("big", ["a"]), ("small", ["b"]),
    ]  # fmt: skip
    swept = pairs.ROWS * pairs.LONG_M * (8.4 + 6.0) / 1e4
    assert one["tally"]["swept_ha"] == pytest.approx(swept, rel=1e-3)
    assert one["tally"] == other["tally"]


def test_rigs_that_named_no_card_are_refused_with_what_to_do(tmp_path: Path) -> None:
    found = work(tmp_path, "ab", named=False)
    assert found["state"] == "failed"
    assert found["reason"]["code"] == "two-rigs"
    assert "which card" in found["reason"]["hint"]
