"""What is to be done next, in words: the same on the sheet and on the day slip.

By what it is worth where that was weighed, else by size and by how sure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from unsown.core.handover import not_reached
from unsown.core.place import place_of
from unsown.core.words import Patch
from unsown.formats.place import in_words
from unsown.formats.units import Units
from unsown.papers.going import ASK, Going
from unsown.papers.rigs import to_look_at
from unsown.papers.scene import Scene, side_of

_NAMED = 3
CANNOT = (
    "A phone cannot find a 30 cm miss between two runs, nor a blocked opener.",
    "A phone cannot find a 1 ft miss between two runs, nor a blocked opener.",
)


@dataclass(frozen=True)
class Advice:
    """The next thing to do, and what to do or know after it; plain text."""

    first: str
    then: tuple[str, ...] = ()


def advice(
    state: str,
    tally: Mapping[str, Any] | None,
    scene: Scene,
    units: Units,
    *,
    why: str = "",
    going: Going | None = None,
) -> Advice:
    """The next action on a paddock.

    Args:
        state: ``ready``, ``computing``, ``failed`` or ``none``, as the service says it.
        tally: as ``find --json`` says it; None where nothing is computed.
        scene: the paddock with what was found.
        units: hectares or acres.
        why: the reason of a failed computation.
        going: what was weighed of the patches, where it was.
    """
    if tally is None or not scene.shown:
        return Advice(_NOTHING.get(state, _NOTHING["none"]), (why,) if why else ())
    rest = left_over(scene)
    listed = [p for p in scene.patches if p.call != "can't tell" and p not in rest]
    look = [p for p in scene.patches if p.call == "can't tell" and p not in rest]
    if going is not None:
        look = [p for p in scene.patches if going.labels.get(p.number) == "look first"]
    said = [_carry_on(rest, scene, units)] if rest else []
    drive = [] if not listed else [_go_back(listed, scene, units, first=not rest)]
    if listed and going is not None:
        drive = _weighed(going, scene, units, first=not rest)
    # what is to be done comes before what is not
    idle = going is not None and not going.of("worth it")
    said += [] if idle else drive
    if look:
        said.append(
            f"Look at the furrow at {_numbers(look)}: can't tell, it could be the satellites."
        )
    said += to_look_at(tally, scene, units)
    said += drive if idle else []
    questions, doubt_m2 = len(tally.get("questions", ())), tally["doubt_ha"] * 1e4
    if questions:
        # where more is in doubt than is known to be bare, or what would be driven for hangs on it,
        # the list below may change with an answer
        hangs = [p for p in listed if p.asks]
        if going is not None:
            hangs = [p for p in scene.patches if going.labels.get(p.number) == ASK]
        first = bool(hangs) or (not rest and doubt_m2 > sum(p.area_m2 for p in listed))
        ask = _ask(questions, tally["doubt_ha"], units, first, hangs)
        said.insert(len(rest[:1]) if first else len(said), ask)
    if not rest and not listed:
        said.append("No bare patch to go back for was found. " + CANNOT[units.acres])
    old = "New entries are still being computed: print again when they are." * (
        state == "computing"
    )
    return Advice(said[0], tuple(x for x in (*said[1:], old) if x))


_NOTHING = {
    "none": "Not begun: no sowing was logged here this season.",
    "computing": "Still being computed. Print this again when it is ready.",
    "failed": "It could not be computed: no number here would be true.",
    "ready": "Worked again on a later day: print the slip of the last day, or the sheet.",
}


def left_over(scene: Scene) -> list[Patch]:
    """The bare ground that is simply not reached yet, largest first."""
    return not_reached(scene.patches, scene.net.area)


def _carry_on(rest: Sequence[Patch], scene: Scene, units: Units) -> str:
    parts = [
        f"{units.size(p.area_m2)} (patch {p.number}, {_in_the(scene, p)})" for p in rest[:_NAMED]
    ]
    return f"Carry on sowing: {_joined(parts)} not sown yet."


def _go_back(listed: Sequence[Patch], scene: Scene, units: Units, *, first: bool) -> str:
    total = units.size(sum(p.area_m2 for p in listed))
    sure = sum(p.call == "sure" for p in listed)
    likely = len(listed) - sure
    calls = " and ".join(f"{n} {word}" for n, word in ((sure, "sure"), (likely, "likely")) if n)
    if len(listed) > 1 and 0 in (sure, likely):
        calls = "all sure" if sure else "all likely, none sure"
    many = f"{len(listed)} bare patches" if len(listed) > 1 else "1 bare patch"
    biggest = sorted(listed, key=lambda p: -p.area_m2)[:_NAMED]
    named = _joined(
        [f"{p.number} ({units.size(p.area_m2)}, {p.kind}, {side_of(scene, p.outline)})"
         for p in biggest]
    )  # fmt: skip
    head = "Go back for" if first else "Then go back for"
    what = "Largest:" if len(listed) > 1 else "It is patch"
    return f"{head} {many}, {total} in all: {calls}. {what} {named}."


def _weighed(going: Going, scene: Scene, units: Units, *, first: bool) -> list[str]:
    """What is worth the way, where it begins, what is not, and what a trip of its own brings."""
    worth, by = going.of("worth it"), {p.number: p for p in scene.patches}
    mine = [by[n] for n in worth if n in by]
    head = "Go back for" if first else "Then go back for"
    other = [f"{len(going.of(x))} {x}" for x in (ASK, "your call", "leave") if going.of(x)]
    if not mine:
        return [f"No patch is worth going back for ({', '.join(other)})."] if other else []
    many = f"{len(mine)} patches" if len(mine) > 1 else "1 patch"
    minutes = max(round(going.minutes), 1)
    start = by.get(going.first or mine[0].number, mine[0])
    entered = f", from the {going.from_side}" if going.from_side else ""
    said = [
        f"{head} {many} worth it: {units.size(going.worth_m2)}, about {minutes} min. "
        f"{'First' if len(mine) > 1 else 'It is'} patch {start.number} "
        f"({units.size(start.area_m2)}, {start.kind}, {side_of(scene, start.outline)}){entered}.",
    ]
    if other:
        said.append(f"The others: {', '.join(other)}.")
    net, later = going.money(going.net), going.money(going.later_net)
    trip = f"{going.trip_min:.0f} min of road and folding"
    pays = later if going.later == "worth the trip" else "not worth the trip"
    said.append(f"Net {net} going now; coming back another day, with {trip}, {pays}.")
    return [*said, *([going.borrowed()] if going.examples else [])]


def _ask(questions: int, doubt_ha: float, units: Units, first: bool, hangs: Sequence[Patch]) -> str:
    many = f"{questions} questions" if questions > 1 else "1 question"
    head = "Ask the driver first" if first else "Ask the driver"
    tail = f"; {_numbers(hangs)} may be sown after all" if hangs else ""
    return f"{head}: {many} about {units.area(doubt_ha)} of doubt{tail}."


def _in_the(scene: Scene, patch: Patch) -> str:
    side = side_of(scene, patch.outline)
    return f"in the {side}"


def place_words(scene: Scene, patch: Patch, units: Units) -> str:
    """Where a patch is, in full."""
    return in_words(place_of(patch.outline, scene.net), units)


def _numbers(patches: Sequence[Patch], most: int = 6) -> str:
    numbers = [str(p.number) for p in patches]
    more = len(numbers) - most
    word = "patch" if len(numbers) == 1 else "patches"
    return f"{word} {', '.join(numbers[:most])}" + (f" and {more} more" if more > 0 else "")


def _joined(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
