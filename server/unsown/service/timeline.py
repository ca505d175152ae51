"""A work day by day: the time line that is worked with, and the numbers of the day slip."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.sweep import Poses, piece_cuts, swept
from unsown.core.words import Fixes, Ints, Log, Mark, Tally, Way
from unsown.formats.log import shown
from unsown.formats.report import to_object
from unsown.service.runs import moment
from unsown.service.task import Daily, Task

MOST = 3000
"""Most points of a line: more cannot be seen."""
#: Another phone's fix fills in where the one with most fixes has none this near, ms.
_FILL_MS = 30_000
#: A longer stretch without a fix is told as a gap, ms.
_GAP_MS = 10_000
_EARTH_M = 111_320.0

Found = tuple[Tally, Plane]


def days(task: Task, log: Log, found: Found | None) -> tuple[Daily, ...]:
    """Every farm day that the work has a fix on; ``found`` None: nothing could be computed."""
    names = np.array([task.calendar.day(t) for t in log.fixes.t_ms.tolist()])
    order = [str(day) for day in np.unique(names)]
    ground = _todays_ground(task, log, found, order) if found else {}
    return tuple(
        Daily(
            day,
            _short(task, log, found, day, names == day, ground.get(day, {})),
            _body(task, log, found, day, names == day),
        )
        for day in order
    )


def _body(task: Task, log: Log, found: Found | None, day: str, here: np.ndarray) -> dict[str, Any]:
    """The time line of a day; where several rigs worked also each rig's own, as ``rigs``."""
    whole = _line(task, log, found, day, here, None)
    shares = found[0].rigs if found is not None else ()
    if len(shares) < 2:
        return whole
    rigs = []
    for number, share in enumerate(shares):
        mine = here & np.isin(
            log.fixes.phone, [k for k, n in enumerate(log.fixes.phones) if n in share.phones]
        )
        if mine.any():
            own = _line(task, log, found, day, mine, number)
            rigs.append({"name": share.name, "phones": list(share.phones), **own})
    return {**whole, "rigs": rigs}


def _line(
    task: Task, log: Log, found: Found | None, day: str, here: np.ndarray, rig: int | None
) -> dict[str, Any]:
    """The time line of all that worked, or of one rig by its number."""
    fixes = log.fixes
    rows = merged(fixes, np.flatnonzero(here))
    phones = None if rig is None or found is None else found[0].rigs[rig].phones
    t, speed = fixes.t_ms[rows], _speeds(fixes, rows)
    told = _thin(len(rows))
    gaps = np.flatnonzero(np.diff(t) > _GAP_MS)
    levers = [
        m
        for m in log.marks
        if shown(m).kind == "lever"
        and task.calendar.day(m.t_ms) == day
        and (phones is None or not phones_of(m, log).isdisjoint(phones))
    ]
    runs = _runs(task, log, found, day, rig)
    questions = [q for q in _questions(found) if task.calendar.day(q["from_ms"]) == day]
    return {
        "day": day,
        "from_ms": int(t[0]),
        "to_ms": int(t[-1]),
        "speed": [
            [int(a), round(float(v), 2)]
            for a, v in zip(t[told], speed[told], strict=True)
            if np.isfinite(v)
        ],
        "place": [
            [
                int(fixes.t_ms[i]),
                round(float(fixes.lon_deg[i]), 7),
                round(float(fixes.lat_deg[i]), 7),
            ]
            for i in rows[told]
        ],
        "gaps": [[int(t[i]), int(t[i + 1])] for i in gaps],
        "lever": [
            {
                "t_ms": m.t_ms,
                "lever": m.says.get("lever"),
                "how": str(m.says.get("how", "")),
                "dev": m.phone,
                "seq": m.seq,
                "hidden": m.kind != "lever",
                "of_dev": m.says.get("of_dev"),
            }
            for m in levers
        ],
        "runs": runs,
        "doubt": [[r["down_ms"], r["up_ms"]] for r in runs if not r["sure"]],
        "questions": [q for q in questions if phones is None or q.get("phone") in phones],
    }


def phones_of(mark: Mark, log: Log) -> set[str]:
    """The phone whose rig an entry is about: its writer's, else the one that it names."""
    return {mark.phone if mark.phone in log.fixes.phones else str(mark.says.get("of_dev") or "")}


