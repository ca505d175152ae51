"""Thistle End, the small farm that browsers look at: a paddock, a day, a question, a patch."""

from __future__ import annotations

import json
import threading
import time
from pathlib import Path
from typing import Any

import farms
from served import Served

NAME = "Thistle End"
#: Fixes of the fifth run that a phone call swallowed, seconds of the small day.
CALL_S = (4 * 121 + 30, 4 * 121 + 75)


def put_in(folder: Path) -> None:
    """Stocks a data folder with it; nothing is computed yet."""
    with farms.farm_in(folder) as farm:
        farm.save_settings({"farm": NAME}, 0)
        farm.save_rig(None, farms.CARD, None)
        farm.save_paddock(None, shape(), None)
        farm.take_file("cab.jsonl", farms.body(small_day()))


def small_day() -> list[dict[str, Any]]:
    """The small day with a phone call in its fifth run: nobody knows where the tool was."""
    start = farms.smallday.START_MS
    swallowed = range(*(start + 1000 * s for s in CALL_S))
    kept = [e for e in farms.day() if not (e["kind"] == "fix" and e["t_ms"] in swallowed)]
    return [{**entry, "seq": seq} for seq, entry in enumerate(kept, 1)]


def shape() -> dict[str, Any]:
    """The small paddock with a pole in it."""
    lon, lat = farms.smallday.PLANE.to_degrees([150, 153, 153, 150], [20, 20, 23, 23])
    ring = [[round(a, 8), round(b, 8)] for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]
    pole = {
        "type": "Feature",
        "properties": {"kind": "pole", "hazard": True},
        "geometry": {"type": "Polygon", "coordinates": [[*ring, ring[0]]]},
    }
    return {"type": "FeatureCollection", "features": [farms.paddock("Small"), pole]}


def board(house: Served) -> dict[str, Any]:
    """The farm board as the service tells it."""
    found: dict[str, Any] = json.loads(house.ask("GET", "/api/board")[2])
    return found


def settled(house: Served) -> dict[str, Any]:
    """The board once nothing is computed any more."""
    end = time.monotonic() + farms.WAIT_S
    while time.monotonic() < end:
        found = board(house)
        if all(p["state"] != "computing" for p in found["paddocks"]):
            return found
        threading.Event().wait(0.2)
    raise AssertionError(f"still computing: {found['paddocks']}")


def paddock(house: Served) -> str:
    """The id of its paddock."""
    return str(board(house)["paddocks"][0]["id"])


def tally(house: Served) -> dict[str, Any]:
    """The numbers of its paddock, once nothing is computed any more."""
    settled(house)
    path = f"/api/work/{paddock(house)}?season={farms.SEASON}"
    found: dict[str, Any] = json.loads(house.ask("GET", path)[2])["tally"]
    return found
