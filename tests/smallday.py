"""A day small enough to compute in a blink, written as the files a user would give.

A paddock 200 m long and 48 m wide is sown with an 8 m mounted tool in six runs, east and back.
The fourth run lifts 60 m early: a bare patch of 8 by 60 m = 480 m² at its east end.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from unsown.core.plane import Plane

PLANE = Plane(49.73, -106.21)
LENGTH_M, WIDTH_M, TOOL_M = 200.0, 48.0, 8.0
MISSED_M = 60.0
START_MS = 1_746_280_800_000
SPEED_M_S = 2.0

CARD = """\
name = "Small bar"
kind = "mounted"

[phone]
ahead_of_axle_m = 0

[tool]
width_m = 8
"""


def ring() -> list[list[float]]:
    """The fence, longitude/latitude, anticlockwise and closed."""
    corners = [(0, 0), (LENGTH_M, 0), (LENGTH_M, WIDTH_M), (0, WIDTH_M), (0, 0)]
    lon, lat = PLANE.to_degrees([x for x, _ in corners], [y for _, y in corners])
    return [[round(a, 8), round(b, 8)] for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]


def paddock() -> str:
    """GeoJSON of the fence."""
    geometry = {"type": "Polygon", "coordinates": [ring()]}
    return json.dumps(
        {"type": "Feature", "properties": {"name": "Small paddock"}, "geometry": geometry}
    )


def entries() -> Iterator[dict[str, object]]:
    """The day's log: a fix a second, the lever at both ends of every run."""
    t_ms, seq = START_MS, 0

    def entry(kind: str, **says: object) -> dict[str, object]:
        nonlocal seq
        seq += 1
        return {"v": 1, "dev": "cab", "seq": seq, "t_ms": t_ms, "kind": kind, **says}

    for run in range(6):
        y = TOOL_M * (run + 0.5)
        way = [i * SPEED_M_S for i in range(int(LENGTH_M / SPEED_M_S) + 1)]
        for step, along in enumerate(way):
            x = along if run % 2 == 0 else LENGTH_M - along
            (lon,), (lat,) = PLANE.to_degrees([x], [y])
            yield entry(
                "fix", lat_deg=round(float(lat), 8), lon_deg=round(float(lon), 8), acc_m=1.0
            )
            if step == 0 and run != 3:
                yield entry("lever", lever="down", how="pad")
            if run == 3 and along == MISSED_M:  # lowered late: the east end stays bare
                yield entry("lever", lever="down", how="pad")
            if step == len(way) - 1:
                yield entry("lever", lever="up", how="pad")
            t_ms += 1000
        t_ms += 20_000  # the turn


def lap() -> str:
    """A log of one lap with the tool down: its outer end runs round 150 m by 100 m."""
    half = TOOL_M / 2
    corners = [(half, half), (150 - half, half), (150 - half, 100 - half), (half, 100 - half)]
    way = [
        (ax + (bx - ax) * i / 70, ay + (by - ay) * i / 70)
        for (ax, ay), (bx, by) in zip(corners, [*corners[1:], corners[0]], strict=True)
        for i in range(70)
    ]
    lon, lat = PLANE.to_degrees([x for x, _ in way], [y for _, y in way])
    lines: list[dict[str, object]] = [
        {"t_ms": START_MS + 1000 * i, "kind": "fix", "lat_deg": float(b), "lon_deg": float(a)}
        for i, (a, b) in enumerate(zip(lon, lat, strict=True))
    ]
    lines.append({"t_ms": START_MS, "kind": "lever", "lever": "down"})
    lines.append({"t_ms": START_MS + 1000 * len(way), "kind": "lever", "lever": "up"})
    return "".join(json.dumps(line) + "\n" for line in lines)


def write(folder: Path) -> tuple[Path, Path, Path]:
    """Track, paddock and rig card in ``folder``."""
    track, fence, card = (folder / n for n in ("day.jsonl", "paddock.geojson", "rig.toml"))
    track.write_text("".join(json.dumps(e) + "\n" for e in entries()), encoding="utf-8")
    fence.write_text(paddock(), encoding="utf-8")
    card.write_text(CARD, encoding="utf-8")
    return track, fence, card
