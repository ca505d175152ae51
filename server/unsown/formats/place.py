"""Where something lies, in words a driver can follow."""

from __future__ import annotations

from unsown.core.place import AGAINST_M, Place
from unsown.formats.units import Units


def in_words(place: Place, units: Units) -> str:
    """The place as a few words, such as ``north, 180 m from the west end, at the fence``."""
    parts = [place.side]
    if place.end:
        parts.append(f"{units.distance(place.along_m)} from the {place.end} end")
    if place.edge == "keep-out":
        parts.append("beside a keep-out")
    elif place.inside_m < AGAINST_M:
        parts.append("at the fence")
    else:
        parts.append(f"{units.distance(place.inside_m)} in from the fence")
    return ", ".join(parts)


def degrees(lon_deg: float, lat_deg: float) -> str:
    """A position to 5 decimals (about 1 m), such as ``49.73012 N 106.21034 W``."""
    ns = "N" if lat_deg >= 0 else "S"
    ew = "E" if lon_deg >= 0 else "W"
    return f"{abs(lat_deg):.5f} {ns} {abs(lon_deg):.5f} {ew}"
