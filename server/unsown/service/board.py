"""What is shown of what was computed: the farm board, a work, its ground, its days, the slip.

Nothing here computes or waits: it is read as it was kept, with what is known of its age.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

from sqlalchemy import Connection, select

from unsown.formats.eight import eight
from unsown.formats.handed import from_json
from unsown.formats.script import script, spoken
from unsown.formats.units import Units
from unsown.formats.when import moment, zone
from unsown.service import things as read
from unsown.service import works
from unsown.service.money import priced
from unsown.service.rivals import rivals
from unsown.service.settings import costs, settings, settings_in
from unsown.service.words import FarmError
from unsown.store import index, phones, things
from unsown.store.index import Work
from unsown.store.schema import daily, work
from unsown.store.store import Store, unpacked

Running = Callable[[Work], tuple[str, float] | None]
_NUMBERS = ("sown_ha", "bare_ha", "bare_low_ha", "bare_high_ha", "doubt_ha", "twice_ha")


def board(
    store: Store, season: int | None, this_season: int, running: Running, now_ms: int
) -> dict[str, Any]:
    """The farm board of a season: the newest with entries where None; ``this_season`` without."""
    with store.read() as conn:
        seasons = index.seasons(conn)
        season = season or (seasons[0] if seasons else this_season)
        asked = select(
            work.c.paddock, work.c.state, work.c.stale, work.c.last_day, work.c.short, work.c.reason
        ).where(work.c.season == season)
        rows = {row.paddock: row for row in conn.execute(asked)}
        fixes, days = index.loose(conn, season)
        paddocks = [
            _line(short, rows.get(short["id"]), running((short["id"], season)))
            for short in things.shorts(conn, "paddock")
        ]
        known = [asdict(p) for p in phones.every(conn)]
        both = [asdict(each) for each in rivals(conn, now_ms)]
    return {
        "season": season,
        "seasons": seasons or [season],
        "paddocks": paddocks,
        "phones": known,
        "unplaced": {"fixes": fixes, "days": days},
        "rivals": both,
    }


def _line(paddock: Mapping[str, Any], row: Any, now: tuple[str, float] | None) -> dict[str, Any]:
    short = json.loads(row.short) if row is not None else {}
    reason = json.loads(row.reason) if row is not None and row.reason else None
    state = _state(row, short)
    return {
        "id": paddock["id"],
        "name": paddock["name"],
        "net_ha": paddock["facts"]["net_ha"],
        "state": "computing" if now or (row is not None and row.stale) else state,
        "was": state,
        "stage": now[0] if now else None,
        "part": round(now[1], 3) if now else None,
        **{k: short.get(k) for k in _NUMBERS},
        "loose_ends": short.get("loose_ends", 0),
        "questions": short.get("questions", 0),
        "last_day": (row.last_day or None) if row is not None else None,
        "reason": reason,
    }


def _state(row: Any, short: Mapping[str, Any]) -> str:
    if row is None or row.state == "none":
        return "not begun"
    return "failed" if row.state == "failed" else str(short["state"])


def show(store: Store, which: Work, running: Running) -> dict[str, Any]:
    """A work as it was last computed; ``stale`` where something came since.

    Raises:
        FarmError: ``unknown``: no such paddock.
    """
    with store.read() as conn:
        _paddock(conn, which[0])
        row = works.row(conn, which)
        days = _days(conn, which)
    now = running(which)
    out: dict[str, Any] = {
        "paddock": which[0],
        "season": which[1],
        "state": "none",
        "stale": False,
        "stage": now[0] if now else None,
        "part": round(now[1], 3) if now else None,
        "reason": None,
        "tally": None,
        "runs": [],
        "days": days,
        "area_check": None,
        **dict.fromkeys(("waste", "worth", "bins", "hours", "rig", "handover")),
        "head": "",
    }
    if row is None:
        return out
    body = works.body_of(row) or {}
    waits = bool(now or row.stale)
    out |= {
        "state": "computing" if waits and not row.key else row.state,
        "stale": waits,
        "reason": works.reason_of(row),
        "head": row.key,
        "computed_ms": row.made_ms or None,
        "took_s": round(row.took_s, 2),
        "rigs": body.get("rigs", []),
    }
    if row.state == "ready":
        names = ("tally", "runs", "pegs", "fills", "stops", "marks")
        found = settings(store)
        out |= {name: body[name] for name in names}
        out["area_check"] = _area_check(body, found["prices"])
        out["taken"] = body.get("taken", [])
        if "handover" in body:
            out |= _upshot(body, found)
    return out


def _upshot(body: Mapping[str, Any], found: Mapping[str, Any]) -> dict[str, Any]:
    """Waste with its money, worth, bins, and the handover in the farm's own units and clock."""
    where, handed = zone(found), from_json(body["handover"])
    units = Units(found["units"] == "ac")
    said = script(handed, units)
    lines = eight(handed, units, lambda t_ms: moment(t_ms, where))
    return {
        "waste": priced(body["waste"], costs(found), body["pace_ha_h"]),
        "worth": {**body["worth"], "currency": found["currency"]},
        "bins": body["bins"],
        "hours": body["hours"],
        "rig": body.get("rig"),
        "handover": {
            **body["handover"],
            "lines": [list(line) for line in lines],
            "script": said,
            "spoken": spoken(said),
        },
    }


