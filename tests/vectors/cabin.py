"""Writes the cases of what the cab reckons: ``python tests/vectors/cabin.py``.

Expected values come from formulas and from the tape, never from the engine that they test.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from math import atan, degrees, inf, pi, sin, tan
from pathlib import Path
from statistics import NormalDist
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from vectors.made import case

#: The demo rig's card (job paper 3.1), and its lever's times.
LONG = {
    **{"kind": "towed", "axle_to_pin_m": 1.05, "phone_ahead_m": 0.9, "width_m": 8.4},
    **{"pin_to_axle_m": 6.1, "front_rank_m": 1.7, "rear_rank_m": -0.7, "cart": None},
    "times": {
        **{"lower_s": 1.8, "raise_s": 0.6, "meter_s": 0.9},
        **{"fill_s": 5.0, "drain_s": 4.6, "first_starve_s": None},
    },
}


def cued(
    name: str, why: str, rig: dict[str, Any], speed: float, bare: float, twice: float, spread: float
) -> None:
    """Lift and lower from the tape: each length and time once, no function of the engine."""
    times = rig["times"]
    wished = NormalDist(0, spread).inv_cdf(bare / (bare + twice))
    margin = min(max(wished, 0.5), 3.0)
    back = rig["phone_ahead_m"]
    if rig["kind"] != "mounted":
        back += rig["axle_to_pin_m"] + rig["pin_to_axle_m"]
    if rig["cart"] is not None:
        back += rig["cart"]["pin_to_axle_m"] + rig["cart"]["axle_to_pin_m"]
    starve = times["first_starve_s"]
    if starve is None:
        starve = inf if times["drain_s"] is None else 0.7 * times["drain_s"]
    stop = min(times["raise_s"], starve)
    start = max(times["lower_s"], times["meter_s"] + times["fill_s"])
    lift = back - rig["rear_rank_m"] - speed * stop + margin
    lower = back - rig["front_rank_m"] - speed * start - margin
    given = {"rig": rig, "speed_m_s": speed, "bare": bare, "twice": twice, "spread_m": spread}
    expect = {
        **{"margin_m": margin, "lift_m": lift, "lower_m": lower},
        **{"lift_s": lift / speed, "lower_s": lower / speed},
    }
    # the phone's quantile of the normal distribution has seven digits
    case(f"cue/{name}", why, given, expect, {"metres": 1e-5, "seconds": 1e-5})


def cues() -> None:
    demo = 7.5 / 3.6
    why = "Lengths and times of the card added by hand; "
    cued("demo", why + "the job paper's 8.7 m past, 7.1 m before.", LONG, demo, 795, 167, 1.28)
    cued("eye", why + "an eye on the edge.", LONG, demo, 795, 167, 1.0)
    cart = {**LONG, "kind": "cart-between", "cart": {"pin_to_axle_m": 4.0, "axle_to_pin_m": 2.2}}
    cued("cart_between", why + "a cart between tractor and tool.", cart, 2.5, 795, 167, 1.6)
    short = {**LONG["times"], "drain_s": None, "fill_s": 0.6, "meter_s": 0.2}  # type: ignore[dict-item]
    small = {**LONG, "kind": "mounted", "front_rank_m": -1.2, "rear_rank_m": -2.0, "times": short}
    cued("mounted", why + "drain never measured.", small, 1.6, 300, 290, 1.0)
    starved = {**LONG["times"], "raise_s": 4.0, "first_starve_s": 2.1}  # type: ignore[dict-item]
    cued("starves", why + "the first opener starves before the points lift.",
         {**LONG, "times": starved}, demo, 5000, 10, 2.0)  # fmt: skip


def sun(name: str, why: str, when: str, lat: float, lon: float, height: float) -> None:
    at = datetime.fromisoformat(when).replace(tzinfo=UTC)
    given = {"t_ms": round(at.timestamp() * 1000), "lat_deg": lat, "lon_deg": lon}
    expect = {"height_deg": height, "night": height < -6}
    case(f"sun/{name}", why, given, expect, {"degrees": 0.03})


def suns() -> None:
    why = "Height at apparent noon or midnight is 90° - |latitude -+ declination|: "
    # declination at the solstices and equinoxes: the obliquity, and nought
    sun("june_noon", why + "solstice of 2024.", "2024-06-20T12:01:45", 40, 0, 90 - 40 + 23.436)
    sun("june_midnight", why + "solstice.", "2024-06-20T00:01:40", 60, 0, -(90 - 60 - 23.436))
    sun("december_noon", why + "solstice.", "2024-12-21T11:58:10", 40, 0, 90 - 40 - 23.436)
    sun("south_noon", why + "solstice.", "2024-12-21T11:58:10", -30, 0, 90 - (30 - 23.436))
    sun("march_midnight", why + "equinox.", "2024-03-20T00:07:30", 50, 0, -(90 - 50) - 0.05)
    sun("across_180", why + "noon at the date line.", "2024-06-20T00:01:40", 40, 180, 73.436)


def tightest(hitch_m: float, link_m: float) -> float:
    """Radius of a tool axle's path at the end of a quarter turn of its hitch, rolled."""
    count = 20_000
    step = pi / 2 * hitch_m / count
    swing = 0.0
    for _ in range(count):
        swing += step / hitch_m - sin(swing) / link_m * step
    return link_m / tan(swing)


def strained(name: str, why: str, radius_m: float) -> None:
    """The inner front tine of the demo tool: atan(x / (r - y))."""
    angle = degrees(atan(1.7 / (radius_m - 4.2)))
    speed = 2.0
    for side, word in ((1, "left"), (-1, "right")):
        given = {"tool": WIDE, "turn_rad_s": side * speed / radius_m, "speed_m_s": speed}
        case(f"strain/{name}_{word}", why, given, {"worst_deg": angle}, {"degrees": 1e-9})


#: The demo rig's tool (job paper 3.1).
WIDE = {"width_m": 8.4, "front_rank_m": 1.7, "rear_rank_m": -0.7, "offset_left_m": 0.0}


def strains() -> None:
    why = "job paper 3.21: atan(x / (r - y)) where the axle's path is tightest in a quarter turn; "
    for hitch, paper in ((9, 22), (12, 13), (15, 10), (20, 6)):
        strained(f"quarter_{hitch}", f"{why}{paper} degrees there.", tightest(hitch, 6.1))
    given = {"tool": WIDE, "turn_rad_s": 0.5, "speed_m_s": 1.05}
    why = "the inner end runs backwards: 180 degrees - atan(w x / (w y - v)), most at the rear"
    back = degrees(pi - atan(0.5 * 0.7 / (0.5 * 4.2 - 1.05)))
    case("strain/pushed", why, given, {"worst_deg": back}, {"degrees": 1e-9})
    case("strain/straight", "no turn, no strain", {**given, "turn_rad_s": 0.0},
         {"worst_deg": 0.0}, {"degrees": 0.0})  # fmt: skip


if __name__ == "__main__":
    cues()
    suns()
    strains()
