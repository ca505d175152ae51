"""What happens to the phone itself is evidence of gaps, and changes nothing that was computed."""

from __future__ import annotations

import json

import smallday
from unsown.core.day import find
from unsown.core.words import Settings
from unsown.formats.boundary import read_paddock
from unsown.formats.log import read
from unsown.formats.rig import read_rig

TOLD = (
    {"what": "start", "page": "0.1", "battery": 0.8, "charging": True},
    {"what": "hidden"},
    {"what": "freeze"},
    {"what": "resume", "gap_ms": 41_200},
    {"what": "clock", "jump_ms": -3_600_000},
    {"what": "something of a later version"},
)


def test_entries_about_the_phone_change_no_ground() -> None:
    rig = read_rig(smallday.CARD.encode(), "rig")
    paddock = read_paddock(smallday.paddock().encode(), "paddock")
    plain = list(smallday.entries())
    told = [
        {"v": 1, "dev": "cab", "seq": len(plain) + 1 + i, "kind": "phone",
         "t_ms": smallday.START_MS + 60_000 * i, **says}
        for i, says in enumerate(TOLD)
    ]  # fmt: skip
    logs = [
        read("".join(json.dumps(e) + "\n" for e in entries).encode(), "log")
        for entries in (plain, plain + told)
    ]
    assert [m.says["what"] for m in logs[1].marks if m.kind == "phone"] == [
        says["what"] for says in TOLD
    ]
    without, beside = (find(log, paddock, (rig,), Settings(draws=8))[0] for log in logs)
    assert without.sown_ha > 0.8
    assert beside.sown_ha == without.sown_ha
    assert beside.bare_ha == without.bare_ha
    assert [r.on_s for r in beside.runs] == [r.on_s for r in without.runs]
