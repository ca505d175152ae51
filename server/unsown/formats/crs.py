"""The ``crs`` member of old GeoJSON -> WGS84. RFC 7946 has none: longitude and latitude, always."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import numpy as np
from pyproj import Transformer
from pyproj.exceptions import ProjError

from unsown.core.errors import PaddockError

_WGS84 = {"CRS84", "OGC:CRS84", "EPSG:4326", "WGS84"}


def change(member: Any, notes: list[str], where: str) -> Transformer | None:
    """The transformation a ``crs`` member asks for; None for WGS84. Says what it does in notes.

    Raises:
        PaddockError: a coordinate system that is not known by an EPSG code.
    """
    if member is None:
        return None
    name = ""
    if isinstance(member, Mapping) and isinstance(member.get("properties"), Mapping):
        name = str(member["properties"].get("name", member["properties"].get("code", "")))
    short = name.upper().replace("URN:OGC:DEF:CRS:", "").replace("::", ":")
    tail = short.rpartition(":")[2]
    if short in _WGS84 or (short.startswith("OGC:") and tail == "CRS84"):
        return None
    if re.fullmatch(r"[0-9]{4,6}", tail) and (short.startswith("EPSG:") or short == tail):
        try:
            found = Transformer.from_crs(int(tail), 4326, always_xy=True)
        except ProjError as error:
            raise _unknown(name, where) from error
        notes.append(
            f"positions were given in EPSG:{tail} and brought to WGS84 longitude and latitude"
        )
        return found
    raise _unknown(name or repr(member)[:60], where)


def _unknown(name: str, where: str) -> PaddockError:
    return PaddockError(
        "crs",
        f"The coordinate system {name!r} is not known here.",
        where=where,
        hint="Save the boundary in WGS84 (EPSG:4326), longitude first.",
    )


def moved(rings: list[Any], change: Transformer | None, where: str) -> list[Any]:
    """GeoJSON rings brought to WGS84 longitude and latitude.

    Raises:
        PaddockError: positions that are not numbers, or outside of the coordinate system.
    """
    if change is None:
        return rings
    out = []
    try:
        for ring in rings:
            xy = np.array([[float(v) for v in position[:2]] for position in ring])
            lon, lat = change.transform(xy[:, 0], xy[:, 1], errcheck=True)
            out.append(np.column_stack([lon, lat]).tolist())
    except (TypeError, ValueError, IndexError, ProjError) as error:
        raise PaddockError(
            "position", f"Positions could not be brought to WGS84: {error}.", where=where
        ) from error
    return out
