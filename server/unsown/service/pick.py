"""From lines to the one work's Log: the fixes near the paddock, and the marks of those visits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from unsown.core.words import Bools, Fixes, Log, Mark
from unsown.formats import log
from unsown.formats.rows import Rows
from unsown.formats.track import join
from unsown.service.calendar import Calendar
from unsown.service.fence import Fence
from unsown.service.task import Lines, Task
from unsown.store.index import PAD_MS

Span = tuple[int, int]
_MINUTE_MS = 60_000


def pick(task: Task, fence: Fence) -> Log | None:
    """The work's log; None where no fix lies in it.

    A fix belongs by its place and season. A mark that names a paddock belongs to that one; any
    other belongs where its time lies in a visit of its writer: between fixes in or near the paddock
    without one elsewhere between them, and a minute around. A writer without a position that day,
    such as the desk, may speak of anybody's visit. An undo goes with what it hides.
    """
    lines = (*task.lines, *task.extra)
    logs = [_read(each) for each in lines]
    from_ms, until_ms = task.calendar.span_ms(task.season)
    parts: list[Log] = []
    fixes_of: dict[str, list[Fixes]] = {}
    for each, found in zip(lines, logs, strict=True):
        fixes = found.fixes
        inside = fence.has(fixes.lon_deg, fixes.lat_deg)
        inside &= (fixes.t_ms >= from_ms) & (fixes.t_ms < until_ms)
        parts.append(replace(found, fixes=_some(fixes, inside), marks=()))
        fixes_of.setdefault(each.dev, []).append(fixes)
    visits = {dev: _visits(some, fence, from_ms, until_ms) for dev, some in fixes_of.items()}
    if not any(visits.values()):
        return None
    marks = log.hide(m for each in logs for m in each.marks)
    kept = _belonging(marks, task, visits, _days(task.calendar, fixes_of))
    return join([*parts, replace(parts[0], fixes=_some(parts[0].fixes, None), marks=tuple(kept))])


def _read(lines: Lines) -> Log:
    if not lines.text.strip():
        return Rows("the log", lines.dev).log()
    return log.read(lines.text + b"\n", f"the log of {lines.dev}", lines.dev)


def _some(fixes: Fixes, which: Bools | None) -> Fixes:
    """The fixes that are marked; none where ``which`` is None."""
    rows = slice(0, 0) if which is None else which
    names = [n for n in fixes.__dataclass_fields__ if n != "phones"]
    return replace(fixes, **{n: getattr(fixes, n)[rows] for n in names})


def _visits(parts: Sequence[Fixes], fence: Fence, from_ms: int, until_ms: int) -> list[Span]:
    """When one writer was in or near the paddock, as (first, last) ms."""
    t, lon, lat = (
        np.concatenate([getattr(p, n) for p in parts]) for n in ("t_ms", "lon_deg", "lat_deg")
    )
    order = np.argsort(t, kind="stable")
    t, lon, lat = t[order], lon[order], lat[order]
    inside = fence.has(lon, lat) & (t >= from_ms) & (t < until_ms)
    change = np.flatnonzero(np.diff(np.r_[0, inside.astype(np.int8), 0]))
    return [(int(t[a]), int(t[b - 1])) for a, b in zip(change[::2], change[1::2], strict=True)]


def _days(calendar: Calendar, fixes_of: Mapping[str, Sequence[Fixes]]) -> set[tuple[str, str]]:
    """The days on which each writer has a position, here or elsewhere."""
    return {
        (dev, calendar.day(t))
        for dev, some in fixes_of.items()
        for each in some
        for t in (np.unique(each.t_ms // _MINUTE_MS) * _MINUTE_MS).tolist()
    }


def _belonging(
    marks: Iterable[Mark],
    task: Task,
    visits: Mapping[str, Sequence[Span]],
    positioned: set[tuple[str, str]],
) -> list[Mark]:
    everybody = [v for some in visits.values() for v in some]
    out, undos = [], []
    for mark in marks:
        named = mark.says.get("paddock")
        if log.shown(mark).kind == "undo":
            undos.append(mark)
        elif named == task.paddock:
            out.append(mark)
        elif named is None:
            own = (mark.phone, task.calendar.day(mark.t_ms)) in positioned
            some = visits.get(mark.phone, ()) if own else everybody
            if any(a - PAD_MS <= mark.t_ms <= b + PAD_MS for a, b in some):
                out.append(mark)
    known = {(m.phone, m.seq) for m in out}
    grown = True
    while grown:
        new = [
            u
            for u in undos
            if (u.phone, u.seq) not in known
            and (str(u.says.get("of_dev") or u.phone), u.says.get("of")) in known
        ]
        known |= {(u.phone, u.seq) for u in new}
        out += new
        grown = bool(new)
    return out
