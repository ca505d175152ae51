"""Ground that may have been sown in a blind stretch."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from drives import RIGID, Step, drive, straight, turn
from unsown.core.clean import clean
from unsown.core.cover import blind_swath
from unsown.core.trail import Trail, trail

WIDTH_M = RIGID.tool.width_m


def lost(parts: list[Step], from_s: float, to_s: float) -> tuple[Trail, int, shapely.LineString]:
    """The trail of a drive at 2 m/s without the fixes between two times, and the way in there."""
    d = drive(parts)
    keep = (d.t_s <= from_s) | (d.t_s >= to_s)
    some = [a[keep] for a in (d.t_s, d.x_m, d.y_m, np.abs(d.speed_m_s), d.heading_rad)]
    t, x, y, speed, course = some
    track = clean(t, x, y, acc_m=np.full(len(t), 3.0), speed_m_s=speed, course_rad=course)
    path = trail(track, RIGID)
    gone = shapely.LineString(np.column_stack([d.x_m, d.y_m])[(d.t_s >= from_s) & (d.t_s <= to_s)])
    return path, int(np.flatnonzero(path.blind)[0]), gone


def slowed(path: Trail, at: int, speed_m_s: float) -> Trail:
    """The same with the driver slow for ten seconds on either side of a step, as in a turn."""
    t = path.t_s
    near = ((t > t[at] - 10) & (t <= t[at])) | ((t >= t[at + 1]) & (t < t[at + 1] + 10))
    return replace(path, speed_m_s=np.where(near, speed_m_s, path.speed_m_s))


def test_a_stretch_driven_straight_may_be_sown_under_the_bar_alone() -> None:
    path, at, gone = lost(straight(400), 60, 130)
    swath = blind_swath(path, at, at + 1, WIDTH_M)
    assert swath.area == pytest.approx(140 * WIDTH_M, rel=0.01)
    assert swath.buffer(0.2).covers(gone.buffer(WIDTH_M / 2, cap_style="flat"))


def test_slow_ends_do_not_make_a_bow_a_straight_line() -> None:
    # out of the line and back into it, 13 % longer than straight: at the speed of the ends, of
    # turns, a straight line would explain it, and ground sown in the bow was called surely bare
    bow = [*turn(60, 50), *turn(60, -100), *turn(60, 50)]
    path, at, gone = lost([*straight(160), *bow, *straight(160)], 78, 186)
    path = slowed(path, at, 1.5)
    swath = blind_swath(path, at, at + 1, WIDTH_M)
    assert swath.covers(gone)
    assert swath.area > 3 * gone.length * WIDTH_M


def test_a_tool_that_lay_across_the_line_was_not_pulled_along_it() -> None:
    path, at, gone = lost([*straight(160), *turn(12, 90), *straight(100)], 40, 91)
    apart = np.hypot(path.x_m[at + 1] - path.x_m[at], path.y_m[at + 1] - path.y_m[at])
    assert apart > 0.9 * gone.length
    assert blind_swath(path, at, at + 1, WIDTH_M).covers(gone)


def test_where_nobody_moved_before_or_after_it_the_ends_alone_tell_the_speed() -> None:
    path, at, _ = lost(straight(400), 60, 130)
    still = replace(path, speed_m_s=np.full(len(path), 0.1))
    # 70 s at 0.1 m/s explain no way: the straight strip is all that is known
    assert blind_swath(still, at, at + 1, WIDTH_M).area == pytest.approx(140 * WIDTH_M, rel=0.01)
