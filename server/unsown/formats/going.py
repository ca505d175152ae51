"""Going back, for programs and for people: worth, cost and net of each group, and the way.

The way is sentences and a line to look at; nothing here steers, and it says so.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import degrees
from typing import Any

import numpy as np
import shapely

from unsown.core.aim import Aim
from unsown.core.back import Back
from unsown.core.balance import lasts
from unsown.core.compass import side
from unsown.core.handover import Aboard
from unsown.core.place import place_of
from unsown.core.plane import Plane
from unsown.core.words import Floats, Gate, Tally
from unsown.core.worth import Group, Worth
from unsown.formats.eight import MAY_BE, patches
from unsown.formats.place import in_words
from unsown.formats.units import Units

CAUTION = "The line that slopes, wires and soft ground draw is yours to judge. You decide."
"""Stands beside every list of what to go back for, always."""
METRIC = Units()
_LABELS = ("worth it", "ask first", "your call", "look first", "leave")
_FINE_M = 0.25


def to_worth(
    found: Back,
    tally: Tally,
    plane: Plane,
    aboard: Sequence[Aboard] = (),
    units: Units = METRIC,
    *,
    gate: Gate | None = None,
) -> dict[str, Any]:
    """The key ``worth``; docs/reference/json.md has every part. Money in the farm's currency.

    The sentences of going back now say too whether what is ``aboard`` lasts for it; ``units`` are
    those of the sentences alone. ``gate`` is the paddock's own at which the way ends, if
    it has any.
    """
    return {
        "speed_m_s": round(found.speed_m_s, 3),
        "pace_ha_h": round(found.pace_ha_h, 3),
        "trip_s": round(found.trip_s),
        "gate": _degrees(plane, np.asarray([found.gate[0]]), np.asarray([found.gate[1]]))[0],
        "gate_set": gate is not None,
        "gate_name": "" if gate is None else gate.name,
        "weighed": [p.number for p in found.patches],
        "caution": CAUTION,
        "now": None if found.now is None else _now(found.now, found, tally, plane, aboard, units),
        "later": None if found.later is None else _later(found.later, found, tally, plane, units),
    }


def _worth(w: Worth, found: Back, tally: Tally, plane: Plane, units: Units) -> dict[str, Any]:
    area = {p.number: p.area_m2 for p in found.patches}
    asks = {p.number: p.asks for p in found.patches}

    def over(label: str) -> float:
        return round(sum(area[n] for g in w.groups if g.label == label for n in g.patches), 1)

    return {
        "net": round(w.net, 2),
        "seconds": round(w.seconds),
        "length_m": round(w.route.length_m, 1),
        "blocked": w.route.blocked,
        "sure_s": round(w.sure_s),
        "worth_m2": over("worth it"),
        "ask_m2": over("ask first"),
        "groups": [_group(g, asks, plane) for g in w.groups],
        "stops": [{"group": i, "run": _run(run, plane)} for i, run in w.stops],
        "blocks": blocks([i for i, _ in w.stops]),
        "sentences": sentences(w, tally, units),
        "way": _way(w, plane),
    }


def _now(
    w: Worth,
    found: Back,
    tally: Tally,
    plane: Plane,
    aboard: Sequence[Aboard],
    units: Units,
) -> dict[str, Any]:
    said = _worth(w, found, tally, plane, units)
    lines = [line for each in aboard for line in lasting(w, each, found.reach.width_m, units)]
    far = [_far(w, each, found.reach.width_m) for each in aboard if each.product != "fuel"]
    return {**said, "lasting": far if w.stops else [], "sentences": [*said["sentences"], *lines]}


def _far(w: Worth, aboard: Aboard, width_m: float) -> dict[str, Any]:
    """Whether a product lasts for the way; ``stop`` is the block where it runs dry."""
    found = lasts(aboard.ha, aboard.ha_sigma, [run.length_m for _, run in w.stops], width_m)
    told = blocks([index for index, _ in w.stops])
    stop = next((k for k, block in enumerate(told, 1) if found.at in block), None)
    return {
        "product": aboard.product,
        "word": found.word,
        "metered_ha": round(found.metered_ha, 4),
        "aboard_ha": round(max(aboard.ha, 0.0), 4),
        "stop": stop,
        "before_end_m": round(found.before_end_m, 1),
    }


def _later(w: Worth, found: Back, tally: Tally, plane: Plane, units: Units) -> dict[str, Any]:
    said = _worth(w, found, tally, plane, units)
    return {**said, "label": "worth the trip" if w.net > 0 and w.stops else "leave"}


def _group(g: Group, asks: Mapping[int, Sequence[int]], plane: Plane) -> dict[str, Any]:
    return {
        "patches": list(g.patches),
        "label": g.label,
        "value": round(g.value, 2),
        "cost": round(g.cost, 2),
        "net": round(g.net, 2),
        "seconds": round(g.seconds),
        "twice_m2": round(g.twice_m2, 1),
        "left_m2": round(g.left_m2, 1),
        "asks": sorted({number for n in g.patches for number in asks[n]}),
        "runs": [_run(run, plane) for run in g.runs],
    }


def _run(run: Aim, plane: Plane) -> dict[str, Any]:
    ends = np.asarray([run.start, run.end])
    return {
        "line": _degrees(plane, ends[:, 0], ends[:, 1]),
        "from_side": side(run.heading_rad),
        "course_deg": round((90.0 - degrees(run.heading_rad)) % 360.0, 1),
        "length_m": round(run.length_m, 1),
        "covers": {str(n): round(a, 1) for n, a in sorted(run.covers.items())},
        "twice_m2": round(run.twice_m2, 1),
    }


def _way(w: Worth, plane: Plane) -> list[dict[str, Any]]:
    """The tractor's way in pieces, with the tool down or up."""
    poses, down = w.route.poses, w.route.tool_down
    if len(poses) < 2:
        return []
    cuts = np.flatnonzero(np.diff(down.astype(np.int8))) + 1
    out = []
    for a, b in zip(np.r_[0, cuts], np.r_[cuts, len(poses)], strict=True):
        piece = poses[a : min(b + 1, len(poses)), :2]
        if len(piece) < 2:
            continue
        x, y = shapely.get_coordinates(shapely.LineString(piece).simplify(_FINE_M)).T
        out.append({"tool_down": bool(down[a]), "line": _degrees(plane, x, y)})
    return out


