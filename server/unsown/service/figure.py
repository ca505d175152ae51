"""One work computed: the engine's tally, and what the pages, papers and the slip show of it."""

from __future__ import annotations

import json
import time
import traceback
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from shapely.errors import GEOSException

from unsown.core.day import find
from unsown.core.errors import DayError, UnsownError
from unsown.core.plane import Plane
from unsown.core.words import Log, Paddock, Settings, Tally
from unsown.formats.geojson import ground
from unsown.formats.report import to_object
from unsown.service import runs, timeline
from unsown.service.fence import Fence, fence_around
from unsown.service.pick import pick
from unsown.service.taken import taken_back
from unsown.service.task import Daily, Done, Task
from unsown.service.things import to_paddock
from unsown.service.upshot import upshot

Tell = Callable[[str, float], None]

#: Less of the paddock than this was gone over: not begun. More than this is left: part.
BEGUN, PART = 0.01, 0.1
_ADDED_UP = (
    *("again_ha", "low_ha", "high_ha", "causes", "spread_ha", "unexplained_ha", "wished_ha"),
    "finished",
)


def figure(task: Task, tell: Tell) -> Done:
    """Computes a work; trouble with what was logged is an answer (``failed``), not an error."""
    start = time.monotonic()
    try:
        done = _figure(task, tell)
    except UnsownError as error:
        done = Done("failed", _reason(error))
    return replace(done, took_s=time.monotonic() - start)


def _figure(task: Task, tell: Tell) -> Done:
    tell("reading the log", 0.0)
    paddock = to_paddock(task.geojson, task.paddock)
    fence = fence_around(task.paddock, 0, paddock)
    log = pick(task, fence)
    if log is None:
        return Done("none")
    why = _nothing_to_do(log, fence, task)
    if why:
        days = timeline.days(task, log, None)
        return Done("failed" if why["code"] == "no-rig" else "none", why, days=days)
    try:
        try:
            tally, plane = find(log, paddock, task.rigs, _settings(log), progress=tell)
        except DayError as error:
            if error.code != "two-rigs" or not task.of_phones:
                raise
            task = replace(task, rigs=task.of_phones)
            tally, plane = find(log, paddock, task.rigs, _settings(log), progress=tell)
    except UnsownError as error:
        return Done("failed", _reason(error), days=timeline.days(task, log, None))
    tally = _with_notes(tally, log, task)
    days = timeline.days(task, log, (tally, plane))
    more = {} if task.extra else _upshot(task, log, (tally, plane), days, paddock, tell)
    if "defect" in more:
        tally = replace(tally, notes=(*tally.notes, more["defect"]))
    return Done(
        "ready",
        short={**short(tally), **_short_waste(more)},
        body={**_body(task, log, tally, paddock, days), **more},
        ground=_ground(log, tally, plane),
        days=days,
    )


def _upshot(
    task: Task,
    log: Log,
    found: tuple[Tally, Plane],
    days: tuple[Daily, ...],
    paddock: Paddock,
    tell: Tell,
) -> dict[str, Any]:
    """What comes beside the ground; a defect in it is told in the notes and costs no ground."""
    try:
        return upshot(task, log, found, days, paddock, tell)
    except (ArithmeticError, LookupError, TypeError, ValueError, GEOSException) as error:
        traceback.print_exc()
        return {
            "defect": "Worth, waste, bins and handover could not be computed: a defect in the "
            f"program, not in what was logged ({type(error).__name__}: {error}). "
            "Report it with these words."
        }


def _settings(log: Log) -> Settings:
    """From the movement alone where no change of the lever was logged; the notes then say so.

    Questions are asked about what is not clear from it, and answers settle them. One change set on
    the time line, and the changes count again.
    """
    told = any(m.kind == "lever" and m.says.get("lever") in ("down", "up") for m in log.marks)
    return Settings(runs="marked" if told else "guess")


def _nothing_to_do(log: Log, fence: Fence, task: Task) -> dict[str, str] | None:
    """Why nothing can have been sown here, if so: passing by a paddock is not work in it."""
    if not fence.encloses(log.fixes.lon_deg, log.fixes.lat_deg).any():
        return {"code": "passed-by", "message": "No position lies inside the boundary.",
                "where": "", "hint": ""}  # fmt: skip
    if not task.rigs:
        return {
            "code": "no-rig",
            "message": "There is no rig card.",
            "where": "",
            "hint": "Measure the rig and save its card; then this is computed.",
        }
    return None


def _short_waste(more: Mapping[str, Any]) -> dict[str, Any]:
    """What a season adds up; nothing for a try, which is only compared by its ground."""
    if "waste" not in more:
        return {}
    return {**{k: more["waste"][k] for k in _ADDED_UP}, "pace_ha_h": more["pace_ha_h"]}


def short(tally: Tally) -> dict[str, Any]:
    """What the board shows, and what a try compares."""
    names = (
        *("net_ha", "sown_ha", "part_ha", "bare_ha", "bare_low_ha", "bare_high_ha"),
        *("doubt_ha", "twice_ha", "unreachable_ha", "outside_ha", "swept_ha"),
    )
    loose = [p for p in tally.patches if p.call != "can't tell"]
    return {
        **{n: round(float(getattr(tally, n)), 5) for n in names},
        "loose_ends": len(loose),
        "questions": len(tally.questions),
        "state": _state(tally, len(loose)),
    }


def _state(tally: Tally, loose: int) -> str:
    gone_over = tally.sown_ha + tally.part_ha
    if gone_over + tally.doubt_ha < BEGUN * tally.net_ha:
        return "not begun"
    if tally.bare_ha > PART * tally.net_ha:
        return "part"
    return "loose ends" if loose or tally.questions else "sown"


def _with_notes(tally: Tally, log: Log, task: Task) -> Tally:
    """The tally with the notes of the rig cards and what the readers left out, as ``find`` says."""
    cards = [f"rig {rig.name}: {note}" for rig in task.rigs for note in rig.notes]
    dropped = dict(tally.dropped)
    for skip in log.skipped:
        dropped[skip.reason] = dropped.get(skip.reason, 0) + skip.count
    notes = tuple(dict.fromkeys((*tally.notes, *task.notes, *cards)))
    return replace(tally, notes=notes, dropped=dropped)


def _body(
    task: Task, log: Log, tally: Tally, paddock: Paddock, days: tuple[Daily, ...]
) -> dict[str, Any]:
    kinds: Mapping[str, tuple[str, ...]] = {
        "pegs": ("name", "lat_deg", "lon_deg", "n"),
        "fills": ("product", "kg", "l", "place", "driver"),
        "stops": ("reason",),
        "marks": ("what", "side", "distance_m"),
    }
    return {
        "tally": to_object(tally, paddock.name),
        "runs": runs.table(log, tally, task.calendar),
        "days": [each.day for each in days],
        "by_distance_ha": runs.by_distance_ha(log, tally),
        "seed": runs.seed_between(log, tally),
        "rigs": list(task.rig_versions),
        "taken": taken_back(log.marks),
        **{
            name: [
                {"t_ms": m.t_ms, "dev": m.phone, **{k: m.says[k] for k in keys if k in m.says}}
                for m in log.marks
                if m.kind == name.removesuffix("s")
            ]
            for name, keys in kinds.items()
        },
    }


def _ground(log: Log, tally: Tally, plane: Plane) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(ground(tally, plane))
    found["features"] += runs.lines(tally, plane, int(np.min(log.fixes.t_ms)))
    return found


def _reason(error: UnsownError) -> dict[str, str]:
    return {
        "code": error.code,
        "message": error.message,
        "where": error.where,
        "hint": error.hint,
    }
