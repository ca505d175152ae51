"""The eight lines of a handover, in plain text: for the slip, the sheet and the screen.

What is not known is ``BLANK``: a rule for the pen on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from unsown.core.handover import Aboard, Handover, Spot, Step, Unclosed
from unsown.formats.place import in_words
from unsown.formats.units import Units

BLANK = "____"
"""Stands where something is not known and a pen may fill it in."""
MAY_BE = "may be sown after all"
"""What is said of patches that an open answer may close."""
PRODUCTS = (("seed", "kg"), ("fertiliser", "kg"), ("fuel", "l"))
"""What every rig carries, in the order of the paper's columns for fills."""
_NAMED = 3
#: Letters of a rig's name.
_NAME = 24
_HAZARDS, _NOTES = 5, 3
#: A picture moved by less than this is not worth a word, m.
MOVED_M = 0.3

Line = tuple[str, str]
Clock = Callable[[int], str]


def eight(h: Handover, units: Units, clock: Clock) -> tuple[Line, ...]:
    """The lines in their order, each a name and its text.

    Args:
        h: what is handed over.
        units: hectares or acres.
        clock: UTC ms to a moment on the farm's clock.
    """
    return (
        ("Ground", _ground(h, units)),
        ("Next", next_(h.steps, units)),
        ("Bins", _bins(h.aboard, units)),
        ("Restart", _restart(h, units, clock)),
        ("Hazards", _hazards(h)),
        ("Machine", "; ".join(h.machine[:_NOTES]) or BLANK),
        ("Peg", _peg(h, units)),
        ("Who", f"{h.driver or BLANK} to {BLANK}; as of {clock(h.at_ms)}"),
    )


def _ground(h: Handover, units: Units) -> str:
    low, high = units.area(h.bare_low_ha), units.area(h.bare_high_ha)
    parts = [
        f"sown {units.area(h.sown_ha)} of {units.area(h.net_ha)}",
        f"bare {units.area(h.bare_ha)} ({low.split()[0]} to {high})",
    ]
    if h.rest:
        parts.append(f"of it not reached yet {units.size(sum(s.area_m2 for s in h.rest))}")
    ends = _calls(h)
    if ends:
        parts.append(ends)
    asked = f" ({h.questions} asked about)" if h.questions else ""
    parts.append(f"doubt {units.area(h.doubt_ha)}{asked}")
    return "; ".join(parts)


def _calls(h: Handover) -> str:
    """The loose ends by how sure they are."""
    calls = [s.call for s in (*h.loose, *h.look)]
    if not calls:
        return "no loose end that a phone can find"
    if len(calls) == 1:
        return f"1 loose end ({calls[0]})"
    counts = [(calls.count(c), c) for c in ("sure", "likely", "can't tell")]
    return f"{len(calls)} loose ends ({', '.join(f'{n} {c}' for n, c in counts if n)})"


def next_(steps: Sequence[Step], units: Units) -> str:
    """What to do, in order: such as ``Fill seed. Then look at patch 3.`` said."""
    said = [todo(step, units) for step in steps]
    rest = [f"Then {text}." for text in said[1:]]
    return " ".join([f"{said[0][0].upper()}{said[0][1:]}.", *rest]) if said else BLANK


def todo(step: Step, units: Units) -> str:
    """One step in words, without a full stop."""
    if step.todo == "fill":
        return f"fill {step.product}: it does not last one more round"
    if step.todo == "carry on":
        return f"carry on sowing: {units.size(step.area_m2)} not sown yet, {step.side} first"
    if step.todo == "go back":
        about = ""
        if step.minutes is not None:
            about = f", worth it, about {max(round(step.minutes), 1)} min"
        where = f", {step.side} first" if len(step.patches) > 1 else f", {step.side}"
        return f"go back for {patches(step.patches)}: {units.size(step.area_m2)}{where}{about}"
    if step.todo == "look":
        return f"look at the furrow at {patches(step.patches)}: can't tell from here"
    if step.todo == "ask":
        ask = f"answer what is asked about {units.area(step.area_m2 / 1e4)} of doubt"
        return f"ask first: {patches(step.patches)} {MAY_BE}; {ask}" if step.patches else ask
    if step.seam is not None:
        return seam(step.seam, units)
    if step.todo == "begin":
        return "begin: no sowing was logged here yet"
    return "nothing is left to go back for that a phone can find"


