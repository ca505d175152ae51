"""The simulator's kinematics against closed forms."""

from __future__ import annotations

from dataclasses import replace
from math import asin, atan, atan2, degrees, exp, hypot, pi, radians, sqrt, tan

import numpy as np
import pytest

from unsown.core.words import Cart, Floats, Rig, Tool
from unsown.sim.drive import STEP_M, Poses, roll
from unsown.sim.rigs import CART, DEMO, MOUNTED, reach_m


def towed(length_m: float, pin_m: float = 0.0) -> Rig:
    return Rig("towed", "towed", Tool(8.0, pin_to_axle_m=length_m), axle_to_pin_m=pin_m)


def straight(length_m: float, step_m: float = STEP_M) -> Floats:
    x = np.arange(0, length_m + step_m / 2, step_m)
    return np.column_stack([x, np.zeros(len(x))])


def circle(radius_m: float, turns: float, step_m: float = 0.25) -> Floats:
    a = np.arange(0, turns * 2 * pi, step_m / radius_m)
    return radius_m * np.column_stack([np.sin(a), 1 - np.cos(a)])


def drive(xy: Floats, rig: Rig, theta0: float | None = None, gear: int = 1) -> Poses:
    return roll(xy, np.full(len(xy), gear), rig, theta0)


# TK3 of the check values: tan(φ/2) = tan(φ₀/2)·exp(−s/L), from the equation itself (closed form).
@pytest.mark.parametrize(
    ("s_m", "phi_deg"), [(4, 62.4761916077), (8, 40.3950625791), (24, 5.7004708747)]
)
def test_a_tool_at_right_angles_comes_straight_as_the_tractrix_says(
    s_m: float, phi_deg: float
) -> None:
    poses = drive(straight(40.0), towed(8.0), theta0=-pi / 2)
    at = round(s_m / STEP_M)
    assert degrees(poses.swing()[at]) == pytest.approx(phi_deg, abs=1e-4)


def test_the_tool_axle_stays_on_the_tractrix_of_its_pin() -> None:
    poses = drive(straight(40.0), towed(6.1), theta0=-pi / 2)
    phi = 2 * np.arctan(tan(pi / 4) * np.exp(-poses.s / 6.1))
    assert np.allclose(poses.tool_y, 6.1 * np.sin(phi), atol=1e-4)
    assert np.allclose(poses.tool_x, poses.s - 6.1 * np.cos(phi), atol=1e-4)


# TK13, TK14: R_t = √(R² + M² − L²), the sum-of-squares rule (Western Highway Institute,
# Offtracking Characteristics, 1970; SAE J695); figures computed from it.
@pytest.mark.parametrize(
    ("radius_m", "length_m", "pin_m", "tool_radius_m"),
    [
        (20, 8, 0.0, 18.3303027798),
        (20, 10, 1.0, 17.3493515729),
        (15, 9, 1.2, 12.0598507453),
        (10.5, 5.2, 2.0, 9.3386294498),
    ],
)
def test_in_a_steady_turn_the_tool_runs_on_its_own_smaller_circle(
    radius_m: float, length_m: float, pin_m: float, tool_radius_m: float
) -> None:
    poses = drive(circle(radius_m, 3.0), towed(length_m, pin_m))
    away = np.hypot(poses.tool_x, poses.tool_y - radius_m)[-200:-5]
    assert away == pytest.approx(tool_radius_m, abs=2e-3)


# TK15: two trailers one behind the other, the same rule twice.
def test_with_a_cart_between_the_rule_holds_twice() -> None:
    rig = Rig("cart", "cart-between", Tool(8.0, pin_to_axle_m=6.0), cart=Cart(7.0, 1.5))
    poses = drive(circle(15.0, 4.0), replace(rig, axle_to_pin_m=1.0))
    away = np.hypot(poses.tool_x, poses.tool_y - 15.0)[-200:-5]
    assert away == pytest.approx(11.9687092036, abs=3e-3)


# TK17: entry to a circle, R = 20, L = 8, after 10 m of arc; closed form derived there.
def test_on_the_way_into_a_circle_the_swing_grows_as_the_closed_form_says() -> None:
    poses = drive(circle(20.0, 0.3, 0.05), towed(8.0), theta0=0.0)
    at = int(np.argmin(np.abs(poses.s - 10.0)))
    assert degrees(poses.swing()[at]) == pytest.approx(16.4263839135, abs=0.02)


def test_a_mounted_tool_points_where_the_tractor_points() -> None:
    poses = drive(circle(12.0, 1.0), MOUNTED)
    assert np.array_equal(poses.theta, poses.psi)
    assert np.array_equal(poses.tool_x, poses.x)


@pytest.mark.parametrize("rig", [DEMO, CART])
def test_every_link_keeps_its_length(rig: Rig) -> None:
    poses = drive(circle(14.0, 1.5), rig)
    gone = np.hypot(poses.tool_x - poses.x, poses.tool_y - poses.y)
    assert (gone < reach_m(rig) + 1e-9).all()
    start = hypot(float(poses.tool_x[0] - poses.x[0]), float(poses.tool_y[0] - poses.y[0]))
    assert start == pytest.approx(reach_m(rig), abs=1e-9)


def test_the_tool_axle_never_slips_sideways() -> None:
    poses = drive(circle(12.0, 1.0, 0.1), DEMO)
    dx, dy = np.gradient(poses.tool_x), np.gradient(poses.tool_y)
    slip = -dx * np.sin(poses.theta) + dy * np.cos(poses.theta)
    assert np.abs(slip[50:-5] / np.hypot(dx, dy)[50:-5]).max() < 1e-3


def test_backing_swings_a_tool_out_as_fast_as_driving_on_brings_it_in() -> None:
    back = straight(6.0)[::-1]
    poses = drive(back, towed(8.0), theta0=radians(-5.0), gear=-1)
    grown = 2 * atan(tan(radians(2.5)) * exp(6.0 / 8.0))
    assert float(poses.psi[-1]) == pytest.approx(0.0, abs=1e-12)
    assert float(poses.swing()[-1]) == pytest.approx(grown, abs=1e-4)


def test_a_jack_knife_stops_where_the_drawbar_meets_the_wheel() -> None:
    poses = drive(straight(60.0)[::-1], towed(5.0), theta0=radians(-5.0), gear=-1)
    assert degrees(float(np.abs(poses.swing()).max())) < 70.0


def test_the_swing_of_a_steady_turn_is_the_sum_of_both_angles() -> None:
    radius, length, pin = 15.0, 9.0, 1.2
    poses = drive(circle(radius, 3.0), towed(length, pin))
    tool = sqrt(radius**2 + pin**2 - length**2)
    want = atan2(pin, radius) + atan2(length, tool)
    assert float(poses.swing()[-50]) == pytest.approx(want, abs=1e-3)
    assert want > asin(length / radius)
