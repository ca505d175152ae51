"""The towed link against published curves and closed forms.

Marks after each source: A read in the source, B the source from memory, D a closed form (its
own source named). ``num`` means that an adaptive 8th-order integrator agreed as well.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose

from drives import drive, straight, turn
from unsown.core.cover import Poses, piece_cuts, swept
from unsown.core.tow import bar, tow
from unsown.core.words import Cart, Rig, Tool


def dragged(length_m: float, start_deg: float, way_m: float, steps: int = 50) -> float:
    """Angle φ between drawbar and way, degrees, after a straight way."""
    x = np.linspace(0.0, way_m, steps + 1)
    return float(
        np.degrees(tow(x, np.zeros_like(x), length_m, start_rad=np.radians(start_deg))[-1])
    )


def circle(radius_m: float, way_m: float, step_m: float) -> tuple[np.ndarray, ...]:
    """Points and tangents of a circle entered from the origin heading east, centre (0, R)."""
    s = np.arange(0.0, way_m + step_m / 2, step_m)
    a = s / radius_m
    return radius_m * np.sin(a), radius_m * (1 - np.cos(a)), a


# Tractrix x = a(t − tanh t), y = a sech t: CRC Concise Encyclopedia of Mathematics,
# "Tractrix", archive.lib.msu.edu/crcmath/math/math/t/t227.htm; proofwiki.org "Equation of
# Tractrix" (A). TK1.
@pytest.mark.parametrize("step_m", [0.25, 1.0, 4.0])
def test_a_point_dragged_along_a_line_draws_the_tractrix(step_m: float) -> None:
    a = 8.0
    x = np.arange(0.0, 40.0 + step_m / 2, step_m)
    heading = tow(x, np.zeros_like(x), a, start_rad=-np.pi / 2)
    t = x / a
    assert_allclose(x - a * np.cos(heading), a * (t - np.tanh(t)), atol=1e-10)
    assert_allclose(-a * np.sin(heading), a / np.cosh(t), atol=1e-10)


# tan(φ/2) = tan(φ0/2) exp(−s/L), which follows from the tractrix above (D num). TK2, TK3, TK7.
@pytest.mark.parametrize(
    ("length", "start", "way", "angle"),
    [
        (8, 90, 4, 62.4761916077),
        (8, 90, 8, 40.3950625791),
        (8, 90, 16, 15.4146268070),
        (8, 90, 24, 5.7004708747),
        (8, 90, 40, 0.7721001670),
        (12, 45, 12, 17.3282374336),
        (12, 45, 24, 6.4170242212),
        (6, 60, 6, 23.9823183855),
        (6, 150, 12, 53.5946868951),
        (12, 30, 36, 1.5286071039),
        (6.1, 90, 6.1, 40.3950625791),
    ],
)
@pytest.mark.parametrize("steps", [1, 7, 200])
def test_straight_tow_in_is_exact_at_any_step(
    length: float, start: float, way: float, angle: float, steps: int
) -> None:
    assert_allclose(dragged(length, start, way, steps), angle, atol=1e-8)
    assert_allclose(dragged(length, -start, way, steps), -angle, atol=1e-8)


# Offset L sin φ and place s − L cos φ of the same tow-in (D num; D). TK4, TK5.
@pytest.mark.parametrize(
    ("way", "aside", "along"),
    [
        (4, 7.0945510718, 0.3030627419),
        (8, 5.1844341893, 1.9072467524),
        (16, 2.1264178307, 8.2877793594),
        (24, 0.7946234194, 16.0395619705),
        (40, 0.1078022578, 32.0007263659),
    ],
)
def test_the_axle_lies_where_the_tractrix_has_it(way: float, aside: float, along: float) -> None:
    phi = np.radians(dragged(8.0, 90.0, way))
    assert_allclose(8 * np.sin(phi), aside, atol=1e-8)
    assert_allclose(way - 8 * np.cos(phi), along, atol=1e-8)


# Length of the tractrix L ln cosh(s/L) (D from the curve above). TK6.
@pytest.mark.parametrize(("way", "length"), [(8, 3.4702466439), (24, 18.4746280366)])
def test_the_axles_own_way_is_shorter_by_the_tractrix_law(way: float, length: float) -> None:
    x = np.linspace(0.0, way, 20_001)
    heading = tow(x, np.zeros_like(x), 8.0, start_rad=np.pi / 2)
    ax, ay = x - 8 * np.cos(heading), -8 * np.sin(heading)
    assert_allclose(np.hypot(np.diff(ax), np.diff(ay)).sum(), length, atol=1e-7)


# s = L ln[tan(φ0/2)/tan(φ/2)] (D from TK2). TK8, TK9.
@pytest.mark.parametrize(
    ("length", "start", "end", "way"),
    [
        (8, 90, 5, 25.0504106518),
        (8, 90, 1, 37.9307900829),
        (12, 60, 2, 41.9858312922),
        (6, 30, 1, 20.5463451806),
        (8, 90, np.degrees(np.arcsin(0.5 / 8)), 27.7180632534),
        (8, 90, np.degrees(np.arcsin(0.1 / 8)), 40.6010780036),
        (12, 90, np.degrees(np.arcsin(0.5 / 12)), 46.4492004034),
    ],
)
def test_the_way_to_come_straight(length: float, start: float, end: float, way: float) -> None:
    assert_allclose(dragged(length, start, way), end, atol=1e-8)


# Area under the drawbar ½ L² Δφ: Mamikon's theorem for the tractrix (B; D). TK10.
@pytest.mark.parametrize(
    ("way", "area"), [(8, 27.7046234637), (16, 41.6563307535), (24, 47.0817389158)]
)
def test_the_drawbar_sweeps_the_tractrix_area(way: float, area: float) -> None:
    x = np.linspace(0.0, way, 4001)
    heading = tow(x, np.zeros_like(x), 8.0, start_rad=np.pi / 2)
    axle = np.column_stack([x - 8 * np.cos(heading), -8 * np.sin(heading)])
    ring = np.concatenate([np.column_stack([x, 0 * x]), axle[::-1]])
    assert_allclose(shapely.Polygon(ring).area, area, atol=1e-5)


def steady(radius: float, rig: Rig, step_m: float) -> tuple[float, float]:
    """Radius of the tool's axle and articulation, degrees, after ten rounds."""
    x, y, course = circle(radius, 20 * np.pi * radius, step_m)
    tx, ty, tool, tractor = bar(rig, x, y, course)
    last = slice(-int(2 * np.pi * radius / step_m), None)
    return (
        float(np.hypot(tx, ty - radius)[last].mean()),
        float(np.degrees(tractor - tool)[last].mean()),
    )


