"""What the service would hand to a paper, made from a day of files without the service."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from unsown.core.day import find
from unsown.core.plane import Plane
from unsown.core.words import Log, Settings, Tally
from unsown.formats.boundary import read_paddock
from unsown.formats.geojson import ground
from unsown.formats.report import to_object
from unsown.formats.rig import read_rig, write_rig
from unsown.formats.track import join, read_track

# job paper 7: the invented farm's prices
PRICES = {
    "seed_kg_ha": 118.0,
    "seed_price_kg": 0.46,
    "fert_kg_ha": 105.0,
    "fert_price_kg": 0.88,
    "fuel_l_ha": 5.2,
    "fuel_price_l": 1.35,
    "tractor_h": 58.0,
    "yield_t_ha": 2.4,
    "grain_price_t": 330.0,
    "weed_penalty_ha": 150.0,
}
SETTINGS: Mapping[str, Any] = {
    "version": 1,
    "farm": "Ninepost Coulee",
    "units": "ha",
    "land": "paddock",
    "zone": "America/Regina",
    "day_start": "04:00",
    "currency": "C$",
    "prices": PRICES,
}
ACRES: Mapping[str, Any] = {**SETTINGS, "units": "ac", "land": "field"}


def from_folder(folder: Path, *, until: float = 1.0) -> dict[str, Any]:
    """``work``, ``paddock`` and ``rig`` of a folder with a track, a paddock and a rig card.

    ``until`` cuts the day after that share of it.
    """
    track = next(p for p in sorted(folder.iterdir()) if p.name.startswith("track."))
    log = join([read_track(track.read_bytes(), track.name)])
    text = (folder / "paddock.geojson").read_text(encoding="utf-8")
    paddock = read_paddock(text.encode(), "paddock.geojson")
    rig = read_rig((folder / "rig.toml").read_bytes(), "rig.toml")
    log = cut(log, until)
    tally, plane = find(log, paddock, [rig], Settings(draws=20))
    name = paddock.name or folder.name
    return {
        "work": work(tally, plane, log, name),
        "paddock": {"id": "p1", "name": name, "version": 1, "geojson": json.loads(text)},
        "rig": rig_json(write_rig(rig)),
    }


def rig_json(toml: str) -> dict[str, Any]:
    """A rig card as the service gives it."""
    import tomllib

    card = tomllib.loads(toml)
    return {"id": "r1", "name": card["name"], "version": 1, "card": card, "toml": toml}


def cut(log: Log, share: float) -> Log:
    """The log up to a share of its time."""
    fixes = log.fixes
    end = int(np.quantile(fixes.t_ms, share))
    keep = fixes.t_ms <= end
    names = [n for n in fixes.__dataclass_fields__ if n != "phones"]
    seen = replace(fixes, **{n: getattr(fixes, n)[keep] for n in names})
    return replace(log, fixes=seen, marks=tuple(m for m in log.marks if m.t_ms <= end))


def work(tally: Tally, plane: Plane, log: Log, name: str) -> dict[str, Any]:
    """A work in the shape of the API, runs as lines of the phone's own path."""
    t0 = int(log.fixes.t_ms.min())
    document = json.loads(ground(tally, plane))
    runs = []
    for run in tally.runs:
        down, up = t0 + round(1000 * run.down_s), t0 + round(1000 * run.up_s)
        at = (log.fixes.t_ms >= down) & (log.fixes.t_ms <= up)
        lon, lat = log.fixes.lon_deg[at], log.fixes.lat_deg[at]
        if at.sum() < 2:
            continue
        x, y = plane.to_xy(lon, lat)
        about = {"state": "run", "number": run.number, "down_ms": down, "up_ms": up}
        line = {"type": "LineString", "coordinates": np.column_stack([lon, lat]).tolist()}
        document["features"].append({"type": "Feature", "geometry": line, "properties": about})
        length = float(np.hypot(np.diff(x), np.diff(y)).sum())
        about = {k: v for k, v in about.items() if k != "state"}
        phone = log.fixes.phones[0]
        runs.append({**about, "how": run.how, "sure": run.sure, "phone": phone, "length_m": length})
    pegs = [{"t_ms": m.t_ms, "dev": m.phone, **m.says} for m in log.marks if m.kind == "peg"]
    fills = [{"t_ms": m.t_ms, **m.says} for m in log.marks if m.kind == "fill"]
    return {
        "state": "ready",
        "stale": False,
        "season": 2026,
        "tally": json.loads(json.dumps(to_object(tally, name))),
        "runs": runs,
        "days": [],
        "ground": document,
        "pegs": pegs,
        "fills": fills,
    }


def today(made: Mapping[str, Any]) -> dict[str, Any]:
    """One paddock of a day slip, of a day that was all of the work."""
    runs, tally = made["work"]["runs"], made["work"]["tally"]
    begin, end = min(r["down_ms"] for r in runs), max(r["up_ms"] for r in runs)
    day = {
        "sown_ha": round(tally["sown_ha"] + tally["part_ha"], 5),
        "twice_ha": tally["twice_ha"],
        "hours": round((end - begin) / 3.6e6, 4),
        "down_km": tally["down_km"],
        "runs": len(runs),
        "phones": sorted({r["phone"] for r in runs}),
        "from_ms": begin,
        "to_ms": end,
        "fills": made["work"]["fills"],
    }
    return {
        "id": made["paddock"]["id"],
        "name": made["paddock"]["name"],
        "state": made["work"]["state"],
        "reason": None,
        "tally": tally,
        "today": day,
        "geojson": made["paddock"]["geojson"],
        "ground": made["work"]["ground"],
    }