def sentences(w: Worth, tally: Tally, units: Units) -> list[str]:
    """The way in words: which patch where, from which side, how far; never steering."""
    net = tally.ground.net
    outlines = {p.number: p.outline for p in tally.patches}
    asks = {p.number: p.asks for p in tally.patches}
    out = []
    for k, block in enumerate(blocks([index for index, _ in w.stops]), 1):
        runs = [w.stops[at][1] for at in block]
        numbers = sorted({n for run in runs for n in run.covers})
        where = in_words(place_of(outlines[numbers[0]], net), units)
        name = f"Patch {numbers[0]}" if len(numbers) == 1 else f"Patches {_and(numbers)}"
        how = f"Enter from the {side(runs[0].heading_rad)}, "
        long = units.distance(sum(run.length_m for run in runs))
        many = "" if len(runs) == 1 else f" in {len(runs)} runs"
        told = _ask_first([w.groups[w.stops[at][0]] for at in block], asks)
        out.append(f"{k}. {name}: {where}. {how}{long}{many}.{told}")
    if w.stops:
        out.append(f"Then the gate. About {max(round(w.seconds / 60), 1)} min.")
    return out


def _ask_first(groups: Sequence[Group], asks: Mapping[int, Sequence[int]]) -> str:
    """What of a stop is to be asked about before it is driven to, and by which questions."""
    mine = {n for g in groups if g.label == "ask first" for n in g.patches}
    if not mine:
        return ""
    some = any(g.label != "ask first" for g in groups)
    about = f" about {patches(sorted(mine))}" if some else ""
    return f" Ask first{about}: {_questions({q for n in mine for q in asks[n]})}."


def _questions(numbers: Collection[int]) -> str:
    many = "s" if len(numbers) > 1 else ""
    return f"question{many} {_and(sorted(numbers))}"


def which_gate(said: Mapping[str, Any]) -> str:
    """Which gate the way ends at, as a sentence."""
    if not said.get("gate_set"):
        return "No gate is set: the way ends where the rig first came in."
    name = said.get("gate_name")
    return f"The gate is {name}." if name else "The gate is the one set for the paddock."


