"""Small logs, rings and rig cards for the tests of the readers and writers."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np

from unsown.core.words import Fixes, Log, Mark

START_MS = 1_777_636_800_000  # 2026-05-01T12:00:00Z
NAN = float("nan")


def fixes(
    n: int = 5,
    *,
    phones: Sequence[str] = ("phone",),
    lat: float = 49.7,
    lon: float = -106.2,
    step_ms: int = 1000,
) -> Fixes:
    """A straight line northward, 1 Hz, phones one after the other."""
    each = np.arange(n)
    count = n * len(phones)
    return Fixes(
        np.tile(START_MS + step_ms * each, len(phones)),
        np.tile(lat + 2e-5 * each, len(phones)),
        np.full(count, lon),
        np.full(count, 2.5),
        np.full(count, 2.1),
        np.full(count, 0.5),
        np.repeat(np.arange(len(phones)), n),
        np.zeros(count, dtype=np.int64),
        tuple(phones),
    )


def lever(at_s: float, word: str, seq: int = 0, phone: str = "phone") -> Mark:
    return Mark(START_MS + round(at_s * 1000), "lever", phone, seq, {"lever": word})


def log(n: int = 5, *marks: Mark) -> Log:
    return Log(fixes(n), tuple(marks))


def line(**fields: object) -> str:
    """One log line; ``t_s`` is seconds after START_MS."""
    entry = {"v": 1, "dev": "a", "t_ms": START_MS + round(1000 * fields.pop("t_s", 0)), **fields}
    return json.dumps(entry) + "\n"


def fix_line(t_s: float, seq: int, **more: object) -> str:
    place = {"lat_deg": 49.7 + 2e-5 * t_s, "lon_deg": -106.2}
    return line(t_s=t_s, seq=seq, kind="fix", **{**place, **more})


def same(a: Log, b: Log) -> None:
    """Asserts that two logs tell the same: labels instead of phone numbers, NaN equal to NaN."""
    for name in ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg", "segment"):
        np.testing.assert_array_equal(getattr(a.fixes, name), getattr(b.fixes, name), name)
    assert [a.fixes.phones[i] for i in a.fixes.phone] == [b.fixes.phones[i] for i in b.fixes.phone]
    assert a.marks == b.marks


def square(lon: float = -106.2, lat: float = 49.7, side: float = 0.004) -> list[list[float]]:
    """An anticlockwise square ring, about 12.8 ha at 49.7 degrees north."""
    return [
        [lon, lat],
        [lon + side, lat],
        [lon + side, lat + side],
        [lon, lat + side],
        [lon, lat],
    ]


def feature(rings: list[object], **about: object) -> dict[str, object]:
    return {
        "type": "Feature",
        "properties": about,
        "geometry": {"type": "Polygon", "coordinates": rings},
    }


def collection(*features: object, **more: object) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": features, **more}).encode()


GPX_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" creator="t" '
    'xmlns="http://www.topografix.com/GPX/1/1" xmlns:u="https://unsown.example/gpx/1">'
)


def gpx(*points: str, extra: str = "") -> bytes:
    """GPX 1.1 with one segment of the given points."""
    inside = "".join(points)
    return f"{GPX_HEAD}{extra}<trk><trkseg>{inside}</trkseg></trk></gpx>".encode()


def trkpt(t_s: float | None = 0.0, lat: object = 49.7, lon: object = -106.2, more: str = "") -> str:
    when = ""
    if t_s is not None:
        when = f"<time>{np.datetime64(START_MS + round(t_s * 1000), 'ms')}Z</time>"
    return f'<trkpt lat="{lat}" lon="{lon}">{when}{more}</trkpt>'


CARD = """name = "Long drill"
kind = "towed"

[phone]
ahead_of_axle_m = 0.9

[tractor]
axle_to_pin_m = 1.05

[tool]
width_m = 8.4
pin_to_axle_m = 6.1
"""
