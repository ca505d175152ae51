"""What a number on a rig card may be: wide enough for any rig, narrow enough to catch a slip."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

KINDS = ("towed", "mounted", "cart-between")
FOOT_M = 0.3048
INCH_M = 0.0254


class Limit(NamedTuple):
    """What a number on the card may be, inclusive, and what it is."""

    low: float
    high: float
    what: str


LIMITS: Mapping[str, Limit] = {
    "phone.ahead_of_axle_m": Limit(-5, 12, "phone ahead of the tractor's rear axle"),
    "phone.left_of_centre_m": Limit(-3, 3, "phone left of the tractor's centre line"),
    "phone.ahead_of_seat_m": Limit(-5, 5, "phone ahead of the seat"),
    "tractor.axle_to_pin_m": Limit(0, 6, "rear axle back to the hitch pin"),
    "cart.pin_to_axle_m": Limit(0.5, 15, "hitch pin back to the cart's axle"),
    "cart.axle_to_pin_m": Limit(-3, 8, "cart's axle back to the tool's pin"),
    "tool.width_m": Limit(0.5, 60, "working width"),
    "tool.openers": Limit(1, 400, "number of openers"),
    "tool.spacing_m": Limit(0.05, 2, "row spacing"),
    "tool.pin_to_axle_m": Limit(0.5, 25, "hitch pin back to the tool's axle"),
    "tool.front_rank_m": Limit(-25, 25, "front rank ahead of the axle (behind is negative)"),
    "tool.rear_rank_m": Limit(-25, 25, "rear rank ahead of the axle (behind is negative)"),
    "tool.offset_left_m": Limit(-30, 30, "tool's centre left of the hitch"),
    "tool.overlap_wish_m": Limit(0, 10, "overlap wished for at each seam"),
    "tool.tine_caution_deg": Limit(0, 90, "sideways tine angle that calls for care"),
    "tool.tine_severe_deg": Limit(0, 90, "sideways tine angle that breaks"),
    "turn.tightest_m": Limit(1, 60, "radius of the tightest turn"),
    "times.lower_s": Limit(0, 30, "lever to points at depth"),
    "times.raise_s": Limit(0, 30, "lever to points no longer placing seed"),
    "times.meter_s": Limit(0, 30, "lever to meter turning"),
    "times.fill_s": Limit(0, 30, "meter turning to seed at the last opener"),
    "times.fill_spread_s": Limit(0, 30, "spread of the fill time"),
    "times.drain_s": Limit(0, 30, "meter stopped to hoses empty"),
    "times.first_starve_s": Limit(0, 30, "meter stopped to the first opener without seed"),
}