def _area_check(body: Mapping[str, Any], prices: Mapping[str, Any]) -> dict[str, Any]:
    """Hectares gone over, what was sown twice counted twice: by map, by speed, by seed used.

    By seed: what went out between the first and the last fill, at the rate of the settings,
    against the map of that time; told for the whole.
    """
    seed, rate, swept = body["seed"], prices.get("seed_kg_ha"), body["tally"]["swept_ha"]
    told = seed is not None and bool(rate)
    return {
        "map_ha": swept,
        "distance_ha": body["by_distance_ha"],
        "product_ha": round(swept * seed["kg"] / rate / seed["ha"], 2) if told else None,
        "product": seed if told else None,
    }


def ground(store: Store, which: Work) -> dict[str, Any] | None:
    """The ground and the runs as GeoJSON; None where nothing was computed."""
    with store.read() as conn:
        _paddock(conn, which[0])
        row = works.row(conn, which)
    found: dict[str, Any] | None = (
        None if row is None or row.ground is None else unpacked(row.ground)
    )
    return found


def timeline(store: Store, which: Work, day: str) -> dict[str, Any]:
    """One day of a work.

    Raises:
        FarmError: ``unknown``: nothing was logged there on that day, or it is not computed yet.
    """
    with store.read() as conn:
        _paddock(conn, which[0])
        found = conn.execute(
            select(daily.c.body).where(
                daily.c.paddock == which[0], daily.c.season == which[1], daily.c.day == day
            )
        ).scalar()
    if found is None:
        raise FarmError(
            "unknown",
            f"There is no time line of {day}.",
            where=which[0],
            hint="Nothing was logged in this paddock on that day, or it is still being computed.",
        )
    out: dict[str, Any] = unpacked(found)
    return out


def slip(store: Store, day: str) -> dict[str, Any]:
    """A day's numbers, paddock by paddock, with what the papers need for their map."""
    with store.read() as conn:
        rows = conn.execute(
            select(daily.c.paddock, daily.c.season, daily.c.short)
            .where(daily.c.day == day)
            .order_by(daily.c.paddock)
        ).all()
        out = [_of_slip(store, conn, (r.paddock, r.season), day, json.loads(r.short)) for r in rows]
    out = [each for each in out if each is not None]
    return {"day": day, "paddocks": sorted(out, key=lambda p: p["today"]["from_ms"] or 0)}


def _of_slip(
    store: Store, conn: Connection, which: Work, day: str, today: Mapping[str, Any]
) -> dict[str, Any] | None:
    paddock, row = things.get(conn, "paddock", which[0]), works.row(conn, which)
    if paddock is None or row is None or (row.state == "none" and not today["runs"]):
        return None  # passed by, not worked in
    body = works.body_of(row)
    found = settings_in(store, conn)
    mine = (body or {}).get("waste_days", {}).get(day)
    last = max(_days(conn, which), default=day)
    return {
        "id": paddock.id,
        "name": paddock.name,
        "season": which[1],
        "state": row.state,
        "stale": bool(row.stale),
        "reason": works.reason_of(row),
        # the tally is of all days there are: on an earlier day's slip it would say too much
        "tally": body["tally"] if body and day == last else None,
        "today": today,
        "worth": {**body["worth"], "currency": found["currency"]}
        if day == last and "worth" in (body or {})
        else None,
        "waste": priced(mine, costs(found), body["pace_ha_h"]) if body and mine else None,
        "geojson": read.as_collection(paddock.body),
        "ground": unpacked(row.ground) if row.ground is not None else None,
    }


def _days(conn: Connection, which: Work) -> list[str]:
    rows = conn.execute(
        select(daily.c.day)
        .where(daily.c.paddock == which[0], daily.c.season == which[1])
        .order_by(daily.c.day)
    )
    return [str(r[0]) for r in rows]


def _paddock(conn: Connection, id_: str) -> None:
    if things.get(conn, "paddock", id_) is None:
        raise read.unknown("paddock", id_)
