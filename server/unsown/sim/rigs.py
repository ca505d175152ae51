"""Seven invented rigs: towed, mounted and with a cart between, 6 to 18 m wide.

The first is the demo farm's own. Distances are metres, times seconds, as on a rig card.
"""

from __future__ import annotations

from unsown.core.errors import RigError
from unsown.core.words import Cart, PhonePlace, Rig, Times, Tool

DEMO = Rig(
    name="Ninepost hoe drill 8.4 m",
    kind="towed",
    tool=Tool(
        width_m=8.4,
        openers=28,
        spacing_m=0.30,
        pin_to_axle_m=6.10,
        front_rank_m=1.70,
        rear_rank_m=-0.70,
        overlap_wish_m=0.30,
    ),
    phone=PhonePlace(0.90, 0.25),
    axle_to_pin_m=1.05,
    tightest_m=9.0,
    times=Times(1.8, 0.6, 0.9, 5.0, 0.6, 4.6),
)
SIX = Rig(
    name="six metre disc drill",
    kind="towed",
    tool=Tool(6.0, 40, 0.15, 4.60, 0.50, -0.30, overlap_wish_m=0.2),
    phone=PhonePlace(1.20, -0.30),
    axle_to_pin_m=0.95,
    tightest_m=7.5,
    times=Times(1.2, 0.5),
)
TWELVE = Rig(
    name="twelve metre airseeder",
    kind="towed",
    tool=Tool(12.0, 48, 0.25, 7.20, 2.10, -0.90, overlap_wish_m=0.4),
    phone=PhonePlace(1.50, 0.0),
    axle_to_pin_m=1.30,
    tightest_m=11.0,
    times=Times(2.0, 0.8, 1.0, 4.0, 0.5, 4.0),
)
EIGHTEEN = Rig(
    name="eighteen metre airseeder",
    kind="towed",
    tool=Tool(18.0, 60, 0.30, 8.60, 2.20, -0.80, overlap_wish_m=0.5),
    phone=PhonePlace(2.10, 0.40),
    axle_to_pin_m=1.40,
    tightest_m=13.0,
    times=Times(2.4, 1.0, 1.0, 5.0, 0.8, 5.0, 3.2),
)
MOUNTED = Rig(
    name="nine metre mounted planter",
    kind="mounted",
    tool=Tool(9.0, 12, 0.75, 0.0, -1.60, -2.20, overlap_wish_m=0.1),
    phone=PhonePlace(1.10, 0.20),
    tightest_m=7.0,
    times=Times(1.5, 0.7),
)
CART = Rig(
    name="ten metre drill behind its cart",
    kind="cart-between",
    tool=Tool(10.0, 40, 0.25, 5.40, 1.20, -1.20, overlap_wish_m=0.3),
    phone=PhonePlace(1.00, -0.20),
    axle_to_pin_m=1.10,
    cart=Cart(4.20, 0.90),
    tightest_m=11.0,
    times=Times(1.6, 0.6, 0.8, 3.0, 0.4, 3.0),
)
OFFSET = Rig(
    name="seven metre drill set to the left",
    kind="towed",
    tool=Tool(7.0, 28, 0.25, 5.20, 1.00, -0.60, 0.45, 0.2),
    phone=PhonePlace(0.70, 0.0),
    axle_to_pin_m=1.00,
    tightest_m=8.5,
    times=Times(1.5, 0.6, 0.5, 1.5, 0.2, 2.0),
)

RIGS: dict[str, Rig] = {
    "demo": DEMO,
    "six": SIX,
    "twelve": TWELVE,
    "eighteen": EIGHTEEN,
    "mounted": MOUNTED,
    "cart": CART,
    "offset": OFFSET,
}


def rig_named(name: str) -> Rig:
    """The invented rig of that short name; RigError when there is none."""
    if name not in RIGS:
        raise RigError(
            "rig-unknown",
            f"expected one of {', '.join(RIGS)}, got {name!r}",
            hint="Name one of the simulator's rigs or hand in a rig card.",
        )
    return RIGS[name]


def reach_m(rig: Rig) -> float:
    """Metres from the tractor's rear axle back to the tool's axle when all is straight."""
    if rig.kind == "mounted":
        return 0.0
    cart = 0.0 if rig.cart is None else rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
    return rig.axle_to_pin_m + cart + rig.tool.pin_to_axle_m


def settle_m(rig: Rig) -> float:
    """Metres of straight driving a driver leaves for the tool to come straight."""
    if rig.kind == "mounted":
        return 2.0
    cart = 0.0 if rig.cart is None else rig.cart.pin_to_axle_m
    return 1.3 * (cart + rig.tool.pin_to_axle_m)
