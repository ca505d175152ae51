"""The kind that a whole day gives its patches."""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry import box

from drives import PLAIN, RIGID, WHOLE, down, drive, log, paddock, small_day, straight, turn, up
from unsown.core.day import find
from unsown.core.words import KeepOut


def test_a_missed_run_is_a_strip() -> None:
    parts = down() + straight(200) + up() + turn(8, 180) + down() + straight(200) + up()
    t, _ = find(log(drive(parts)), paddock(box(0, -4, 200, 20)), [RIGID], PLAIN)
    assert [p.kind for p in t.patches] == ["strip"]


def test_an_early_lift_is_a_finish_and_a_late_drop_a_start() -> None:
    # the bar's line at a run's start and end decides, not its first and last 150 m
    lane = drive(down() + straight(80) + up(), at=(60.0, 0.0, 0.0))
    t, _ = find(log(lane), paddock(box(40, -4, 165, 4)), [RIGID], PLAIN)
    west, east = sorted(t.patches, key=lambda p: p.place.x)
    assert (west.kind, east.kind) == ("start", "finish")


def test_a_paddock_all_keep_out_has_nothing_to_sow() -> None:
    given, where = small_day()
    t, _ = find(given, replace(where, keep_outs=(KeepOut("slough", where.area),)), [WHOLE], PLAIN)
    assert (t.net_ha, t.sown_ha, t.bare_ha) == (0.0, 0.0, 0.0)
