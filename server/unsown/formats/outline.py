"""A paddock as GeoJSON (RFC 7946) that reads back as the same paddock: pages edit and save this."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import MultiPolygon, mapping

from unsown.core.words import Paddock
from unsown.formats.moments import iso

DECIMALS = 7


def collection(paddock: Paddock) -> dict[str, Any]:
    """A FeatureCollection: the boundary, each keep-out with what is known of it, the gates.

    Rings as RFC 7946 wants them, to 7 decimals (1 cm). A paddock without an area has no boundary
    feature.
    """
    features = []
    if paddock.area is not None:
        about: dict[str, Any] = {"name": paddock.name}
        if paddock.boundary == "lap":
            about["boundary"] = "lap"
        features.append(_feature(paddock.area, about))
    for keep in paddock.keep_outs:
        about = {"kind": keep.kind, "hazard": keep.hazard}
        if keep.name:
            about["name"] = keep.name
        if keep.from_ms is not None:
            about["from"] = iso(keep.from_ms)
        if keep.until_ms is not None:
            about["until"] = iso(keep.until_ms)
        features.append(_feature(keep.area, about))
    for gate in paddock.gates:
        about = {"kind": "gate", **({"name": gate.name} if gate.name else {})}
        point = {"type": "Point", "coordinates": _rounded([gate.lon_deg, gate.lat_deg])}
        features.append({"type": "Feature", "properties": about, "geometry": point})
    return {"type": "FeatureCollection", "features": features}


def _feature(area: MultiPolygon, about: dict[str, Any]) -> dict[str, Any]:
    fine = shapely.orient_polygons(area)
    parts = list(fine.geoms)
    shape = mapping(parts[0] if len(parts) == 1 else fine)
    geometry = {"type": shape["type"], "coordinates": _rounded(shape["coordinates"])}
    return {"type": "Feature", "properties": about, "geometry": geometry}


def _rounded(value: Any) -> Any:
    if isinstance(value, float | int):
        return round(float(value), DECIMALS)
    return [_rounded(each) for each in value]
