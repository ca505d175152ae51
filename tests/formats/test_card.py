"""A rig card in words and as a drawing: the distances of the job paper's demo rig."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from unsown.core.words import Cart, PhonePlace, Rig, Times, Tool
from unsown.formats.card import describe, side_view, spots
from unsown.formats.sketch import draw_rig
from unsown.formats.units import Units

# Job paper 3.1: phone 0.90 m ahead of the axle, pin 1.05 m behind it, 6.10 m to the tool's axle,
# ranks 1.70 m ahead of it and 0.70 m behind: 8.75 m from the phone to the rearmost opener.
DEMO = Rig(
    "Demo drill",
    "towed",
    Tool(8.4, 28, 0.3, 6.1, 1.7, -0.7),
    PhonePlace(0.9, 0.25),
    1.05,
    times=Times(1.8, 0.6, 0.9, 5.0, 0.6, 4.6),
)
CART = Rig("Cart", "cart-between", Tool(12, None, None, 7.1, 1, -1), PhonePlace(), 1, Cart(4, 0.8))
MOUNTED = Rig("Bar", "mounted", Tool(6, None, None, 0, -1.2, -1.9), PhonePlace(0.9))


def test_the_phone_is_8_75_m_ahead_of_the_rearmost_opener() -> None:
    assert spots(DEMO)[-1].name == "rear rank"
    assert spots(DEMO)[-1].behind_m == pytest.approx(8.75)


def test_a_cart_between_lengthens_the_way_by_both_its_distances() -> None:
    at = {spot.name: spot.behind_m for spot in spots(CART)}
    assert at["cart's axle"] == pytest.approx(5.0)
    assert at["tool's axle"] == pytest.approx(1 + 4 + 0.8 + 7.1)


def test_the_ranks_of_a_mounted_tool_count_from_the_tractors_rear_axle() -> None:
    assert spots(MOUNTED)[-1].behind_m == pytest.approx(0.9 + 1.9)


def test_the_delays_are_those_that_all_rows_see() -> None:
    # 3.6: from max(lower, meter + fill) = 5.9 s, until min(raise, 0.7 drain) = 0.6 s
    assert "from 5.9 s after the lever goes down until 0.6 s after" in describe(DEMO)


@pytest.mark.parametrize("rig", [DEMO, CART, MOUNTED], ids=lambda rig: rig.kind)
def test_the_side_view_is_to_scale(rig: Rig) -> None:
    _, bar, _ = side_view(rig, Units())
    bar = bar.removeprefix("  ").removesuffix(" >")
    found = spots(rig)
    each = (found[-1].behind_m - found[0].behind_m) / (len(bar) - 1)
    for spot in found:
        columns = [len(bar) - 1 - i for i, sign in enumerate(bar) if sign == spot.letter]
        assert min(abs(c * each - spot.behind_m) for c in columns) <= each * 1.01


@pytest.mark.parametrize("rig", [DEMO, CART, MOUNTED], ids=lambda rig: rig.kind)
def test_the_drawing_is_well_formed_and_names_every_point(rig: Rig) -> None:
    root = ElementTree.fromstring(draw_rig(rig))
    words = " ".join(e.text or "" for e in root.iter())
    assert all(spot.name in words for spot in spots(rig))
    assert "8.75 m" in words or rig is not DEMO


def test_feet_are_feet() -> None:
    assert "28.7 ft" in describe(DEMO, Units(acres=True))  # 8.75 m / 0.3048
