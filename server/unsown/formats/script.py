"""The radio script: what the next driver must know, in at most 60 spoken words (job paper 3.19).

Numbers count as they are spoken: ``41.2`` is four words. What matters most is taken first, each
sentence in the longest form that there is still room for; they are said in a fixed order.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from unsown.core.handover import Aboard, Handover, Spot, Step
from unsown.formats.units import Units

MOST = 60
"""Most spoken words of a script."""
_WORD = re.compile(r"[0-9]+(?:\.[0-9]+)?|[^\W0-9_]+(?:['’][^\W0-9_]+)*")
_SMALL = 20
#: Names longer than this are cut on the radio, words.
_NAME = 4
#: And those of rigs, of which there are two in a sentence.
_RIG = 2


@dataclass(frozen=True)
class _Part:
    """A sentence: how much it matters (0 most), and its forms, the longest first."""

    rank: int
    forms: tuple[str, ...]


def script(h: Handover, units: Units) -> str:
    """The script, of at most ``MOST`` spoken words."""
    parts = [p for p in _parts(h, units) if p.forms]
    ranked = sorted(range(len(parts)), key=lambda k: parts[k].rank)
    said: dict[int, str] = {}
    for k in ranked:  # first every sentence at its shortest, then longer where there is room
        if _count({**said, k: parts[k].forms[-1]}) <= MOST:
            said[k] = parts[k].forms[-1]
    for k in (k for k in ranked if k in said):
        said[k] = next(f for f in parts[k].forms if _count({**said, k: f}) <= MOST)
    return " ".join(said[k] for k in sorted(said))


def spoken(text: str) -> int:
    """How many words a text has when it is spoken: ``41.2 ha`` five, ``north-west`` two."""
    return sum(_of(word) for word in _WORD.findall(text))


def _count(said: dict[int, str]) -> int:
    return sum(spoken(text) for text in said.values())


def _of(word: str) -> int:
    if word[0] not in "0123456789":
        return 1
    whole, _, part = word.partition(".")
    return _whole(int(whole)) + (1 + len(part) if part else 0)


def _whole(n: int) -> int:
    """Words of a whole number: ``114`` is one hundred fourteen, ``21`` twenty one."""
    if n < _SMALL:
        return 1
    if n < 100:
        return 1 + (n % 10 > 0)
    if n < 1000:
        return 2 + (_whole(n % 100) if n % 100 else 0)
    return _whole(n // 1000) + 1 + (_whole(n % 1000) if n % 1000 else 0)


def _parts(h: Handover, units: Units) -> list[_Part]:
    area = f"{_ha(h.sown_ha, units)} of {_area(h.net_ha, units)}"
    return [
        _Part(0, (f"{_cut(h.paddock, _NAME)}.", f"{_cut(h.paddock, 1)}.")),
        _Part(1, (f"Sown {area}.",)),
        _Part(3, _stopped(h)),
        _Part(2, _hazards(h.hazards)),
        _Part(5, _loose(h, units)),
        _Part(6, _doubt(h, units)),
        _Part(4, _aboard(h.aboard, units)),
        _Part(1, _next(h.steps, units)),
    ]


def _stopped(h: Handover) -> tuple[str, ...]:
    if h.stopped is None:
        return ()
    toward = f", going {h.stopped.going}" if h.stopped.going else ""
    return (f"Openers stopped {h.stopped.place.side}{toward}.",)


def _hazards(hazards: Sequence[str]) -> tuple[str, ...]:
    if not hazards:
        return ("No new hazard was marked.", "No new hazard.")
    many = len(hazards)
    named = ", ".join(_cut(name, _NAME) for name in hazards)
    first = _cut(hazards[0], 3)
    head = "New hazard" if many == 1 else f"{many} new hazards"
    if many == 1:
        return (f"{head}: {named}.", f"{head}: {first}.")
    return (f"{head}: {named}.", f"{head}: {first}, others on the map.", f"{head}: see the map.")


def _loose(h: Handover, units: Units) -> tuple[str, ...]:
    if not h.loose:
        return ("No loose ends.",)
    many = len(h.loose)
    sure = sum(s.call == "sure" for s in h.loose)
    head = "1 loose end" if many == 1 else f"{many} loose ends"
    calls = "all sure" if sure == many else f"{sure} sure" if sure else "none sure"
    calls = h.loose[0].call if many == 1 else calls
    biggest = h.loose[0]
    least = "" if many == 1 else "largest "
    return (
        f"{head}, {calls}, {least}{_size(biggest, units)} {biggest.place.side}.",
        f"{head}, {calls}, {least}{biggest.place.side}.",
        f"{head}, {calls}.",
    )


def _doubt(h: Handover, units: Units) -> tuple[str, ...]:
    if h.doubt_ha < 0.05:
        return ()
    asked = f", {h.questions} questions" if h.questions > 1 else ", 1 question" * h.questions
    said = f"Doubt {_area(h.doubt_ha, units)}"
    return (f"{said}{asked}.", f"{said}.")


def _aboard(aboard: Sequence[Aboard], units: Units) -> tuple[str, ...]:
    """What runs out first."""
    if not aboard:
        return ()
    first = min(aboard, key=lambda a: a.ha_sure)
    name = _cut(first.product, 2).capitalize()
    if first.rounds is not None:
        rounds = "1 round" if first.rounds == 1 else f"{first.rounds} rounds"
        return (f"{name} for {rounds}, {_area(first.ha_sure, units)}.", f"{name} for {rounds}.")
    return (f"{name} for {_area(first.ha_sure, units)}.",)


def _next(steps: Sequence[Step], units: Units) -> tuple[str, ...]:
    said = [_todo(step, units) for step in steps]
    if not said:
        return ()
    one = f"Next: {said[0]}."
    return (f"Next: {said[0]}; then {said[1]}.", one) if len(said) > 1 else (one,)


def _todo(step: Step, units: Units) -> str:
    if step.todo == "fill":
        return f"fill {_cut(step.product, 2).lower()}"
    if step.todo == "carry on":
        return f"carry on sowing, {step.side}"
    if step.todo == "go back":
        where = f", {step.side} first" if len(step.patches) > 1 else f", {step.side}"
        minutes = ""
        if step.minutes is not None:
            whole = max(round(step.minutes), 1)
            minutes = f", {whole} minute{'' if whole == 1 else 's'}"
        return f"go back for {_patches(step.patches)}{where}{minutes}"
    if step.todo == "look":
        return f"look at {_patches(step.patches)}"
    if step.seam is not None:
        which = " and ".join(_cut(name, _RIG) for name in step.seam.rigs)
        what = "go back along" if step.seam.word == "open" else "look at"
        return f"{what} the seam between {which}, {step.side}"
    if step.todo == "ask":
        if step.patches:
            return f"ask first, {_patches(step.patches)} may be sown"
        return f"answer what is asked about {_area(step.area_m2 / 1e4, units)} of doubt"
    return {"begin": "begin", "leave": "nothing is left that a phone can find"}[step.todo]


def _patches(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"patch {numbers[0]}"
    if len(numbers) > 4:
        return f"{len(numbers)} patches"
    return f"patches {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def _ha(ha: float, units: Units) -> str:
    return units.rough(ha).split()[0]


def _area(ha: float, units: Units) -> str:
    return f"{_ha(ha, units)} {'acres' if units.acres else 'hectares'}"


def _size(spot: Spot, units: Units) -> str:
    said = units.size(spot.area_m2)
    return said.replace("m²", "square metres").replace(" ac", " acres").replace(" ha", " hectares")


def _cut(name: str, words: int) -> str:
    """The first words of a name, as many as are spoken."""
    out: list[str] = []
    for word in name.split():
        if spoken(" ".join([*out, word])) > words:
            break
        out.append(word)
    return " ".join(out) or next(iter(_WORD.findall(name)), "")
