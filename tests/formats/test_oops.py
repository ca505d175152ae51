"""A press of the pad taken back and told of later: the ground is that of a press in time."""

from __future__ import annotations

import json
from dataclasses import astuple
from typing import Any

import pytest

import smallday
from unsown.core.day import find
from unsown.core.words import Settings, Tally
from unsown.formats import log
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig

#: The last run is 100 s; it is lifted at its end, and the press came this much late.
LATE_MS = 10_000
ROWS = list(smallday.entries())
LIFT = ROWS[-1]
LAST = int(LIFT["seq"])  # type: ignore[call-overload]
LIFTED_MS = int(LIFT["t_ms"])  # type: ignore[call-overload]


def entry(seq: int, t_ms: int, kind: str, **says: Any) -> dict[str, Any]:
    return {"v": 1, "dev": "cab", "seq": LAST + seq, "t_ms": t_ms, "kind": kind, **says}


def on() -> list[dict[str, Any]]:
    """It drives on for a while, past the end of the last run."""
    fix = {k: v for k, v in ROWS[-2].items() if k in ("lon_deg", "acc_m")}
    lat = float(ROWS[-2]["lat_deg"])  # type: ignore[arg-type]
    north = smallday.SPEED_M_S / 111_200
    return [
        entry(100 + i, LIFTED_MS + 1000 * i, "fix", lat_deg=lat + north * i, **fix)
        for i in range(1, 30)
    ]


def tally(rows: list[dict[str, Any]]) -> Tally:
    text = "".join(json.dumps(row) + "\n" for row in rows)
    land = read_paddock(smallday.paddock().encode(), "small.geojson")
    card = read_rig(smallday.CARD.encode(), "small.toml")
    return find(log.read(text.encode(), "day.jsonl"), land, [card], Settings(draws=0))[0]


def taken_back(word: str, *answer: dict[str, Any]) -> list[dict[str, Any]]:
    """Pressed late, taken back and pressed again, with the answer."""
    pressed = LIFTED_MS + LATE_MS
    return [
        *ROWS[:-1],
        *on(),
        entry(1, pressed, "lever", lever="up", how="pad"),
        entry(2, pressed + 2000, "undo", of=LAST + 1, about="oops", edge_ms=LIFTED_MS),
        entry(3, pressed + 4000, "lever", lever="up", how="pad"),
        *answer,
        entry(9, pressed + 60_000, "say", about="oops", of=LAST + 1, answer=word),
    ]


IN_TIME = tally([*ROWS[:-1], *on(), entry(1, LIFTED_MS, "lever", lever="up", how="pad")])


@pytest.mark.parametrize("word", ["edge", "before"])
def test_an_answered_oops_sows_what_a_press_in_time_sows(word: str) -> None:
    moved = entry(4, LIFTED_MS, "lever", lever="up", how="afterwards")
    gone = entry(5, LIFTED_MS + 70_000, "undo", of=LAST + 3)
    told = tally(taken_back(word, moved, gone))
    assert astuple(told)[:12] == astuple(IN_TIME)[:12]
    assert told.questions == IN_TIME.questions


def test_pressed_again_is_the_press_that_counts() -> None:
    again = tally(taken_back("again"))
    later = LIFTED_MS + LATE_MS + 4000
    plain = tally([*ROWS[:-1], *on(), entry(1, later, "lever", lever="up", how="pad")])
    assert astuple(again)[:12] == astuple(plain)[:12]
    assert again.swept_ha > IN_TIME.swept_ha
