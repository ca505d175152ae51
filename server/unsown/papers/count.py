"""The count sticker: when to lift and lower by counting, to cut out and stick beside the lever."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from unsown.core.cue import Cue, cue, margin
from unsown.core.price import Prices, capacity_ha_per_h
from unsown.core.words import Rig
from unsown.formats.quote import quote
from unsown.formats.rig import read_rig
from unsown.formats.units import FOOT_M, Units
from unsown.papers.scene import Way

_LIFT = ("raise_s",)
_LOWER = ("lower_s", "meter_s", "fill_s")
_LONG_M = 100.0  # shorter runs are mostly getting going and stopping
_HOLDS = 0.15  # the count holds this far around its speed (job paper 3.14)
_PLAIN_M_S = (6.0 / 3.6, 7.5 / 3.6, 9.0 / 3.6)  # where no speed is known
_MPH_M_S = 0.44704
_EVEN_M = 0.5  # the margin where the farm gave no prices: none is worth more than the other


@dataclass(frozen=True)
class Count:
    """What the sticker says for one speed; None where the card has not the times for it."""

    speed_m_s: float
    lift: Cue | None
    lower: Cue | None


def rig_of(rig: Mapping[str, Any] | None) -> Rig | None:
    """The rig of a saved card (``toml``); None where there is none.

    Raises:
        RigError: the card cannot be used.
    """
    if not rig or not rig.get("toml"):
        return None
    return read_rig(str(rig["toml"]).encode(), str(rig.get("name") or "rig"))


def measured(rig: Mapping[str, Any] | None) -> set[str]:
    """The times that stand on the card itself: a default of zero is not a measurement."""
    times = ((rig or {}).get("card") or {}).get("times") or {}
    return {key for key, value in times.items() if value is not None}


def working_speed(ways: Sequence[Way]) -> float | None:
    """The middle speed of the long stretches sown, m/s; None where there are none."""
    speeds = [
        way.length_m / ((way.to_ms - way.from_ms) / 1000)
        for way in ways
        if way.length_m > _LONG_M and way.to_ms > way.from_ms
    ]
    return median(speeds) if speeds else None


def margin_of(rig: Rig, speed_m_s: float, prices: Mapping[str, Any]) -> float:
    """The margin by the farm's prices, m; half a metre where they are not all given."""
    names = Prices.__dataclass_fields__
    given = {name: prices.get(name) for name in names}
    if any(value is None for value in given.values()):
        return _EVEN_M
    farm = Prices(**given)  # type: ignore[arg-type]
    bare = farm.bare_ha()
    twice = farm.twice_ha(capacity_ha_per_h(speed_m_s, rig.tool.width_m))
    return margin(bare, twice) if bare > 0 and twice > 0 else _EVEN_M


def count_of(rig: Rig, has: set[str], speed_m_s: float, prices: Mapping[str, Any]) -> Count:
    """Lift and lower at one speed, each only where the card has the times it takes."""
    found = cue(rig, speed_m_s, margin_of(rig, speed_m_s, prices))
    return Count(
        speed_m_s,
        found if has.issuperset(_LIFT) else None,
        found if has.issuperset(_LOWER) else None,
    )


def sticker(
    rig: Mapping[str, Any] | None,
    ways: Sequence[Way],
    settings: Mapping[str, Any],
    units: Units,
) -> str:
    """The sticker as HTML.

    The count is that of the speed really driven; without any it stands for three usual speeds.
    """
    card = rig_of(rig)
    if card is None:
        return _box("The count", _blank("There is no rig card: the count cannot be told."))
    has = measured(rig)
    prices = settings.get("prices") or {}
    driven = working_speed(ways)
    speeds = (
        _PLAIN_M_S if driven is None else (driven * (1 - _HOLDS), driven, driven * (1 + _HOLDS))
    )
    counts = [count_of(card, has, speed, prices) for speed in speeds]
    if counts[0].lift is None and counts[0].lower is None:
        return _box(card.name, _blank("The rig card has no times: measure them, then print again."))
    # where the card says how far the phone is from the seat, the count is the seat's own
    seat = "ahead_of_seat_m" in _phone(rig)
    who = "your seat" if seat else "the phone"
    body = _table(counts, units, who) if driven is None else _rows(counts, units, who)
    return _box(card.name, body + ("" if seat else _seat(counts[1], units)))


