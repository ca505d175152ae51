"""How fast a whole season's farm board opens: 40 paddocks, 120 days, ten phones of 14 h a day.

What was logged is not sent entry by entry (60 million would take an hour): the rows that a season
of sendings leaves in the store are put there, and the board is asked for as a page asks.
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from sqlalchemy import insert

import farms
from unsown.service.farm import Farm
from unsown.store.schema import chunk, span, touch, work, writer

PADDOCKS, DAYS, PHONES, CHUNKS = 40, 120, 10, 84  # 84 chunks of 600 fixes are 14 h at 1 Hz
TOUCHED = 3  # paddocks within 300 m of a chunk
TIMES = 15


def fill(farm: Farm) -> None:
    """A season in the store, as sendings of 600 fixes leave it."""
    ids = [
        farm.save_paddock(None, many_cornered(f"Paddock {n}", 2_000.0 * n), None).id
        for n in range(PADDOCKS)
    ]
    days = [str(date(2025, 4, 1) + timedelta(n)) for n in range(DAYS)]
    with farm.store.write() as conn:
        for table, rows in season_rows(ids, days).items():
            conn.execute(insert(table), rows)


def many_cornered(name: str, north_m: float) -> dict[str, Any]:
    """A paddock with some 400 corners, as a driven lap leaves it."""
    made = farms.paddock(name, north_m=north_m)
    (west, south), _, (east, north), *_ = made["geometry"]["coordinates"][0]
    top = [[east - (east - west) * i / 400, north] for i in range(400)]
    made["geometry"]["coordinates"] = [[[west, south], [east, south], *top, [west, south]]]
    return made


def season_rows(ids: list[str], days: list[str]) -> dict[Any, list[dict[str, Any]]]:
    """The rows of every table a board could look at."""
    short = {
        "net_ha": 61.4, "sown_ha": 60.9, "part_ha": 0.1, "bare_ha": 0.3, "bare_low_ha": 0.2,
        "bare_high_ha": 0.4, "doubt_ha": 0.1, "twice_ha": 3.2, "unreachable_ha": 0.0,
        "outside_ha": 0.1, "swept_ha": 64.2, "loose_ends": 4, "questions": 1, "state": "loose ends",
    }  # fmt: skip
    out: dict[Any, list[dict[str, Any]]] = {
        writer: [{"dev": f"cab-{p}", "kind": "phone", "held": 0, "known": 0, "made_ms": 0}
                 for p in range(PHONES)],
        chunk: [], span: [], touch: [],
        work: [{"paddock": i, "season": 2025, "stale": 0, "last_day": days[-1], "key": "k",
                "state": "ready", "reason": "", "made_ms": 0, "took_s": 9.0,
                "short": json.dumps(short), "body": b"x" * 30_000, "ground": b"x" * 90_000}
               for i in ids],
    }  # fmt: skip
    number = 0
    for phone in range(PHONES):
        first = 1
        for at, day in enumerate(days):
            for _ in range(CHUNKS):
                number += 1
                dev = f"cab-{phone}"
                out[chunk].append({"id": number, "dev": dev, "first": first, "last": first + 599,
                                   "lines": b"x", "sha256": b"x", "received": "[]"})  # fmt: skip
                out[span].append({"chunk": number, "day": day, "season": 2025, "entries": 600,
                                  "fixes": 600, "loose": 5 if number % 40 == 0 else 0,
                                  "west_deg": -106.3, "south_deg": 49.7, "east_deg": -106.2,
                                  "north_deg": 49.8})  # fmt: skip
                out[touch] += [
                    {"chunk": number, "paddock": ids[(at // 3 + phone + k) % len(ids)], "day": day,
                     "season": 2025, "dev": dev, "last": first + 599, "fixes": 600, "from_ms": 0,
                     "to_ms": 1}
                    for k in range(TOUCHED)
                ]  # fmt: skip
                first += 600
    return out


def row() -> str:
    """The row of the table."""
    with tempfile.TemporaryDirectory() as name, farms.farm_in(Path(name)) as farm:
        fill(farm)
        took = []
        for _ in range(TIMES):
            start = time.perf_counter()
            shown = len(json.dumps(farm.board(2025)))
            took.append(time.perf_counter() - start)
        return (
            f"| farm board of a season: {PADDOCKS} paddocks, {DAYS} days, {PHONES} phones | "
            f"{1000 * sorted(took)[TIMES // 2]:.0f} ms | at most {1000 * max(took):.0f} ms | "
            f"{PHONES * DAYS * CHUNKS * 600 / 1e6:.0f} million fixes in the store's index; "
            f"{shown / 1000:.0f} kB of JSON |"
        )


if __name__ == "__main__":
    print(row())
