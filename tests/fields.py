"""Days for the phone as files: a farm pack and a log, as it takes them in without a network."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from unsown.core.day import find
from unsown.core.plane import Plane
from unsown.core.words import Settings, Tally
from unsown.formats import geojson, log
from unsown.service.pack import land_of
from unsown.sim import SimDay

#: The paddock's id in the pack.
PADDOCK = "sim"


def pack(day: SimDay, ground: str | None = None, **settings: Any) -> dict[str, Any]:
    """What ``GET /api/pack`` would give of a farm with the day's paddock and rig card alone."""
    named = {"id": PADDOCK, "name": "Long Pan", "version": 1, "net_ha": 5.0}
    rig = {"id": "card", "name": day.rig.name, "version": 1, "made_ms": 0}
    return {
        "season": 2026,
        "settings": {
            **{"farm": "Ninepost Coulee", "units": "ha", "land": "paddock", "zone": "UTC"},
            **{"day_start": "04:00", "currency": "C$", "prices": {}, **settings},
        },
        "paddocks": [{**named, "land": land_of(day.paddock)}],
        "rigs": [{**rig, "chain": [{**asdict(day.rig), "notes": list(day.rig.notes)}]}],
        "ground": {} if ground is None else {PADDOCK: json.loads(ground)},
    }


def found(day: SimDay, seed: int = 1) -> tuple[Tally, Plane]:
    """The day computed at home, by draws from a seed."""
    return find(day.log, day.paddock, [day.rig], Settings(seed=seed))


def home(day: SimDay) -> tuple[Tally, str]:
    """The day computed at home, and its ground as GeoJSON."""
    tally, plane = found(day)
    return tally, geojson.ground(tally, plane)


def write(day: SimDay, folder: Path, ground: str | None = None) -> tuple[Path, Path]:
    """Pack and log in ``folder``."""
    pack_file, log_file = folder / "pack.json", folder / "day.jsonl"
    pack_file.write_text(json.dumps(pack(day, ground)), encoding="utf-8")
    log_file.write_text(log.write(day.log, number_lines=True), encoding="utf-8")
    return pack_file, log_file