def _phone(rig: Mapping[str, Any] | None) -> set[str]:
    """The keys of the card's phone, in metres."""
    given = ((rig or {}).get("card") or {}).get("phone") or {}
    return {f"{key.rpartition('_')[0]}_m" for key, value in given.items() if value is not None}


def _rows(counts: Sequence[Count], units: Units, who: str) -> str:
    """The two counts in large letters, for the speed in the middle."""
    middle = counts[1]
    lift = lower = "<b>______</b>"
    if middle.lift is not None:
        at_m = middle.lift.lift_count_s * middle.speed_m_s
        lift = _cue(middle.lift.lift_count_s, at_m, units, "count <b>{}</b>", who)
    if middle.lower is not None:
        at_m = middle.lower.lower_count_s * middle.speed_m_s
        lower = _cue(middle.lower.lower_count_s, at_m, units, "<b>{}</b> s", who)
    speed = _speed(middle.speed_m_s, units)
    holds = f"{_speed(counts[0].speed_m_s, units)} to {_speed(counts[2].speed_m_s, units)}"
    return (
        f'<p class="at">at {speed} (holds from {holds})</p>'
        f'<p class="cue"><span class="tag">Lift</span> {lift}</p>'
        f'<p class="cue"><span class="tag">Lower</span> {lower}</p>'
    )


def _cue(seconds: float, metres: float, units: Units, number: str, who: str) -> str:
    if _halves(abs(seconds)) == "0":
        return f"just as {who} crosses the line"
    said = number.format(_halves(abs(seconds)))
    return f"{said} {_after(seconds)} {who} crosses the line ({_way(abs(metres), units)})"


def _table(counts: Sequence[Count], units: Units, who: str) -> str:
    def cell(found: Cue | None, name: str) -> str:
        if found is None:
            return "<td>______</td>"
        value = getattr(found, name)
        return f"<td>{_halves(abs(value))} s {_after(value)}</td>"

    heads = "".join(f"<th>{_speed(c.speed_m_s, units)}</th>" for c in counts)
    lifts = "".join(cell(c.lift, "lift_count_s") for c in counts)
    lowers = "".join(cell(c.lower, "lower_count_s") for c in counts)
    return (
        f'<p class="small">Seconds from when {who} crosses the line.</p>'
        f'<table class="speeds"><tr><td></td>{heads}</tr>'
        f"<tr><th>lift</th>{lifts}</tr><tr><th>lower</th>{lowers}</tr></table>"
    )


def _seat(middle: Count, units: Units) -> str:
    step_m, word = (FOOT_M * 3, "3 ft") if units.acres else (1.0, "1 m")
    share = _halves(step_m / middle.speed_m_s)
    return (
        f'<p class="small">By the phone. By the seat, each {word} behind it: {share} s sooner.</p>'
    )


def _box(name: str, body: str) -> str:
    return (
        '<section class="sticker" aria-label="Count sticker, to cut out">'
        f'<p class="cut">✂ stick beside the lever</p><h2>{quote(name[:32])}</h2>{body}'
        '<p class="small"><b>Before leaving the seat: tool down or locked, engine off, key out. '
        "Never under a raised tool.</b></p></section>"
    )


def _blank(why: str) -> str:
    return (
        f'<p class="small">{quote(why)}</p>'
        '<p class="cue"><span class="tag">Lift</span> count <b>______</b> after</p>'
        '<p class="cue"><span class="tag">Lower</span> <b>______</b> s before</p>'
    )


def _after(value: float) -> str:
    return "after" if value >= 0 else "before"


def _halves(seconds: float) -> str:
    """Seconds to the half that a person can count, such as ``3½``."""
    twice = round(seconds * 2)
    whole, half = divmod(twice, 2)
    if not twice:
        return "0"
    return (str(whole) if whole else "") + ("½" if half else "")


def _way(metres: float, units: Units) -> str:
    """To the metre or to two feet: an eye on the edge and a count are no finer."""
    return f"{2 * round(metres / FOOT_M / 2)} ft" if units.acres else f"{round(metres)} m"


def _speed(speed_m_s: float, units: Units) -> str:
    if units.acres:
        return f"{speed_m_s / _MPH_M_S:.1f} mph"
    return f"{speed_m_s * 3.6:.1f} km/h"
