"""The runs of a work: as a table, as lines on the map, and how far they went by speed alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely

from unsown.core.plane import Plane, wrap_deg
from unsown.core.words import Fixes, Floats, Log, Run, Tally, Way
from unsown.service.calendar import Calendar

#: A line on the map keeps to its way within this, m.
_FINE_M = 0.25
#: Speeds further apart than this say nothing of the time between, s.
_APART_S = 10.0
#: A distance by speed is told only where speeds cover this part of the time.
_COVERED = 0.9
#: Fills nearer to each other than this were made at one stop, ms; less ground tells no rate, ha.
_ONE_STOP_MS, _LEAST_HA = 30 * 60_000, 1.0


def moment(t0_ms: int, t_s: float) -> int:
    """A time of the tally as UTC ms."""
    return t0_ms + round(t_s * 1000)


def table(log: Log, tally: Tally, calendar: Calendar) -> list[dict[str, Any]]:
    """The runs, in order; ``length_m`` is None where nothing sure is known of the way."""
    t0 = int(np.min(log.fixes.t_ms))
    out = []
    for run in tally.runs:
        mine = [w for w in tally.ways if w.run == run.number]
        down = moment(t0, run.down_s)
        out.append(
            {
                "number": run.number,
                "day": calendar.day(down),
                "down_ms": down,
                "up_ms": moment(t0, run.up_s),
                "how": run.how,
                "sure": run.sure,
                "phone": mine[0].phone if mine else _phone(log.fixes, t0, run),
                "length_m": round(sum(w.length_m for w in mine), 1) if mine else None,
                "width_m": mine[0].width_m if mine else None,
            }
        )
    return out


def lines(tally: Tally, plane: Plane, t0_ms: int) -> list[dict[str, Any]]:
    """GeoJSON lines of where the tool's middle went, settled; one for each unbroken stretch."""
    runs = {run.number: run for run in tally.runs}
    out = []
    for way in tally.ways:
        if len(way.t_s) < 2:
            continue
        path = shapely.LineString(np.column_stack([way.x_m, way.y_m]))
        x, y = shapely.get_coordinates(path.simplify(_FINE_M)).T
        run = runs[way.run]
        out.append(
            {
                "type": "Feature",
                "geometry": {"type": "LineString", "coordinates": _degrees(plane, x, y)},
                "properties": {
                    "state": "run",
                    "number": run.number,
                    "down_ms": moment(t0_ms, run.down_s),
                    "up_ms": moment(t0_ms, run.up_s),
                    "from_ms": moment(t0_ms, float(way.t_s[0])),
                    "to_ms": moment(t0_ms, float(way.t_s[-1])),
                    "phone": way.phone,
                    "width_m": way.width_m,
                    "length_m": round(way.length_m, 1),
                },
            }
        )
    return out


def _degrees(plane: Plane, x: Floats, y: Floats) -> list[list[float]]:
    """Places with 7 decimals; longitudes run on across 180° so that a line does not jump."""
    lon, lat = plane.to_degrees(x, y)
    on = plane.lon0_deg + wrap_deg(lon - plane.lon0_deg)
    return [[round(a, 7), round(b, 7)] for a, b in zip(on.tolist(), lat.tolist(), strict=True)]


def by_distance_ha(log: Log, tally: Tally) -> float | None:
    """Working width times the way by the phones' own speeds, while seeding; hectares.

    Independent of the positions. None where too few fixes tell a speed.
    """
    fixes, t0 = log.fixes, int(np.min(log.fixes.t_ms))
    total = 0.0
    for way in tally.ways:
        if way.phone not in fixes.phones:
            return None
        mine = (fixes.phone == fixes.phones.index(way.phone)) & np.isfinite(fixes.speed_m_s)
        t = (fixes.t_ms[mine] - t0) / 1000.0
        v = fixes.speed_m_s[mine]
        a, b = float(way.t_s[0]), float(way.t_s[-1])
        inside = (t > a) & (t < b)
        if len(t) < 2:
            return None
        at = np.r_[a, t[inside], b]
        speed = np.interp(at, t, v)
        step = np.diff(at)
        good = step <= _APART_S
        if step[good].sum() < _COVERED * (b - a):
            return None
        mean = (speed[1:] + speed[:-1]) / 2
        total += way.width_m * float((mean * step).sum())
    return round(total / 1e4, 4) if tally.ways else None


def seed_between(log: Log, tally: Tally) -> dict[str, float] | None:
    """Seed that went out between the first and the last fill, and the hectares gone over meanwhile.

    What was filled after the first time is what was used in between, if the bin was filled up each
    time. None where seed was filled at fewer than two stops, or less than 1 ha was gone over.
    """
    fills = sorted(
        (m.t_ms, float(m.says["kg"]))
        for m in log.marks
        if m.kind == "fill"
        and str(m.says.get("product")).lower() == "seed"
        and isinstance(m.says.get("kg"), int | float)
    )
    stops: list[list[float]] = []
    for t_ms, kg in fills:
        if stops and t_ms - stops[-1][1] < _ONE_STOP_MS:
            stops[-1][1:] = [t_ms, stops[-1][2] + kg]
        else:
            stops.append([t_ms, t_ms, kg])
    if len(stops) < 2:
        return None
    t0 = int(np.min(log.fixes.t_ms))
    first, last = (stops[0][1] - t0) / 1000, (stops[-1][0] - t0) / 1000
    ha = sum(
        w.width_m * _way_m(w, first, last) / 1e4
        for w in tally.ways
        if w.t_s[-1] > first and w.t_s[0] < last
    )
    if ha < _LEAST_HA:
        return None
    return {"kg": round(sum(kg for *_, kg in stops[1:]), 1), "ha": round(ha, 3),
            "from_ms": stops[0][1], "to_ms": stops[-1][0]}  # fmt: skip


def _way_m(way: Way, from_s: float, to_s: float) -> float:
    """The part of a way's length between two times, by its places."""
    steps = np.r_[0.0, np.cumsum(np.hypot(np.diff(way.x_m), np.diff(way.y_m)))]
    a, b = np.interp([from_s, to_s], way.t_s, steps)
    return float(b - a) * (way.length_m / float(steps[-1]) if steps[-1] > 0 else 0.0)


def _phone(fixes: Fixes, t0_ms: int, run: Run) -> str | None:
    """The phone with most fixes during a run."""
    t = (fixes.t_ms - t0_ms) / 1000.0
    during = fixes.phone[(t >= run.down_s) & (t <= run.up_s)]
    return fixes.phones[int(np.bincount(during).argmax())] if len(during) else None
