"""A log handed from one phone to another comes to the day of one phone, wherever that happened."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest

import farms
import smallday
from unsown.core.day import find
from unsown.core.words import Tally
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig
from unsown.formats.track import join, read_track

Entry = dict[str, Any]


def tally(entries: list[Entry]) -> Tally:
    paddock = read_paddock(json.dumps(farms.paddock()).encode(), "p")
    rig = read_rig(smallday.CARD.encode(), "r")
    return find(join([read_track(farms.body(entries), "day")]), paddock, [rig])[0]


@cache
def one_phone() -> Tally:
    return tally(farms.day())


def handed(at: int, wait_s: int) -> list[Entry]:
    """The small day, from an entry on by a second phone where the first one stopped.

    It begins with how the lever was left, and stands where the first one stood.
    """
    day = farms.day("first")
    lever = next(e["lever"] for e in reversed(day[:at]) if e["kind"] == "lever")
    place = next(e for e in reversed(day[:at]) if e["kind"] == "fix")
    later = 1000 * (wait_s + 2)
    says = {**day[at], "kind": "lever", "lever": lever, "how": "afterwards"}
    begins = [says | {"t_ms": place["t_ms"]}, place, *day[at:]]
    return [
        *day[:at],
        *(
            {**entry, "dev": "second", "seq": seq, "t_ms": entry["t_ms"] + later - 1000 * (seq < 3)}
            for seq, entry in enumerate(begins, 1)
        ),
    ]


UPS = [k for k, e in enumerate(farms.day()) if e.get("lever") == "up"]
PLACES = {
    "after the third run": UPS[2] + 1,
    "in the middle of the fourth run": UPS[2] + 90,
    "in the middle of the last run": UPS[4] + 40,
}


@pytest.mark.parametrize("wait_s", [30, 60, 900])
@pytest.mark.parametrize("where", PLACES)
def test_a_day_handed_on_is_the_day_of_one_phone(where: str, wait_s: int) -> None:
    one, two = one_phone(), tally(handed(PLACES[where], wait_s))
    assert two.questions == ()
    assert [p.kind for p in two.patches] == [p.kind for p in one.patches]
    for name in ("sown_ha", "bare_ha", "doubt_ha", "twice_ha"):
        assert getattr(two, name) == pytest.approx(getattr(one, name), abs=0.0005)