def seam(s: Unclosed, units: Units) -> str:
    """What is to be done about a seam between two rigs, without a full stop."""
    which = " and ".join(name[:_NAME] for name in s.rigs)
    where = f"along the seam between {which} ({s.side}, {units.distance(s.length_m)})"
    gap = f"about {units.step(abs(s.gap_m))} {'left' if s.gap_m > 0 else 'of overlap'}"
    if s.word == "open":
        return f"go back {where}: it is open, {gap}"
    if s.word == "about":
        return f"look at the furrow {where}: {gap}, give or take {units.step(s.sigma_m)}"
    apart = units.step(2 * s.sigma_m)
    return f"look at the furrow {where}: can't tell, the phones may lie {apart} apart"


def patches(numbers: Sequence[int]) -> str:
    """``patch 3``, ``patches 1, 2 and 5``, ``patches 1, 2, 5 and 4 more``."""
    if len(numbers) == 1:
        return f"patch {numbers[0]}"
    if len(numbers) > _NAMED + 1:
        named = ", ".join(map(str, numbers[:_NAMED]))
        return f"patches {named} and {len(numbers) - _NAMED} more"
    return f"patches {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def _bins(aboard: Sequence[Aboard], units: Units) -> str:
    known = {a.product.lower(): a for a in aboard}
    parts = []
    for product, unit in PRODUCTS:
        if product in known:
            parts.append(_aboard(known.pop(product), units))
        else:
            sign = "L" if unit == "l" else unit
            parts.append(f"{product} {BLANK} {sign}")
    return "; ".join([*parts, *(_aboard(a, units) for a in known.values())])


def _aboard(a: Aboard, units: Units) -> str:
    sign, step = ("L", 10) if a.unit == "l" else (a.unit, 50)
    amount = f"{a.product} about {max(round(a.amount / step) * step, 0)} {sign}"
    lasts = f"lasts at least {units.rough(a.ha_sure)}"
    if a.rounds is None:
        return f"{amount}, {lasts}"
    return f"{amount}, {lasts} = {a.rounds} round{'' if a.rounds == 1 else 's'}"


def _restart(h: Handover, units: Units, clock: Clock) -> str:
    if h.stopped is None:
        return f"at {BLANK} going {BLANK}"
    going = f", going {h.stopped.going}" if h.stopped.going else ""
    return (
        f"openers stopped {in_words(h.stopped.place, units)}{going}; lifted {clock(h.stopped.t_ms)}"
    )


def _hazards(h: Handover) -> str:
    new = f"new today: {_some(h.hazards, _HAZARDS)}" if h.hazards else "none new today"
    outs = f"; left out today: {_some(h.outs, _NOTES)}" if h.outs else ""
    return f"{new}{outs}. Only what was marked is here"


def _some(names: Sequence[str], most: int) -> str:
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more on the map" if more > 0 else "")


def _peg(h: Handover, units: Units) -> str:
    stand = "none logged: another day's picture may lie metres off"
    if h.pegs:
        stand = f"peg check first: stand at {_some(h.pegs, _NOTES)}"
    if h.moved_m is None or h.moved_m < MOVED_M:
        return stand
    return f"{stand}; runs shifted about {units.step(h.moved_m)} to fit each other"


def spot(s: Spot, units: Units) -> str:
    """A loose end in words: ``3: 520 m², sure, corner, north-west, at the fence``."""
    return f"{s.number}: {units.size(s.area_m2)}, {s.call}, {s.kind}, {in_words(s.place, units)}"
