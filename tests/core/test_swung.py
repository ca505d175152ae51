"""Ground beside the first metres of a log: nobody knows yet how the tool lies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from drives import DRAGGED, RIGID, WHOLE, Drive, drive, straight
from unsown.core.clean import clean
from unsown.core.cover import Poses, piece_cuts, poses_between, swept, swung
from unsown.core.tow import tow
from unsown.core.trail import Trail, trail
from unsown.core.words import Rig


def trailed(d: Drive, rig: Rig) -> Trail:
    nothing = np.full(len(d.t_s), np.nan)
    speed = np.abs(d.speed_m_s)
    told = {"acc_m": nothing, "speed_m_s": speed, "course_rad": d.heading_rad}
    return trail(clean(d.t_s, d.x_m, d.y_m, **told), rig)


def reached(path: Trail, rig: Rig, to_s: float = 60.0) -> shapely.Geometry:
    return shapely.union_all(swung(path, rig, 0.0, to_s))


def line(poses: Poses, rig: Rig) -> shapely.Geometry:
    tool, cuts = rig.tool, piece_cuts(poses)
    ranks = [swept(poses, cuts, a, tool.width_m) for a in (tool.front_rank_m, tool.rear_rank_m)]
    return shapely.union_all([piece for pieces in ranks for piece in pieces])


def begun_at(aside_rad: float, d: Drive) -> tuple[Trail, Poses]:
    """What the engine makes of a drive, and where the tool went that began so far aside."""
    path = trailed(d, DRAGGED)
    length = DRAGGED.tool.pin_to_axle_m
    was = path.heading_rad
    x, y = path.x_m + length * np.cos(was), path.y_m + length * np.sin(was)
    now = tow(x, y, length, start_rad=aside_rad)
    x, y = x - length * np.cos(now), y - length * np.sin(now)
    true = replace(path, x_m=x, y_m=y, heading_rad=now)
    return path, poses_between(true, 0.0, 60.0)[0]


@pytest.mark.parametrize("aside_deg", [-55, -30, 30, 55])
def test_a_tool_that_began_aside_sowed_the_strip_or_what_may_be_reached(aside_deg: float) -> None:
    path, true = begun_at(np.radians(aside_deg), drive(straight(60)))
    strip = line(poses_between(path, 0.0, 60.0)[0], DRAGGED)
    missed = line(true, DRAGGED).difference(strip)
    assert missed.area > 3.0
    # what is left: it lies a little past one sigma when it has been pulled twice its length
    assert missed.difference(reached(path, DRAGGED)).area < 0.35 * missed.area


def test_nothing_is_in_question_once_it_was_pulled_twice_its_length() -> None:
    path = trailed(drive(straight(60)), WHOLE)
    length = WHOLE.tool.pin_to_axle_m
    known_s = float(np.interp(2.1 * length, path.path_m, path.t_s))
    assert swung(path, WHOLE, known_s, 30.0) == []
    far = reached(path, WHOLE, 30.0).bounds[2]
    assert far < 2 * length + WHOLE.tool.width_m


def test_it_turns_about_its_pin_to_both_sides_alike() -> None:
    path = trailed(drive(straight(60)), DRAGGED)
    _, low, _, high = reached(path, DRAGGED).bounds
    assert low == pytest.approx(-high, abs=0.01)
    assert high > DRAGGED.tool.width_m / 2 + 1.0


def test_a_mounted_tool_cannot_swing() -> None:
    assert swung(trailed(drive(straight(60)), RIGID), RIGID, 0.0, 30.0) == []