def lasting(w: Worth, aboard: Aboard, width_m: float, units: Units) -> list[str]:
    """Whether a product on board lasts for the way: one sentence, none where nothing is driven."""
    if not w.stops or aboard.product == "fuel":
        return []
    return [lasts_in_words(_far(w, aboard, width_m), units)]


def lasts_in_words(far: Mapping[str, Any], units: Units) -> str:
    """One of ``lasting`` as a sentence."""
    name = str(far["product"]).capitalize()
    takes = f"the way takes {units.area(far['metered_ha'])} of {units.area(far['aboard_ha'])}"
    if far["word"] == "short" and far["stop"] is not None:
        run = f"{units.distance(far['before_end_m'])} before the end of a run of {far['stop']}"
        return f"{name} runs dry about {run}: {takes}."
    return f"{name} is enough{', but tight' if far['word'] == 'tight' else ''}: {takes}."


def blocks(groups: Sequence[int]) -> list[list[int]]:
    """Stops that are told as one, as places in the list: those of one group, or of two in turn.

    Args:
        groups: the group of each stop, in driving order.
    """
    out: list[list[int]] = []
    for k, group in enumerate(groups):
        held = {groups[at] for at in out[-1]} if out else set()
        turns = len(held) == 1 and k + 1 < len(groups) and groups[k + 1] in held
        if group in held or turns:
            out[-1].append(k)
        else:
            out.append([k])
    return out


def _and(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return str(numbers[0])
    return f"{', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def worth_rows(
    said: Mapping[str, Any], currency: str, *, examples: bool, units: Units = METRIC
) -> list[str]:
    """The same as lines for people, with the caution that always stands there.

    Args:
        said: what ``to_worth`` gives.
        currency: as the farm writes it; may be empty.
        examples: whether prices of an invented farm stand in for its own.
        units: hectares or acres.
    """
    now = said["now"]
    if now is None:
        return []
    money = f"{currency} " if currency else ""
    out = [f"Going back now: {_summary(now, money, units)}"]
    for label in _LABELS:
        for g in (g for g in now["groups"] if g["label"] == label):
            out.append(f"  {label:<11}{_numbers(g['patches']):<14}{_why(g, money, units)}")
    out += [f"  {sentence}" for sentence in now["sentences"]]
    if now["stops"]:
        out.append(f"  {which_gate(said)}")
    if now["blocked"]:
        out.append("  No way round was found for part of it: look before you drive.")
    later = said["later"]
    out.append(
        f"From outside later, with {said['trip_s'] / 60:.0f} min of road and folding: "
        + (f"net {money}{later['net']:.0f}, " if later["stops"] else "")
        + f"{later['label']}."
    )
    out.append(CAUTION)
    if examples:
        out.append("Reckoned with the prices of an invented farm: set your own.")
    return out


def _summary(now: Mapping[str, Any], money: str, units: Units) -> str:
    if not now["stops"]:
        return "nothing is worth the way."
    minutes = max(round(now["seconds"] / 60), 1)
    sure, ask = (units.area(now[key] / 1e4) for key in ("worth_m2", "ask_m2"))
    area = sure if not now["ask_m2"] else f"{sure} and ask first {ask}"
    return f"net {money}{now['net']:.0f} for {minutes} min, {area}."


def _numbers(patches: list[int]) -> str:
    text = ", ".join(map(str, patches))
    return text if len(text) < 13 else f"{len(patches)} patches"


def _why(g: Mapping[str, Any], money: str, units: Units) -> str:
    if not g["runs"]:
        size = units.size(g["left_m2"])
        return f"no straight run of this rig reaches its {size}: back in, or leave it"
    hangs = g["asks"] and g["label"] in ("ask first", "your call")
    ask = f"; {_questions(g['asks'])}: {MAY_BE}" if hangs else ""
    return (
        f"worth {money}{g['value']:.0f}, costs {money}{g['cost']:.0f}, "
        f"{g['seconds'] / 60:.1f} min{ask}"
    )


def _degrees(plane: Plane, x: Floats, y: Floats) -> list[list[float]]:
    lon, lat = plane.to_degrees(x, y)
    return [[round(a, 7), round(b, 7)] for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]
