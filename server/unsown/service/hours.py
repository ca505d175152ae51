"""Where a work's hours went, how well it was driven, how long the rest takes; ready for JSON."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from unsown.core.capacity import hours_left, paces_ha_h, spread_h, theoretical_ha_h
from unsown.core.handover import not_reached
from unsown.core.ledger import seeded_of
from unsown.core.plane import Plane
from unsown.core.spent import spent
from unsown.core.words import Ints, Log, Tally
from unsown.service.calendar import Calendar
from unsown.service.runs import moment


def hours(
    log: Log,
    found: tuple[Tally, Plane],
    rows: Ints,
    calendar: Calendar,
    width_m: float,
    speed_m_s: float,
    pace: float,
) -> dict[str, Any] | None:
    """Hours by what was done, field efficiency and what it was lost to; None where none was sown.

    Args:
        log: the work's.
        found: what the engine found.
        rows: positions of one rig, in order of time.
        calendar: how the farm counts its days.
        width_m: working width.
        speed_m_s: working speed.
        pace: hectares an hour, stops included.
    """
    tally, plane = found
    worked = [r for r in tally.runs if r.up_s > r.down_s]
    if not worked or len(rows) < 2 or tally.sown_ha <= 0:
        return None
    t0 = int(np.min(log.fixes.t_ms))
    t = (log.fixes.t_ms[rows] - t0) / 1000.0
    t, once = np.unique(t, return_index=True)
    x, y = plane.to_xy(log.fixes.lon_deg[rows][once], log.fixes.lat_deg[rows][once])
    runs = [(r.down_s, r.up_s) for r in worked]
    fills = [(m.t_ms - t0) / 1000.0 for m in log.marks if m.kind == "fill"]
    days = _days(t0, runs, calendar)
    made = spent(t, x, y, runs, fills, days)
    if made.field_h <= 0:
        return None
    most = theoretical_ha_h(width_m, speed_m_s * 3.6)
    rest = sum(p.area_m2 for p in not_reached(tally.patches, tally.ground.net.area)) / 1e4
    rest_h = hours_left(rest, pace)
    seeded = seeded_of(tally.ways)
    lately = paces_ha_h(seeded.t_s, seeded.ha, *days[-1]) if len(seeded.t_s) else []
    spread = spread_h(rest_h, lately)
    return {
        **{key: round(getattr(made, key), 3) for key in _PARTS},
        "field_h": round(made.field_h, 3),
        "theoretical_ha_h": round(most, 3),
        "pace_ha_h": round(pace, 3),
        "efficiency": round(made.efficiency(tally.sown_ha, most), 4),
        "lost": {k: round(v, 4) for k, v in made.lost(tally.sown_ha, most).items()},
        "rest_ha": round(rest, 4),
        "rest_h": round(rest_h, 2) if rest > 0 else None,
        "rest_spread_h": None if spread is None else round(spread, 2),
    }


_PARTS = ("sowing_h", "turning_h", "standing_h", "filling_h")


def _days(
    t0_ms: int, runs: Sequence[tuple[float, float]], calendar: Calendar
) -> list[tuple[float, float]]:
    """From the first lever down to the last up of each farm day."""
    spans: dict[str, tuple[float, float]] = {}
    for down, up in runs:
        day = calendar.day(moment(t0_ms, down))
        first, last = spans.get(day, (down, up))
        spans[day] = min(first, down), max(last, up)
    return list(spans.values())
