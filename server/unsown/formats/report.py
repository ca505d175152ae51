"""A day's Tally as one JSON object for programs, or as a short table for people."""

from __future__ import annotations

import json
import math
import textwrap
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from unsown.core.place import place_of
from unsown.core.rigs import Between, Share
from unsown.core.words import Patch, Question, Tally
from unsown.formats.place import degrees, in_words
from unsown.formats.units import Units

VERSION = 1
_MOST_PATCHES = 15
_MOST_QUESTIONS = 12
_WIDTH = 88
_AREAS = (
    *("sown_ha", "part_ha", "bare_ha", "bare_low_ha", "bare_high_ha", "listed_ha"),
    *("twice_ha", "again_ha", "doubt_ha", "unreachable_ha", "outside_ha", "swept_ha"),
)


def to_object(tally: Tally, name: str) -> dict[str, Any]:
    """What ``--json`` prints; every key, its unit and meaning: docs/reference/json.md."""
    return {
        "unsown": VERSION,
        "paddock": {
            "name": name,
            "net_ha": _number(tally.net_ha, 5),
            "keep_out_ha": _number(tally.keep_out_ha, 5),
        },
        **{key: _number(getattr(tally, key), 5) for key in _AREAS},
        "down_km": _number(tally.down_km, 3),
        "hours": _number(tally.hours, 4),
        "patches": [_patch(patch) for patch in tally.patches],
        "questions": [_question(question) for question in tally.questions],
        "settle": None
        if tally.settle is None
        else {k: _number(v, 3) for k, v in tally.settle.items()},
        "rigs": [_share(share) for share in tally.rigs],
        "between": [_between(seam) for seam in tally.between],
        "notes": list(tally.notes),
        "dropped": {str(k): int(v) for k, v in tally.dropped.items()},
    }


def to_json(tally: Tally, name: str, **more: Any) -> str:
    """The object as text: plain ASCII, so that no terminal or pipe can spoil it.

    ``more`` are keys that were asked for besides.
    """
    return json.dumps({**to_object(tally, name), **more}, indent=1, allow_nan=False)


def _patch(patch: Patch) -> dict[str, Any]:
    return {
        "number": patch.number,
        "area_m2": _number(patch.area_m2, 1),
        "chance": _number(patch.chance, 3),
        "call": patch.call,
        "kind": patch.kind,
        "lon": _number(patch.place.x, 7),
        "lat": _number(patch.place.y, 7),
        "width_m": _number(patch.width_m, 2),
        "length_m": _number(patch.length_m, 1),
        "asks": list(patch.asks),
    }


def _question(question: Question) -> dict[str, Any]:
    return {
        "number": question.number,
        "kind": question.kind,
        "from_ms": int(question.from_ms),
        "to_ms": int(question.to_ms),
        "lon": _number(question.lon_deg, 7),
        "lat": _number(question.lat_deg, 7),
        "text": question.text,
        "phone": question.phone,
        "answers": {str(k): _number(v, 1) for k, v in question.answers.items()},
    }


def _share(share: Share) -> dict[str, Any]:
    return {
        "name": share.name,
        "phones": list(share.phones),
        "sown_ha": _number(share.sown_ha, 5),
        "swept_ha": _number(share.swept_ha, 5),
        "down_km": _number(share.down_km, 3),
        "hours": _number(share.hours, 4),
    }


def _between(seam: Between) -> dict[str, Any]:
    return {
        "rigs": list(seam.rigs),
        "length_m": _number(seam.length_m, 0),
        "gap_m": _number(seam.gap_m, 2),
        "sigma_m": _number(seam.sigma_m, 2),
        "chance": _number(seam.chance, 3),
        "lon": _number(seam.place.x, 7),
        "lat": _number(seam.place.y, 7),
    }


