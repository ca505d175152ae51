"""What a computed work comes to beside its ground: worth, waste, bins, handover; ready for JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from math import sqrt
from typing import Any

import numpy as np
import shapely

from unsown.core.back import Back, back, way_out
from unsown.core.causes import CAUSES, causes
from unsown.core.handover import Beside, handover
from unsown.core.plane import Plane
from unsown.core.waste import Waste, pace_ha_per_h, waste
from unsown.core.words import Log, Mark, Paddock, Rig, Tally
from unsown.core.worth import Worth
from unsown.formats.again import to_waste
from unsown.formats.going import to_worth
from unsown.formats.handed import to_json
from unsown.service.bins import aboard, bins
from unsown.service.hours import hours
from unsown.service.runs import moment
from unsown.service.task import Daily, Task
from unsown.service.timeline import merged
from unsown.service.whose import Whose, of_last

Tell = Callable[[str, float], None]
_MACHINE_NOTES = 2


def upshot(
    task: Task,
    log: Log,
    found: tuple[Tally, Plane],
    days: Sequence[Daily],
    paddock: Paddock,
    tell: Tell,
) -> dict[str, Any]:
    """The keys ``worth``, ``waste``, ``bins`` and ``handover`` of a work.

    Money is not in it but for ``worth``: what was wasted is priced when it is shown.
    """
    tally, plane = found
    tell("sown again", 1.0)
    pace = pace_ha_h(tally, days, task.rigs)
    again = waste(tally, task.rigs)
    tell("the way back", 1.0)
    gate, set_ = way_out(tally, plane, log.fixes, paddock.gates)
    costs = task.costs
    returning = back(tally, task.rigs, costs.prices, gate, costs.trip_s, pace)
    mine = of_last(log, tally)
    last = task.rigs[mine.tally.runs[-1].rig] if mine.tally.runs else task.rigs[-1]
    pace_ = pace * mine.part
    aboard_ = bins(mine.log, mine.tally, last.tool.width_m, task.costs, pace_)
    handed = _handover(task, log, mine, plane, returning, aboard_, paddock.name, last)
    return {
        "pace_ha_h": round(pace, 3),
        "worth": {
            **to_worth(returning, tally, plane, aboard(aboard_), gate=set_),
            "examples": list(costs.examples),
        },
        "waste": to_waste(again),
        "waste_days": by_day(task, log, tally, again),
        "bins": aboard_,
        "hours": hours(
            mine.log,
            (_alone(mine), plane),
            merged(log.fixes, mine.rows),
            task.calendar,
            last.tool.width_m,
            returning.speed_m_s,
            pace_,
        ),
        "rig": None if mine.share is None else mine.share.name,
        "handover": handed,
    }


def _alone(mine: Whose) -> Tally:
    """The tally with the ground that the one rig sowed."""
    share = mine.share
    return mine.tally if share is None else replace(mine.tally, sown_ha=share.sown_ha)


def pace_ha_h(tally: Tally, days: Sequence[Daily], rigs: Sequence[Rig]) -> float:
    """Hectares an hour over the hours of each day; nights are not counted."""
    hours = sum(each.short.get("hours") or 0.0 for each in days)
    if hours > 0 and tally.sown_ha > 0:
        return tally.sown_ha / hours
    return pace_ha_per_h(tally, rigs[-1].tool.width_m)


def by_day(task: Task, log: Log, tally: Tally, again: Waste) -> dict[str, dict[str, Any]]:
    """The part of the waste that each day's runs made, by what the map shows of each day.

    The headline is bookkeeping over the whole; a day has of it what its runs have of the map's.
    """
    t0 = int(np.min(log.fixes.t_ms))
    day_of = {r.number: task.calendar.day(moment(t0, r.down_s)) for r in tally.runs}
    order = sorted(set(day_of.values()))
    if len(order) == 1:
        return {order[0]: to_waste(again)}
    g = tally.ground
    half = max(((r.tool.front_rank_m - r.tool.rear_rank_m) / 2 for r in task.rigs), default=0.0)
    fence = shapely.union(g.net, g.keep_out).boundary
    _, quads, extra, kind = causes(tally.ways, g.net, fence, g.keep_out, half_m=half, settle_m=10.0)
    size = len(CAUSES)
    whole = np.maximum(np.bincount(kind, extra.cells, minlength=size), 1.0)
    out = {}
    for day in order:
        mine = np.asarray(
            [day_of.get(int(n)) == day for n in quads.run[extra.later]], dtype=np.bool_
        )
        counted = np.bincount(kind[mine], extra.cells[mine], minlength=size)
        part = float(counted.sum() / whole.sum())
        shares = dict(zip(CAUSES, (counted / whole).tolist(), strict=True))
        by = {name: round(again.causes[name] * share, 5) for name, share in shares.items()}
        head: dict[str, Any] = {
            key: round(getattr(again, key) * part, 5)
            for key in ("again_ha", "low_ha", "high_ha", "unexplained_ha", "wished_ha")
        }
        # what parts are off by is independent: the squares add up
        off = {n: round(again.spread_ha[n] * sqrt(share), 5) for n, share in shares.items()}
        head |= {"causes": by, "spread_ha": off}
        out[day] = {**head, "part": round(part, 4), "finished": again.finished}
    return out


def _handover(
    task: Task,
    log: Log,
    mine: Whose,
    plane: Plane,
    returning: Back,
    on_board: Sequence[Mapping[str, Any]],
    name: str,
    rig: Rig,
) -> dict[str, Any]:
    """The facts; their words are made when they are shown."""
    t0 = int(np.min(log.fixes.t_ms))
    at_ms = max([int(np.max(log.fixes.t_ms)), *(m.t_ms for m in log.marks)])
    now = returning.now
    labels = None if now is None else in_driving_order(now)
    outs, hazards = _marked(log.marks, task, at_ms)
    h = handover(
        mine.tally,
        plane,
        t0,
        at_ms,
        Beside(
            name,
            aboard=aboard(on_board),
            hazards=hazards,
            outs=outs,
            pegs=_pegs(log.marks),
            machine=_machine(mine.log.marks, task, at_ms, rig),
            driver=_driver(mine.log.marks),
            labels=labels,
            minutes=now.sure_s / 60 if now is not None and now.stops else None,
        ),
    )
    return to_json(h)


def in_driving_order(now: Worth) -> dict[int, str]:
    """The label of every patch that was weighed, those driven to first and in that order."""
    driven = [n for index, _ in now.stops for n in now.groups[index].patches]
    labels = {n: g.label for g in now.groups for n in g.patches}
    return {n: labels[n] for n in dict.fromkeys([*driven, *labels])}


def _marked(
    marks: Sequence[Mark], task: Task, at_ms: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Keep-outs of the last day, marked on a phone or drawn at the desk; apart those dangerous."""
    day = task.calendar.day(at_ms)
    today = [
        str(m.says.get("what") or "")
        for m in marks
        if m.kind == "mark"
        and m.says.get("note") == "keep-out"
        and task.calendar.day(m.t_ms) == day
    ]
    drawn = [a for a in task.added if task.calendar.day(a.made_ms) == day]
    hazards = [what for what in today if what in HAZARDS] + [a.what for a in drawn if a.hazard]
    outs = [x for x in today if x not in HAZARDS] + [a.what for a in drawn if not a.hazard]
    return tuple(outs), tuple(hazards)


