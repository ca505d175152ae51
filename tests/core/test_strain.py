"""A turning tool drags its inner tines sideways, the more the tighter it turns."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from unsown.core.strain import BACKWARDS_DEG, tine_deg, worst_deg
from unsown.core.tow import tow
from unsown.core.words import Tool

# the demo tool of the job paper's 3.1
TOOL = Tool(width_m=8.4, pin_to_axle_m=6.1, front_rank_m=1.7, rear_rank_m=-0.7)


@pytest.mark.parametrize(("hitch_m", "paper_deg"), [(9, 22), (12, 13), (15, 10), (20, 6)])
def test_a_quarter_turn_strains_the_inner_front_tine_as_the_paper_says(
    hitch_m: float, paper_deg: float
) -> None:
    # job paper 3.21, marked there as computed; the tool is towed round by the engine's own link
    arc = np.linspace(0.0, pi / 2, 4000)
    x = np.concatenate([np.linspace(-30, -0.01, 3000), hitch_m * np.sin(arc)])
    y = np.concatenate([np.zeros(3000), hitch_m * (1 - np.cos(arc))])
    heading = tow(x, y, TOOL.pin_to_axle_m)
    axle = x - 6.1 * np.cos(heading), y - 6.1 * np.sin(heading)
    turn, step = np.diff(heading), np.hypot(np.diff(axle[0]), np.diff(axle[1]))
    worst = max(worst_deg(TOOL, float(w), float(v)) for w, v in zip(turn, step, strict=True))
    assert worst == pytest.approx(paper_deg, abs=0.8)


def test_an_inner_end_that_runs_backwards_is_past_a_right_angle() -> None:
    assert worst_deg(TOOL, 0.5, 2.0) > BACKWARDS_DEG
    assert worst_deg(TOOL, 0.5, 2.2) < BACKWARDS_DEG


@given(
    turn=st.floats(-1, 1).filter(lambda w: abs(w) > 1e-3),
    speed=st.floats(0.1, 4),
    ahead=st.floats(-3, 3),
    left=st.floats(-9, 9),
)
def test_the_angle_is_that_of_the_tines_own_velocity(
    turn: float, speed: float, ahead: float, left: float
) -> None:
    # where the tine goes in a short time, seen from the tool, by turning the whole body
    short = 1e-6
    radius = speed / turn
    centre = 0.0, radius
    at = ahead - centre[0], left - centre[1]
    angle = turn * short
    moved = at[0] * cos(angle) - at[1] * sin(angle), at[0] * sin(angle) + at[1] * cos(angle)
    along, across = moved[0] - at[0], moved[1] - at[1]
    want = np.degrees(np.arctan2(abs(across), along))
    if hypot(along, across) > 1e-9:
        assert tine_deg(turn, speed, ahead, left) == pytest.approx(want, abs=0.05)


def test_driving_straight_strains_nothing() -> None:
    assert worst_deg(TOOL, 0.0, 2.0) == 0.0