def _number(value: float, digits: int) -> float | None:
    """Rounded; None where the day has no such number (JSON knows no NaN)."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def to_table(tally: Tally, name: str, units: Units | None = None, local: bool = False) -> str:
    """The day as a table of at most 88 columns.

    Args:
        tally: the day.
        name: the paddock's name.
        units: hectares and metres, or acres and feet.
        local: tell times by this computer's clock; UTC otherwise.
    """
    units = units or Units()
    blocks = [
        _ground(tally, name, units),
        _patches(tally, units),
        _questions(tally, units, local),
        _remarks(tally, units),
        [
            "You decide and you drive: this list knows no slopes, wires, holes or soft ground,",
            "and its picture can be metres wrong.",
        ],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _ground(tally: Tally, name: str, units: Units) -> list[str]:
    area = units.area
    out = f", {area(tally.keep_out_ha)} kept out" if tally.keep_out_ha >= 0.005 else ""
    rows = [
        ("sown", area(tally.sown_ha), ""),
        ("sown twice", area(tally.twice_ha), "part of what was sown"),
        ("some rows only", area(tally.part_ha), "where the tool went in or came out"),
        ("bare", area(tally.bare_ha), _band(tally, units)),
        ("doubt", area(tally.doubt_ha), "not known whether it was sown"),
        ("can't reach", area(tally.unreachable_ha), "inside the fence, outside the turn"),
        ("outside", area(tally.outside_ha), "sown beyond the boundary"),
    ]
    always = {"sown", "sown twice", "bare"}
    shown = [r for r in rows if r[0] in always or not r[1].startswith("0.00")]
    return [
        f"{name}: {area(tally.net_ha)} to sow{out}",
        *(f"  {word:<15}{value:>10}  {why}".rstrip() for word, value, why in shown),
        f"  {units.road(tally.down_km)} with the tool down, {tally.hours:.1f} h from first "
        "lowering to last lift",
        *(_rig(share, units) for share in tally.rigs if len(tally.rigs) > 1),
    ]


def _rig(share: Share, units: Units) -> str:
    """One of several rigs that worked at once, in a line."""
    who = ", ".join(share.phones)
    return (
        f"  {share.name} ({who}): {units.area(share.sown_ha)} sown,"
        f" {units.road(share.down_km)} with the tool down"
    )


def _band(tally: Tally, units: Units) -> str:
    low, high = units.area(tally.bare_low_ha), units.area(tally.bare_high_ha)
    return f"likely between {low.split()[0]} and {high}"


def _patches(tally: Tally, units: Units) -> list[str]:
    if not tally.patches:
        return ["No bare patch was found."]
    net = tally.ground.net
    rows = [
        (
            str(p.number),
            units.size(p.area_m2),
            p.call,
            p.kind,
            degrees(p.place.x, p.place.y),
            in_words(place_of(p.outline, net), units),
        )
        for p in tally.patches[:_MOST_PATCHES]
    ]
    head = ("no", "size", "how sure", "what", "where", "")
    wide = [max(len(row[i]) for row in [head, *rows]) for i in range(5)]
    lines = [f"Bare patches, {units.area(tally.listed_ha)} of them sure or likely:"]
    for no, size, call, kind, at, place in [head, *rows]:
        line = (
            f"  {no:>{wide[0]}}  {size:>{wide[1]}}  {call:<{wide[2]}}  {kind:<{wide[3]}}  "
            f"{at:<{wide[4]}}  {place}"
        )
        lines.append(line.rstrip())
    if len(tally.patches) > _MOST_PATCHES:
        lines.append(f"  and {len(tally.patches) - _MOST_PATCHES} more: --json lists them all")
    if any(p.call == "can't tell" for p in tally.patches):
        lines.append(
            "  can't tell: could be the satellites. Look at the furrow before you drive it."
        )
    return lines


def _questions(tally: Tally, units: Units, local: bool) -> list[str]:
    if not tally.questions:
        return []
    zone = _moment(tally.questions[0].from_ms, local).strftime("%Z")
    lines = [f"Questions (times are {zone}); give what you know with --answer NUMBER=WORD:"]
    for question in tally.questions[:_MOST_QUESTIONS]:
        when = _span(question, local)
        lines += textwrap.wrap(
            f"{when}: {question.text}",
            _WIDTH,
            initial_indent=f"  {question.number:>2}  ",
            subsequent_indent="      ",
        )
        lines.append("      " + _answers(question.answers, units))
    if len(tally.questions) > _MOST_QUESTIONS:
        lines.append(f"  and {len(tally.questions) - _MOST_QUESTIONS} more: --json lists them all")
    return lines


def _answers(answers: Mapping[str, float], units: Units) -> str:
    """The words that answer, each with the ground it would call sown, where there is any."""
    return "   ".join(
        f"{word} ({units.size(m2)} sown)" if m2 >= 0.5 else word for word, m2 in answers.items()
    )


def _span(question: Question, local: bool) -> str:
    start, end = _moment(question.from_ms, local), _moment(question.to_ms, local)
    until = f"{end:%H:%M:%S}" if start.date() == end.date() else f"{end:%d %b %H:%M:%S}"
    return f"{start:%d %b %H:%M:%S} to {until}"


def _moment(t_ms: int, local: bool) -> datetime:
    moment = datetime.fromtimestamp(t_ms / 1000, UTC)
    return moment.astimezone() if local else moment


def _remarks(tally: Tally, units: Units) -> list[str]:
    lines = []
    if tally.settle and tally.settle.get("moved_m", 0.0) >= 0.05:
        lines.append(
            f"Settling moved the runs by about {tally.settle['moved_m']:.1f} m; --no-settle "
            "leaves them where the phone put them."
        )
    if tally.dropped:
        parts = ", ".join(f"{count} {why}" for why, count in tally.dropped.items())
        lines.append(f"Left out of the track: {parts}.")
    lines += [f"Note: {note}" for note in tally.notes]
    return [row for line in lines for row in textwrap.wrap(line, _WIDTH, subsequent_indent="  ")]
