"""The eight lines of the sheet: what is known in words, what is not as a ruled blank for a pen."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

import numpy as np
from shapely.geometry import Point

from unsown.core.handover import Aboard, Handover, going
from unsown.core.place import place_of
from unsown.core.words import Rig
from unsown.formats.eight import MOVED_M
from unsown.formats.handed import from_json
from unsown.formats.place import in_words
from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.formats.when import moment
from unsown.papers.advice import Advice, left_over
from unsown.papers.rigs import shares
from unsown.papers.scene import Scene, Way

#: Letters that there is room for: after the next action, and for the hazards.
_MOST_THEN, _MOST_HAZARDS = 240, 150
#: Two phones are both named where their names are no longer together.
_SHORT = 14


@dataclass(frozen=True)
class Line:
    """One of the eight: its name, and its text as HTML."""

    name: str
    html: str


def lines(
    work: Mapping[str, Any],
    scene: Scene,
    said: Advice,
    rig: Rig | None,
    units: Units,
    where: tzinfo,
) -> list[Line]:
    """The eight lines in their order."""
    handed = from_json(work["handover"]) if work.get("handover") else None
    return [
        Line("Ground", ground(work.get("tally"), scene, units)),
        Line("Next", f"<b>{quote(said.first)}</b>" + _more(said.then)),
        Line("Bins", _bins(handed, work.get("fills") or (), units, where)),
        Line("Restart", _restart(scene, units, where)),
        Line("Hazards", _hazards(scene)),
        Line("Machine", _machine(rig, units, handed, others(work))),
        Line("Peg", _peg(work.get("pegs") or (), where, units, handed)),
        Line("Who", _who(work, handed)),
    ]


def blank(mm: int) -> str:
    """A rule to write on, ``mm`` wide: one of the widths the style sheet knows."""
    return f'<span class="blank mm{mm}"></span>'


def ground(tally: Mapping[str, Any] | None, scene: Scene, units: Units) -> str:
    """Sown, left, doubt and twice, with the band of what is left, as HTML."""
    if tally is None or not scene.shown:
        return f"sown {blank(20)} bare {blank(20)} doubt {blank(20)}"
    net = units.area(tally["paddock"]["net_ha"])
    by = shares(tally, units)
    parts = [
        f"sown <b>{units.area(tally['sown_ha'])}</b> of {net}" + (f" ({quote(by)})" if by else ""),
        f"bare <b>{units.area(tally['bare_ha'])}</b> ({band(tally, units)})",
    ]
    rest = left_over(scene)
    if rest:
        parts.append(f"of it not reached yet {units.size(sum(p.area_m2 for p in rest))}")
    parts.append(f"doubt <b>{units.area(tally['doubt_ha'])}</b>")
    parts.append(f"sown twice {units.area(tally['twice_ha'])}")
    if tally["unreachable_ha"] >= 0.005:
        parts.append(f"can't reach {units.area(tally['unreachable_ha'])}")
    # a number and its unit stay on one line
    return re.sub(r"(?<=\d) (?=ha\b|ac\b)", "&nbsp;", "; ".join(parts)) + "."


def band(tally: Mapping[str, Any], units: Units) -> str:
    """The band of the bare ground, 5 to 95 %, such as ``1.04 to 1.31 ha``."""
    low, high = units.area(tally["bare_low_ha"]), units.area(tally["bare_high_ha"])
    return f"{low.split()[0]} to {high}"


def _more(then: Sequence[str]) -> str:
    shown = sentences(then, _MOST_THEN)
    return f' <span class="then">{quote(shown)}</span>' if shown else ""


def sentences(said: Sequence[str], most: int) -> str:
    """As many whole sentences as ``most`` letters hold, the first ones first."""
    out = ""
    for sentence in re.split(r"(?<=[.?]) ", " ".join(said)):
        if len(out) + len(sentence) > most:
            break
        out += f"{sentence} "
    return out.strip()


def cut(text: str, most: int) -> str:
    """The text, cut between words where it is longer than ``most`` letters."""
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0] + " …"


def _bins(
    handed: Handover | None, fills: Sequence[Mapping[str, Any]], units: Units, where: tzinfo
) -> str:
    known = {each.product: each for each in (handed.aboard if handed else ())}
    row = "".join(
        f'<span class="bin">{_bin(name, unit, known.get(name), units)}</span>'
        for name, unit in (("seed", "kg"), ("fertiliser", "kg"), ("fuel", "L"))
    )
    if not fills:
        return row
    last = max(fills, key=lambda fill: fill["t_ms"])
    together = [f for f in fills if abs(f["t_ms"] - last["t_ms"]) < 3_600_000]
    what = ", ".join(filled(fill) for fill in together[-2:])
    return f'{row}<span class="small">filled {moment(last["t_ms"], where)}: {what}</span>'


def _bin(name: str, unit: str, aboard: Aboard | None, units: Units) -> str:
    """What is reckoned to be on board, or rules for the pen."""
    if aboard is None:
        return f"{name} {blank(14)} {unit} = {blank(14)} ha = {blank(11)} rounds"
    rounds = blank(11) if aboard.rounds is None else str(aboard.rounds)
    word = "round" if aboard.rounds == 1 else "rounds"
    step = 10 if unit == "L" else 50
    amount = max(round(aboard.amount / step) * step, 0)
    return (
        f"{name} about <b>{amount} {unit}</b>: at least <b>{units.rough(aboard.ha_sure)}</b>, "
        f"{rounds} {word}"
    )


def filled(fill: Mapping[str, Any]) -> str:
    """What was filled, as HTML, such as ``seed 2400 kg``."""
    kg, litres = fill.get("kg"), fill.get("l")
    amount = f"{kg:g} kg" if kg is not None else f"{litres:g} L" if litres is not None else ""
    return quote(f"{str(fill.get('product') or 'something')[:14]} {amount}".strip())


def _restart(scene: Scene, units: Units, where: tzinfo) -> str:
    last = scene.last
    if last is None:
        return f"at {blank(40)} going {blank(20)}"
    end = Point(last.line.coords[-1])
    spot = in_words(place_of(end, scene.net), units)
    way = heading(last)
    toward = f", going {way}" if way else ""
    return f"at the arrow: <b>{quote(spot)}</b>{toward}. Lifted {moment(last.up_ms, where)}."


def heading(way: Way) -> str:
    """Where a run was going at its end, such as ``north-east``; nothing for a run of no length."""
    x, y = np.asarray(way.line.coords).T[:2]
    return going(x, y)


def _hazards(scene: Scene) -> str:
    marked: dict[str, str] = {}
    hazards = [name for name in scene.names if name.hazard]
    many = Counter(name.letter for name in hazards)
    for name in hazards:
        what = name.what.removesuffix(" (hazard)")
        places = f"{many[name.letter]} places" if many[name.letter] > 1 else ""
        about = ", ".join(x for x in (places, scene.notes.get(what, "")) if x)
        marked[name.letter] = f"{what} ({about})" if about else what
    tail = "Only what was marked is here."
    if not marked:
        return f"none were marked. {tail}"
    said = cut("; ".join(f"{k} {v}" for k, v in marked.items()), _MOST_HAZARDS)
    return f"<b>{quote(said)}</b>. {tail}"


def others(work: Mapping[str, Any]) -> str:
    """Which rigs were out too, and whose the bins and the restart are; empty where one was out."""
    own = work.get("rig")
    if not own:
        return ""
    names = dict.fromkeys(str(r["name"]) for r in work.get("rigs") or () if r["name"] != own)
    also = cut(", ".join(names), 40) or "another rig"
    return f"; {also} worked here too: bins and restart are of {cut(str(own), 28)} alone"


def _machine(rig: Rig | None, units: Units, handed: Handover | None, also: str) -> str:
    if rig is None:
        return blank(90) + quote(also)
    notes = "".join(f"; {quote(cut(note, 44))}" for note in (handed.machine[1:2] if handed else ()))
    wide = units.length(rig.tool.width_m)
    return f"{quote(rig.name[:28])}, {wide} wide{notes}{quote(also)} {blank(24)}"


def _peg(
    pegs: Sequence[Mapping[str, Any]], where: tzinfo, units: Units, handed: Handover | None
) -> str:
    moved = handed.moved_m if handed is not None else None
    settled = ""
    if moved and moved >= MOVED_M:
        settled = f"; runs shifted about {units.step(moved)} to fit each other"
    if not pegs:
        return f"none logged: another day's picture may lie metres off{settled}"
    last: dict[str, float] = {}
    for peg in pegs:
        name = str(peg.get("name") or "peg")[:20]
        last[name] = max(peg["t_ms"], last.get(name, peg["t_ms"]))
    latest = sorted(last.items(), key=lambda pair: -pair[1])[:2]
    days = [moment(t, where)[:-6] for _, t in latest]
    told = [
        f"<b>{quote(name)}</b>" + (f" ({day})" if day != days[-1] or k == len(days) - 1 else "")
        for k, ((name, _), day) in enumerate(zip(latest, days, strict=True))
    ]
    said = " or ".join(told)
    return f"peg check first at {said}{settled if len(latest) < 2 else ''}"


def _who(work: Mapping[str, Any], handed: Handover | None) -> str:
    runs = work.get("runs") or ()
    named = sorted({str(run["phone"])[:16] for run in runs if run.get("phone")} - {"phone"})
    shown = 2 if len(named) == 2 and len("".join(named)) < _SHORT else 1
    more = len(named) - shown
    phones = " and ".join(named[:shown]) + (f" and {more} more" if more > 0 else "")
    by = f"logged by {quote(phones)}; " if phones else ""
    driver = quote(cut(handed.driver, 16)) if handed is not None and handed.driver else blank(20)
    return f"{by}from {driver} to {blank(20)}"
