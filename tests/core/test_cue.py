"""The count puts seed to the edge and a little over, at both ends, whatever the rig."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from shapely.geometry import MultiPolygon, Polygon

from unsown.core.cue import cue, margin, ranks_behind
from unsown.core.day import find
from unsown.core.errors import RigError
from unsown.core.plane import Plane
from unsown.core.words import (
    Cart,
    Fixes,
    Log,
    Mark,
    Paddock,
    PhonePlace,
    Rig,
    Settings,
    Times,
    Tool,
)

# the design paper's demo rig (job paper 3.1) at 7.5 km/h
DEMO = Rig(
    "Long drill",
    "towed",
    Tool(width_m=8.4, pin_to_axle_m=6.1, front_rank_m=1.7, rear_rank_m=-0.7),
    PhonePlace(ahead_of_axle_m=0.9, left_of_centre_m=0.25),
    axle_to_pin_m=1.05,
    times=Times(lower_s=1.8, raise_s=0.6, meter_s=0.9, fill_s=5.0, fill_spread_s=0.6, drain_s=4.6),
)
BETWEEN = replace(DEMO, kind="cart-between", cart=Cart(pin_to_axle_m=4.0, axle_to_pin_m=2.2))
MOUNTED = Rig(
    "Mounted",
    "mounted",
    Tool(width_m=4.0, front_rank_m=-1.2, rear_rank_m=-2.0),
    PhonePlace(ahead_of_axle_m=0.6),
    times=Times(lower_s=2.0, raise_s=0.8, meter_s=0.2, fill_s=0.6, drain_s=0.9),
)
SPEED = 7.5 / 3.6


def test_the_demo_rig_lifts_eight_point_seven_past_and_lowers_seven_point_one_before() -> None:
    # job paper 3.14, marked there as computed: 8.7 m past, 7.1 m before, count 4.2 s and 3.4 s
    found = cue(DEMO, SPEED, 1.2)
    assert found.lift_m == pytest.approx(8.7, abs=0.05)
    assert found.lower_m == pytest.approx(-7.1, abs=0.05)
    assert found.lift_s == pytest.approx(4.2, abs=0.05)
    assert found.lower_s == pytest.approx(-3.4, abs=0.05)


def test_the_openers_run_eight_metres_and_three_quarters_behind_the_phone() -> None:
    assert ranks_behind(DEMO) == pytest.approx((6.35, 8.75))
    assert ranks_behind(BETWEEN) == pytest.approx((12.55, 14.95))
    assert ranks_behind(MOUNTED) == pytest.approx((1.8, 2.6))


def test_the_lever_at_the_edge_itself_costs_fifty_and_sixty_three_square_metres() -> None:
    # job paper 2a and 3.14: the tractor driver's habit, moving the lever when the cab is there
    found = cue(DEMO, SPEED, 0.0)
    assert -found.lower_m * 8.4 == pytest.approx(50, abs=0.5)
    assert found.lift_m * 8.4 == pytest.approx(63, abs=0.5)


def driven(rig: Rig, lower_m: float, lift_m: float) -> tuple[float, float]:
    """How far before one edge and past the other, 300 m on, the sown ground of one run reaches.

    The engine's own answer, from positions, taps and the rig card: the formula is not in it.
    """
    plane = Plane(49.73, -106.21)
    half = rig.tool.width_m / 2
    first, last = 0.0, 300.0
    # little more than the run itself: driving straight on with the tool up looks like sowing
    t = np.arange(0, 165, 1.0)
    x = first - 20.0 + SPEED * t
    lon, lat = plane.to_degrees(x, np.full_like(x, rig.phone.left_of_centre_m))
    nan = np.full(len(t), np.nan)
    whole = np.zeros(len(t), dtype=np.int64)
    fixes = Fixes((1000 * t).astype(np.int64), lat, lon, nan, nan, nan, whole, whole)
    levers = [("down", first + lower_m), ("up", last + lift_m)]
    marks = tuple(
        Mark(round(1000 * (at - x[0]) / SPEED), "lever", says={"lever": lever})
        for lever, at in levers
    )
    wide = Polygon([(-60, -half), (360, -half), (360, half), (-60, half)])
    paddock = Paddock("strip", MultiPolygon([plane.shape_to_degrees(wide)]))
    tally, on = find(Log(fixes, marks), paddock, [rig], Settings(settle=False, draws=1))
    assert not tally.questions
    edge_x, _ = on.to_xy(*plane.to_degrees(np.array([first, last]), np.array([0.0, 0.0])))
    west, _, east, _ = tally.ground.sown.bounds
    return float(edge_x[0] - west), float(east - edge_x[1])


@pytest.mark.parametrize("rig", [DEMO, BETWEEN, MOUNTED], ids=lambda r: r.kind)
def test_a_run_driven_by_the_count_is_sown_to_the_margin_beyond_both_edges(rig: Rig) -> None:
    found = cue(rig, SPEED, 1.2)
    before, past = driven(rig, found.lower_m, found.lift_m)
    assert before == pytest.approx(1.2, abs=0.05)
    assert past == pytest.approx(1.2, abs=0.05)


def test_the_count_runs_from_the_seat_where_the_eye_is() -> None:
    # a phone on the windscreen 0.8 m ahead of the seat is past the edge by so much already
    ahead = replace(DEMO, phone=replace(DEMO.phone, ahead_of_seat_m=0.8))
    found, at_seat = cue(ahead, SPEED, 1.2), cue(DEMO, SPEED, 1.2)
    assert (found.lift_m, found.lower_m) == (at_seat.lift_m, at_seat.lower_m)
    assert found.lift_count_s == pytest.approx(at_seat.lift_s - 0.8 / SPEED)
    assert found.lower_count_s == pytest.approx(at_seat.lower_s - 0.8 / SPEED)
    assert at_seat.lift_count_s == at_seat.lift_s


def test_hoses_that_starve_before_the_points_are_out_bring_the_lift_later() -> None:
    slow = replace(DEMO, times=replace(DEMO.times, raise_s=3.0, first_starve_s=1.0))
    assert cue(slow, SPEED, 1.2).lift_m == pytest.approx(8.75 - SPEED * 1.0 + 1.2)


@given(
    speed=st.floats(0.3, 6.0),
    extra=st.floats(0.1, 3.0),
    m=st.floats(0.5, 3.0),
)
def test_faster_lifts_and_lowers_earlier_and_a_margin_stretches_both_ends(
    speed: float, extra: float, m: float
) -> None:
    slow, fast = cue(DEMO, speed, m), cue(DEMO, speed + extra, m)
    assert fast.lift_m < slow.lift_m
    assert fast.lower_m < slow.lower_m
    longer = cue(DEMO, speed, m + extra)
    assert longer.lift_m - slow.lift_m == pytest.approx(extra)
    assert slow.lower_m - longer.lower_m == pytest.approx(extra)


def test_the_margin_of_the_demo_prices_is_nine_tenths_of_the_spread() -> None:
    # job paper 3.14: C$795 bare against C$167 twice, q = 0.83, z = 0.94
    assert margin(795, 167, 1.0) == pytest.approx(0.94, abs=0.005)
    assert margin(795, 167, 1.28) == pytest.approx(1.2, abs=0.01)


@given(bare=st.floats(10, 5000), twice=st.floats(10, 5000), spread=st.floats(0.3, 4.0))
def test_no_other_margin_is_cheaper(bare: float, twice: float, spread: float) -> None:
    short = spread * stats.norm.ppf((np.arange(2000) + 0.5) / 2000)  # by so much, with no margin

    def cost(m: float) -> float:
        return float(np.where(short > m, bare * (short - m), twice * (m - short)).mean())

    cheapest = min(cost(m) for m in np.linspace(0.5, 3.0, 101))
    assert cost(margin(bare, twice, spread)) <= cheapest * (1 + 1e-3)


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan"), float("inf")])
def test_a_speed_that_is_none_is_refused(speed: float) -> None:
    with pytest.raises(RigError, match="working speed above zero"):
        cue(DEMO, speed, 1.0)


@pytest.mark.parametrize("costs", [(0, 167, 1.0), (795, -1, 1.0), (795, 167, 0.0)])
def test_costs_that_are_none_are_refused(costs: tuple[float, float, float]) -> None:
    with pytest.raises(RigError, match="above zero"):
        margin(*costs)
