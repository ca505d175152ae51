"""A farm with two rigs that worked in one paddock at once, each phone with its own log."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

import farms
import pairs
from drives import START_MS, picked
from unsown.core.words import Log, Mark
from unsown.formats.log import write
from unsown.service.farm import Farm

CARDS = {"a": ("big", 8.4), "b": ("small", 6.0)}


def lines(phone: str, *, named: bool = True, forgotten: int | None = None) -> bytes:
    """One phone's log, numbered, its rig card named first; one tap may be left out."""
    log = pairs.both()
    mine = np.flatnonzero(log.fixes.phone == log.fixes.phones.index(phone))
    marks = [replace(m, seq=0) for m in log.marks if m.phone == phone]
    if forgotten is not None:
        del marks[forgotten]
    if named:
        says = {"card": CARDS[phone][0]}
        marks.insert(0, Mark(START_MS - 1000, "rig", phone, 0, says))
    return write(Log(picked(log.fixes, mine), tuple(marks)), number_lines=True).encode()


def stocked(farm: Farm, phones: str, **how: Any) -> tuple[str, int]:
    """A farm with both cards, the paddock and the phones' logs: the paddock and its season."""
    for name, width in CARDS.values():
        farm.save_rig(None, {**farms.CARD, "name": name, "tool": {"width_m": width}}, None)
    outline = pairs.ground().area
    land = {"type": "Feature", "properties": {"name": "land"},
            "geometry": outline.__geo_interface__}  # fmt: skip
    id_ = farm.save_paddock(None, land, None).id
    for phone in phones:
        farm.take_entries(phone, 1, lines(phone, **how))
    (season,) = farm.board()["seasons"]
    return id_, season
