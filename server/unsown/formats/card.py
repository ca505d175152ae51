"""A rig card in words: its points from front to rear, its delays, a side view in plain text."""

from __future__ import annotations

from dataclasses import dataclass

from unsown.core.words import Rig
from unsown.formats.units import Units

_COLUMNS = 72


@dataclass(frozen=True)
class Spot:
    """One point of the rig: metres behind the phone, along a straight drawbar."""

    letter: str
    name: str
    behind_m: float


def spots(rig: Rig) -> list[Spot]:
    """The rig's points from front to rear, metres behind the phone."""
    axle = rig.phone.ahead_of_axle_m
    found = [Spot("P", "phone", 0.0), Spot("T", "tractor's rear axle", axle)]
    origin = axle
    if rig.kind != "mounted":
        pin = axle + rig.axle_to_pin_m
        found.append(Spot("o", "hitch pin", pin))
        if rig.cart:
            found.append(Spot("C", "cart's axle", pin + rig.cart.pin_to_axle_m))
            pin += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
            found.append(Spot("o", "tool's pin", pin))
        origin = pin + rig.tool.pin_to_axle_m
        found.append(Spot("A", "tool's axle", origin))
    front, rear = origin - rig.tool.front_rank_m, origin - rig.tool.rear_rank_m
    if front == rear:
        found.append(Spot("R", "openers", rear))
    else:
        found += [Spot("F", "front rank", front), Spot("R", "rear rank", rear)]
    return sorted(found, key=lambda spot: spot.behind_m)


def describe(rig: Rig, units: Units | None = None) -> str:
    """The card in words: width, points along the rig, delays, and a side view to scale."""
    units = units or Units()
    tool, length = rig.tool, units.length
    rows = ""
    if tool.openers and tool.spacing_m:
        rows = f", {tool.openers} openers {length(tool.spacing_m)} apart"
    aside = []
    if rig.phone.left_of_centre_m:
        side = "left" if rig.phone.left_of_centre_m > 0 else "right"
        aside.append(f"phone {length(abs(rig.phone.left_of_centre_m))} {side} of the centre line")
    if rig.phone.ahead_of_seat_m:
        way = "ahead of" if rig.phone.ahead_of_seat_m > 0 else "behind"
        aside.append(f"phone {length(abs(rig.phone.ahead_of_seat_m))} {way} the seat")
    if tool.offset_left_m:
        side = "left" if tool.offset_left_m > 0 else "right"
        aside.append(f"tool {length(abs(tool.offset_left_m))} {side} of the hitch")
    lines = [
        f"{rig.name}: {rig.kind}, {length(tool.width_m)} wide{rows}",
        *(f"  {row}" for row in aside),
        "",
        *side_view(rig, units),
        "",
        "  behind the phone, on the straight:",
        *(f"  {s.letter}  {s.name:<20}{length(s.behind_m):>9}" for s in spots(rig)),
        "",
        *_times(rig),
        *(f"Note: {note}" for note in rig.notes),
    ]
    return "\n".join(lines).rstrip()


def _times(rig: Rig) -> list[str]:
    times = rig.times
    start = max(times.lower_s, times.meter_s + times.fill_s)
    starve = times.first_starve_s
    if starve is None and times.drain_s is not None:
        starve = 0.7 * times.drain_s
    end = times.raise_s if starve is None else min(times.raise_s, starve)
    return [
        f"  all rows seed from {start:.1f} s after the lever goes down "
        f"until {end:.1f} s after it goes up"
    ]


def side_view(rig: Rig, units: Units) -> list[str]:
    """Three lines of text, travel to the right; letters as in ``spots``."""
    found = spots(rig)
    front, rear = found[0].behind_m, found[-1].behind_m
    each = max(rear - front, 0.1) / (_COLUMNS - 1)
    bar = ["="] * _COLUMNS
    for spot in reversed(found):
        at = _COLUMNS - 1 - round((spot.behind_m - front) / each)
        while bar[at] != "=" and at > 0:  # two points at one place: the rear one moves aside
            at -= 1
        bar[at] = spot.letter
    rule = f"|<{f' {units.length(rear - front)} ':-^{_COLUMNS - 4}}>|"
    return [f"  {'rear':<{_COLUMNS - 5}}front", f"  {''.join(bar)} >", f"  {rule}"]