HAZARDS = ("wire", "hole")
"""What a phone marks that is a hazard (``cab/outs/marked.ts`` says the same)."""


def _pegs(marks: Sequence[Mark]) -> tuple[str, ...]:
    found = [str(m.says["name"]) for m in marks if m.kind == "peg" and m.says.get("name")]
    return tuple(dict.fromkeys(reversed(found)))


def _machine(marks: Sequence[Mark], task: Task, at_ms: int, rig: Rig) -> tuple[str, ...]:
    """The rig's name, tines dragged sideways today, and what the last stops were for."""
    day = task.calendar.day(at_ms)
    today = [m for m in marks if task.calendar.day(m.t_ms) == day]
    strains = sum(m.kind == "mark" and m.says.get("what") == "strain" for m in today)
    stops = [str(m.says["reason"]) for m in today if m.kind == "stop" and m.says.get("reason")]
    dragged = [f"tines dragged sideways {strains} time{'s' * (strains > 1)} today"] * (strains > 0)
    return (rig.name, *dragged, *(f"stopped: {why}" for why in stops[-_MACHINE_NOTES:]))


def _driver(marks: Sequence[Mark]) -> str:
    shifts = [m for m in marks if m.kind == "shift" and m.says.get("shift") == "start"]
    return str(shifts[-1].says.get("driver") or "") if shifts else ""