def _short(
    task: Task, log: Log, found: Found | None, day: str, here: np.ndarray, ground: dict[str, Any]
) -> dict[str, Any]:
    fixes = log.fixes
    runs = _runs(task, log, found, day)
    ways = [w for w in found[0].ways if w.run in {r["number"] for r in runs}] if found else []
    fills = [m for m in log.marks if m.kind == "fill" and task.calendar.day(m.t_ms) == day]
    computed = found is not None
    first = min((r["down_ms"] for r in runs), default=None)
    last = max((r["up_ms"] for r in runs), default=None)
    return {
        "sown_ha": ground.get("sown_ha") if computed else None,
        "twice_ha": ground.get("twice_ha") if computed else None,
        "swept_ha": round(sum(w.width_m * w.length_m for w in ways) / 1e4, 5) if computed else None,
        "down_km": round(sum(w.length_m for w in ways) / 1000, 3) if computed else None,
        "hours": round((last - first) / 3.6e6, 4) if first is not None and last else None,
        "runs": len(runs) if computed else None,
        "from_ms": first,
        "to_ms": last,
        "phones": sorted({fixes.phones[i] for i in np.unique(fixes.phone[here])}),
        "fills": [
            {"t_ms": m.t_ms, **{k: m.says.get(k) for k in ("product", "kg", "l")}} for m in fills
        ],
        "questions": sum(task.calendar.day(q["from_ms"]) == day for q in _questions(found)),
    }


def _todays_ground(
    task: Task, log: Log, found: Found, order: list[str]
) -> dict[str, dict[str, float]]:
    """Ground first sown, and sown again, on each day that has runs."""
    tally, _ = found
    t0 = int(np.min(log.fixes.t_ms))
    day_of = {r.number: task.calendar.day(moment(t0, r.down_s)) for r in tally.runs}
    busy = [day for day in order if day in day_of.values()]
    if len(busy) == 1:
        sown, twice = tally.sown_ha, tally.twice_ha
        return {busy[0]: {"sown_ha": round(sown, 5), "twice_ha": round(twice, 5)}}
    out: dict[str, dict[str, float]] = {}
    reached = tally.ground.sown
    before: BaseGeometry = shapely.Polygon()
    for day in busy:
        swath = shapely.union_all(
            [p for w in tally.ways if day_of.get(w.run) == day for p in _swath(w)]
        )
        new = shapely.intersection(reached, shapely.difference(swath, before)).area
        again = shapely.intersection(tally.ground.twice, swath).area
        out[day] = {"sown_ha": round(new / 1e4, 5), "twice_ha": round(again / 1e4, 5)}
        before = shapely.union(before, swath)
    return out


def _swath(way: Way) -> list[BaseGeometry]:
    steps = np.hypot(np.diff(way.x_m), np.diff(way.y_m))
    poses = Poses(way.t_s, way.x_m, way.y_m, way.heading_rad, np.r_[0.0, np.cumsum(steps)])
    return list(swept(poses, piece_cuts(poses), 0.0, way.width_m))


def _runs(
    task: Task, log: Log, found: Found | None, day: str, rig: int | None = None
) -> list[dict[str, Any]]:
    t0 = int(np.min(log.fixes.t_ms))
    rows = [
        {
            "number": r.number,
            "down_ms": moment(t0, r.down_s),
            "up_ms": moment(t0, r.up_s),
            "sure": r.sure,
        }
        for r in (found[0].runs if found else ())
        if rig is None or r.outfit == rig
    ]
    return [r for r in rows if task.calendar.day(r["down_ms"]) == day]


def _questions(found: Found | None) -> list[dict[str, Any]]:
    return list(to_object(found[0], "")["questions"]) if found else []


def merged(fixes: Fixes, rows: Ints) -> Ints:
    """Rows in order of time: the phone with most fixes, others where it has none nearby."""
    phones, counts = np.unique(fixes.phone[rows], return_counts=True)
    kept = np.array([], dtype=np.int64)
    for phone in phones[np.argsort(-counts, kind="stable")]:
        mine = rows[fixes.phone[rows] == phone]
        if len(kept):
            t = np.sort(fixes.t_ms[kept])
            at = np.searchsorted(t, fixes.t_ms[mine])
            before = fixes.t_ms[mine] - t[np.clip(at - 1, 0, len(t) - 1)]
            after = t[np.clip(at, 0, len(t) - 1)] - fixes.t_ms[mine]
            mine = mine[(np.abs(before) > _FILL_MS) & (np.abs(after) > _FILL_MS)]
        kept = np.r_[kept, mine]
    return kept[np.argsort(fixes.t_ms[kept], kind="stable")]


def _speeds(fixes: Fixes, rows: Ints) -> np.ndarray:
    """The reported speed, else the way from the fix before over the time, m/s."""
    out = fixes.speed_m_s[rows].copy()
    lat, lon = fixes.lat_deg[rows], fixes.lon_deg[rows]
    dx = np.diff(lon) * np.cos(np.radians(lat[1:])) * _EARTH_M
    dt = np.diff(fixes.t_ms[rows]) / 1000.0
    with np.errstate(divide="ignore", invalid="ignore"):
        driven = np.hypot(dx, np.diff(lat) * _EARTH_M) / dt
    driven[(dt <= 0) | (dt > _GAP_MS / 1000)] = np.nan
    blank = ~np.isfinite(out)
    out[blank] = np.r_[np.nan, driven][blank]
    return out


def _thin(count: int) -> Ints:
    return np.unique(np.linspace(0, count - 1, min(count, MOST)).astype(np.int64))