def towed(length: float, pin: float) -> Rig:
    return Rig("t", "towed", Tool(12.0, pin_to_axle_m=length), axle_to_pin_m=pin)


# Steady off-tracking √(R² + M² − L²): the sum-of-squares rule, Western Highway Institute,
# Offtracking Characteristics, 1970; SAE J695 (B rule, D num). TK11 to TK14.
CIRCLES = [
    (20, 8, 0.0, 18.3303027798, 23.5781784782),
    (15, 8, 0.0, 12.6885775404, 32.2309526355),
    (20, 10, 1.0, 17.3493515729, 32.8211415036),
    (15, 9, 1.2, 12.0598507453, 41.3070878129),
    (12, 6, 0.8, 10.4230513766, 33.7408354516),
    (10.5, 5.2, 2.0, 9.3386294498, 39.8945343124),
    (30, 12, 0.9, 27.5101799340, 25.2852918835),
    (9, 6.1, 0.0, np.sqrt(81 - 37.21), np.degrees(np.arcsin(6.1 / 9))),
]


@pytest.mark.parametrize(("radius", "length", "pin", "tool_radius", "angle"), CIRCLES)
def test_a_steady_circle_is_right_to_a_millimetre_at_quarter_metre_steps(
    radius: float, length: float, pin: float, tool_radius: float, angle: float
) -> None:
    found, articulation = steady(radius, towed(length, pin), 0.25)
    assert_allclose(found, tool_radius, atol=1e-3)
    assert_allclose(articulation, angle, atol=0.01)


@pytest.mark.parametrize(("radius", "length", "pin", "tool_radius", "angle"), CIRCLES)
def test_the_error_on_a_circle_is_second_order_in_the_step(
    radius: float, length: float, pin: float, tool_radius: float, angle: float
) -> None:
    for step in (0.25, 0.5, 1.0):  # docs/explain/trail.md states the law and 13 mm at 1 m
        error = steady(radius, towed(length, pin), step)[0] - tool_radius
        assert_allclose(error, -(step**2) / (12 * tool_radius), rtol=0.05)
        assert abs(error) < 0.013


# Two links: R1 = √(R² + M0² − L1²), R2 = √(R1² + M1² − L2²), the same rule twice (D). TK15,
# TK16.
@pytest.mark.parametrize(
    ("radius", "pin", "cart", "cart_pin", "length", "tool_radius"),
    [
        (15, 1.0, 7, 1.5, 6, 11.9687092036),
        (20, 1.2, 9, 2, 7, 16.5963851486),
        (12, 0.8, 5, 0, 6, 9.1454906921),
    ],
)
def test_a_cart_between_is_two_links(
    radius: float, pin: float, cart: float, cart_pin: float, length: float, tool_radius: float
) -> None:
    rig = Rig(
        "c",
        "cart-between",
        Tool(12.0, pin_to_axle_m=length),
        axle_to_pin_m=pin,
        cart=Cart(cart, cart_pin),
    )
    # two chains of chords: their errors add, 1.05 mm on the tightest
    assert_allclose(steady(radius, rig, 0.25)[0], tool_radius, atol=1.1e-3)


# Entry to a circle: (u1 − u)/(u2 − u) = u1² exp(−q s/L), u = tan(φ/2), k = L/R, q = √(1 − k²),
# u1,2 = (1 ∓ q)/k, from φ' = 1/R − sin φ / L (D num). TK17 to TK19.
ENTRIES = [
    (20, 10.0, 16.4263839135, 19.3263908461),
    (20, 10 * np.pi, 22.9773656385, 18.4141905456),
    (20, 20 * np.pi, 23.5617843562, 18.3325918310),
    (15, 7.5 * np.pi, 29.8825119535, float(np.hypot(11.0142150492, 8.0636091282 - 15))),
]


