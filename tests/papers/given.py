"""What the service would hand to a paper, made from a day of files without the service."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from shapely import affinity
from shapely.geometry import Point, box, mapping

import tallies
from unsown.core.back import back
from unsown.core.day import find
from unsown.core.handover import Aboard, Beside, handover
from unsown.core.plane import Plane
from unsown.core.price import EXAMPLE
from unsown.core.words import Log, Rig, Settings, Tally, Way
from unsown.formats.boundary import read_paddock
from unsown.formats.geojson import ground
from unsown.formats.going import to_worth
from unsown.formats.handed import to_json
from unsown.formats.report import to_object
from unsown.formats.rig import read_rig, write_rig
from unsown.formats.track import join, read_track
from unsown.service.money import priced
from unsown.service.task import Costs

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
T_MS = 1_746_281_400_000
CARD = """\
name = "Long drill"
kind = "towed"
[phone]
ahead_of_axle_m = 0.9
[tractor]
axle_to_pin_m = 1.05
[tool]
width_m = 8.4
pin_to_axle_m = 6.1
front_rank_m = 1.7
rear_rank_m = -0.7
[times]
lower_s = 1.8
raise_s = 0.6
meter_s = 0.9
fill_s = 5.0
drain_s = 4.6
"""
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


def upshot(tally: Tally, plane: Plane, rigs: Sequence[Rig], name: str) -> dict[str, Any]:
    """``worth``, ``waste`` and ``handover`` as the service gives them."""
    net, away = tally.ground.net, (float(tally.ground.net.bounds[0]), 0.0)
    fence = net.boundary
    gate = fence.interpolate(fence.project(Point(away)))
    found = back(tally, rigs, EXAMPLE, (gate.x, gate.y), 3360.0, 4.4)
    now = found.now
    labels = None if now is None else {n: g.label for g in now.groups for n in g.patches}
    aboard = (
        Aboard("seed", 818.0, "kg", 6.93, 0.45, 3),
        Aboard("fertiliser", 1195.0, "kg", 11.38, 0.6, 6),
    )
    beside = Beside(
        name, aboard, ("wire",), ("wet",), ("gate",), (rigs[0].name, "stopped: rain"), "morning",
        labels, now.sure_s / 60 if now is not None and now.stops else None,
    )  # fmt: skip
    way = Way(
        2, "morning", 8.4, 448.0, np.array([0.0, 210.0, 215.0]), np.array([-400.0, 40.0, 40.0]),
        np.array([60.0, 60.0, 68.0]), np.zeros(3),
    )  # fmt: skip
    handed = handover(replace(tally, ways=(way,)), plane, T_MS, T_MS + 400_000, beside)
    return {
        "worth": {**to_worth(found, tally, plane), "examples": [], "currency": "C$"},
        "waste": wasted(),
        "handover": json.loads(json.dumps(to_json(handed))),
    }


def wasted(**changes: Any) -> dict[str, Any]:
    """A waste by hand: 3.22 ha, of it 2.24 ha wished; the farm's own prices."""
    made = {
        **{"again_ha": 3.22, "low_ha": 3.08, "high_ha": 3.38, "share": 0.054, "wished_ha": 2.24},
        **{"unexplained_ha": 0.04, "seeded_ha": 62.6, "finished": True},
        "causes": {
            **{"between runs": 2.43, "headland ends": 0.4, "point rows": 0.14},
            **{"round obstacles": 0.15, "restart": 0.05, "finishing": 0.0, "turns": 0.01},
        },
        **changes,
    }
    own = replace(Costs(), examples=(), currency="C$")
    return priced(made, own, 4.4)


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


def with_upshot(made: dict[str, Any], tally: Tally | None = None) -> dict[str, Any]:
    """The day drawn by hand with what is weighed and handed over of it."""
    rig = read_rig(CARD.encode(), "rig.toml")
    more = upshot(tally or tallies.day(), tallies.PLANE, [rig], "Dry Ladle")
    return {**made, "work": {**made["work"], **more}}


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
        "waste": made["work"].get("waste"),
        "worth": made["work"].get("worth"),
        "geojson": made["paddock"]["geojson"],
        "ground": made["work"]["ground"],
    }


