"""Where the sun is, and when it is light enough: without a network.

Low-precision solar coordinates of the Astronomical Almanac (U.S. Naval Observatory, "Approximate
Solar Coordinates"): about 0.01° between 1950 and 2050. Times are UTC milliseconds.
"""

from __future__ import annotations

from math import asin, atan2, cos, degrees, radians, sin

_DAY_MS = 86_400_000
_J2000_MS = 946_728_000_000  # 2000-01-01 12:00
#: Height of the sun's middle at rise and set (refraction and its own half), and at civil dusk, °.
RISE_DEG, CIVIL_DEG = -0.833, -6.0


def height_deg(t_ms: int, lat_deg: float, lon_deg: float) -> float:
    """Height of the sun's middle above the horizon, degrees; refraction not counted."""
    ra, dec, sidereal_deg = _place(t_ms)
    hour = radians(sidereal_deg + lon_deg) - ra
    lat = radians(lat_deg)
    return degrees(asin(sin(lat) * sin(dec) + cos(lat) * cos(dec) * cos(hour)))


def _place(t_ms: int) -> tuple[float, float, float]:
    """Right ascension and declination, radians, and the sidereal time of Greenwich, degrees."""
    d = (t_ms - _J2000_MS) / _DAY_MS
    g = radians(357.529 + 0.98560028 * d)
    longitude = radians(280.459 + 0.98564736 * d + 1.915 * sin(g) + 0.020 * sin(2 * g))
    tilt = radians(23.439 - 0.00000036 * d)
    ra = atan2(cos(tilt) * sin(longitude), cos(longitude))
    dec = asin(sin(tilt) * sin(longitude))
    return ra, dec, (280.46061837 + 360.98564737 * d) % 360.0


def is_night(t_ms: int, lat_deg: float, lon_deg: float) -> bool:
    """Whether the sun is below civil dusk: too dark to see the ground without lamps."""
    return height_deg(t_ms, lat_deg, lon_deg) < CIVIL_DEG


def next_crossing(
    t_ms: int, lat_deg: float, lon_deg: float, limit_deg: float = CIVIL_DEG, *, rising: bool = False
) -> int | None:
    """When the sun next sinks below a height (or rises above it), within a day; UTC ms.

    None where it does not in that time: high summer and winter near the poles.
    """
    step = 10 * 60_000
    before = height_deg(t_ms, lat_deg, lon_deg)
    for k in range(1, _DAY_MS // step + 1):
        here = height_deg(t_ms + k * step, lat_deg, lon_deg)
        crosses = before < limit_deg <= here if rising else here < limit_deg <= before
        if crosses:
            lo, hi = t_ms + (k - 1) * step, t_ms + k * step
            while hi - lo > 500:
                middle = (lo + hi) // 2
                above = height_deg(middle, lat_deg, lon_deg) >= limit_deg
                lo, hi = (lo, middle) if above == rising else (middle, hi)
            return hi
        before = here
    return None