@pytest.mark.parametrize(("radius", "way", "angle", "from_centre"), ENTRIES)
@pytest.mark.parametrize(("most_step", "tolerance"), [(0.02, 1e-5), (0.25, 1e-3)])
def test_entering_a_circle(
    radius: float, way: float, angle: float, from_centre: float, most_step: float, tolerance: float
) -> None:
    step = way / np.ceil(way / most_step)
    x, y, course = circle(radius, way, step)
    heading = tow(x, y, 8.0, start_rad=0.0)
    ax, ay = x - 8 * np.cos(heading), y - 8 * np.sin(heading)
    assert_allclose(np.degrees(course[-1] - heading[-1]), angle, atol=tolerance * 12)
    assert_allclose(np.hypot(ax[-1], ay[-1] - radius), from_centre, atol=tolerance)


def test_entering_a_circle_puts_the_axle_at_the_right_point() -> None:
    # TK17 and TK19, the same closed form (D num)
    for radius, way, place in [
        (20, 10.0, (1.7698187309, 0.7548155427)),
        (15, 7.5 * np.pi, (11.0142150492, 8.0636091282)),
    ]:
        x, y, _ = circle(radius, way, way / 2000)
        heading = tow(x, y, 8.0, start_rad=0.0)
        assert_allclose((x[-1] - 8 * np.cos(heading[-1])), place[0], atol=1e-5)
        assert_allclose((y[-1] - 8 * np.sin(heading[-1])), place[1], atol=1e-5)


def turning_bar(radius: float, angle: float, n: int) -> Poses:
    a = np.linspace(0.0, angle, n)
    return Poses(a, radius * np.sin(a), -radius * np.cos(a), a, radius * a)


def test_the_tips_of_the_bar_go_at_the_ratio_of_their_radii() -> None:
    # (R_t ∓ W/2)/R_t with R_t = 18.3303027798, W = 12 (D). TK20.
    from unsown.core.cover import bar_ends

    left, right = bar_ends(turning_bar(18.3303027798, np.pi / 2, 20_001), 0.0, 12.0)
    middle = 18.3303027798 * np.pi / 2
    inner = np.hypot(*np.diff(left, axis=0).T).sum() / middle
    outer = np.hypot(*np.diff(right, axis=0).T).sum() / middle
    assert_allclose((inner, outer), (0.6726731646, 1.3273268354), atol=1e-8)


def test_a_steady_turn_sweeps_an_annulus() -> None:
    # θ R_t W = 345.5180673066 m² (D, annulus; Pappus). TK21. Thinning may take 1 cm of edge.
    poses = turning_bar(18.3303027798, np.pi / 2, 1001)
    pieces = swept(poses, piece_cuts(poses), 0.0, 12.0)
    assert_allclose(shapely.union_all(pieces).area, 345.5180673066, rtol=1e-4)


# A steady turn exists only where R² + M² > L² (D from TK13). TK22.
def test_a_turn_tighter_than_the_drawbar_folds_the_tool_and_stays_finite() -> None:
    x, y, course = circle(5.0, 40 * np.pi, 0.25)
    tx, ty, tool, tractor = bar(towed(8.0, 0.0), x, y, course)
    assert np.isfinite(tx).all()
    assert np.isfinite(ty).all()
    assert np.abs(tractor - tool).max() > np.pi / 2  # nothing hides that it cannot be
    assert_allclose(np.hypot(tx - x, ty - y), 8.0, atol=1e-9)  # the drawbar keeps its length


def test_two_links_follow_a_quarter_turn_where_one_long_link_does_not() -> None:
    # Job table of this project (C, computed): 9 m turn at 1 Hz, worst error of the tool's axle
    # two links 0.13 m, one link of the whole length 1.14 m.
    parts = straight(60) + turn(9.0, 90) + straight(60)
    fine = drive(parts, speed=1.0, hz=50.0)
    coarse = drive(parts, speed=2.083, hz=1.0)
    rig = towed(6.1, 1.05)
    truth = bar(rig, fine.x_m, fine.y_m, fine.heading_rad)[:2]
    way, shown = np.arange(len(fine.t_s)) / 50.0, np.arange(len(coarse.t_s)) * 2.083
    there = bar(rig, coarse.x_m, coarse.y_m, coarse.heading_rad)[:2]
    gap = np.hypot(*(np.interp(shown, way, a) - b for a, b in zip(truth, there, strict=True)))
    assert gap.max() < 0.14
    one = tow(coarse.x_m, coarse.y_m, 7.15, start_rad=0.0)
    lone = (coarse.x_m - 7.15 * np.cos(one), coarse.y_m - 7.15 * np.sin(one))
    off = np.hypot(*(np.interp(shown, way, a) - b for a, b in zip(truth, lone, strict=True)))
    assert off.max() > 3 * gap.max()