def by_hand(**changes: Any) -> dict[str, Any]:
    """A day drawn by hand (``tallies``): loose ends of each kind, doubt, a question, a hazard."""
    tally = tallies.day()
    document = json.loads(ground(tally, tallies.PLANE))
    lon, lat = tallies.PLANE.to_degrees([-400.0, 40.0, 40.0], [60.0, 60.0, 68.0])
    line = np.column_stack([lon, lat]).tolist()
    about = {"state": "run", "number": 2, "down_ms": T_MS, "up_ms": T_MS + 220_000,
             "from_ms": T_MS, "to_ms": T_MS + 215_000, "length_m": 448.0}  # fmt: skip
    way = {"type": "LineString", "coordinates": line}
    document["features"].append({"type": "Feature", "geometry": way, "properties": about})
    (peg_lon,), (peg_lat,) = tallies.PLANE.to_degrees([500.0], [-460.0])
    made: dict[str, Any] = {
        "state": "ready",
        "stale": False,
        "season": 2025,
        "tally": json.loads(json.dumps(to_object(tally, "Dry Ladle"))),
        "runs": [{"number": 2, "down_ms": T_MS, "up_ms": T_MS + 220_000, "phone": "morning",
                  "length_m": 448.0}],
        "days": ["2025-05-03"],
        "ground": document,
        "pegs": [{"t_ms": T_MS, "name": "gate", "lat_deg": peg_lat, "lon_deg": peg_lon}],
        "fills": [{"t_ms": T_MS, "product": "seed", "kg": 2400}],
    }  # fmt: skip
    shapes = [
        (tallies.outline(), {"name": "Dry Ladle"}),
        (Point(-150, -150).buffer(70), {"kind": "slough", "name": "North slough"}),
        (Point(300, -100).buffer(2), {"kind": "pole", "hazard": True, "note": "low wire"}),
    ]
    paddock = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": mapping(tallies.PLANE.shape_to_degrees(shape)),
                "properties": says,
            }
            for shape, says in shapes
        ],
    }
    kept = tallies.PLANE.shape_to_degrees(shapes[2][0])
    document["features"].append(
        {"type": "Feature", "geometry": mapping(kept), "properties": {"state": "keep-out"}}
    )
    return {
        "work": made | changes,
        "paddock": {"id": "p1", "name": "Dry Ladle", "version": 1, "geojson": paddock},
        "rig": rig_json(CARD),
    }


def nothing(state: str, reason: str | None = None, scale: tuple[float, float] = (1, 1)) -> Any:
    """A paddock of which nothing is computed, stretched east and north by ``scale``."""
    given = by_hand()
    outline = affinity.scale(tallies.outline(), *scale)
    given["paddock"]["geojson"]["features"][0]["geometry"] = mapping(
        tallies.PLANE.shape_to_degrees(outline)
    )
    says = {"code": "no-rig", "message": reason, "where": "", "hint": ""} if reason else None
    given["work"] |= {"state": state, "reason": says, "tally": None, "runs": [], "ground": None,
                      "pegs": [], "fills": []}  # fmt: skip
    return given


def crowded() -> dict[str, Any]:
    """More of everything than a page can hold, under the longest names that are taken."""
    made = by_hand()
    work, paddock = made["work"], made["paddock"]
    paddock["name"] = "The paddock beyond the second coulee, north of the old railway line"
    spots = [(x, y) for x in range(-400, 500, 60) for y in (-470, -300, -220)][:40]
    features = [f for f in work["ground"]["features"] if f["properties"]["state"] != "bare"]
    patch = work["tally"]["patches"][0]
    work["tally"]["patches"] = []
    for number, (x, y) in enumerate(spots, 1):
        shape = tallies.PLANE.shape_to_degrees(box(x, y, x + 12, y + 12))
        says = {**patch, "number": number, "state": "bare", "area_m2": 144.0, "chance": 0.7,
                "call": ("likely", "can't tell")[number % 2], "kind": "pocket"}  # fmt: skip
        features.append({"type": "Feature", "geometry": mapping(shape), "properties": says})
        work["tally"]["patches"].append({k: v for k, v in says.items() if k != "state"})
    work["ground"]["features"] = features
    question = work["tally"]["questions"][0]
    work["tally"]["questions"] = [{**question, "number": n} for n in range(1, 8)]
    names = ("survey pin by the culvert", "gas line marker", "overhead wire", "washed-out bank")
    for at, name in enumerate(names):
        shape = tallies.PLANE.shape_to_degrees(box(-300 + 120 * at, 300, -290 + 120 * at, 310))
        about = {"kind": "hazard", "name": f"{name} {at}", "hazard": True, "note": "keep well off"}
        feature = {"type": "Feature", "geometry": mapping(shape)}
        paddock["geojson"]["features"].append({**feature, "properties": about})
        work["ground"]["features"].append({**feature, "properties": {"state": "keep-out"}})
    pegs = [("gate post by the road", -400), ("evening peg", -100), ("north corner", 40)]
    work["pegs"] = []
    for at, (name, x) in enumerate(pegs):
        (lon,), (lat,) = tallies.PLANE.to_degrees([x], [0.0])
        work["pegs"].append({"t_ms": T_MS + at, "name": name, "lat_deg": lat, "lon_deg": lon})
    work["fills"] = [
        {"t_ms": T_MS + n, "product": p, "kg": 2400.5}
        for n, p in enumerate(("seed", "fertiliser", "trace elements with a long name"))
    ]
    work["runs"] = [{**work["runs"][0], "phone": f"phone number {n}"} for n in range(5)]
    return made
