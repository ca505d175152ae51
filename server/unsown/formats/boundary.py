"""A boundary file -> Paddock, WGS84.

GeoJSON is read here; KML, KMZ, zipped shapefiles and GeoPackages come through ``gis``. Points whose
``kind`` is ``gate`` are gates; polygons of another ``kind`` than ``boundary`` or ``paddock`` are
keep-outs.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import shapely
from pyproj import Transformer
from shapely.geometry.base import BaseGeometry

from unsown.core.errors import PaddockError
from unsown.core.plane import Plane, area_m2
from unsown.core.words import Gate, KeepOut, Paddock
from unsown.formats import crs, gis, guard, moments
from unsown.formats.rings import Mends, polygon, together

MOST_HA = 50_000.0
LEAST_M2 = 50.0
MOST_POLYGONS = 20_000
#: A gate further than this from the fence belongs to another paddock, m.
GATE_M = 100.0
_ITSELF = {"", "boundary", "paddock", "field"}
_RESULTS = {"sown", "part", "twice", "bare", "doubt", "keep-out", "unreachable"}
_DAY_MS = 86_400_000


@dataclass
class _Found:
    """What the walk through a file has come upon so far."""

    where: str
    mends: Mends = field(default_factory=Mends)
    shapes: list[BaseGeometry] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    keep_outs: list[KeepOut] = field(default_factory=list)
    gates: list[Gate] = field(default_factory=list)
    polygons: int = 0
    left: dict[str, int] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    lap: bool = False

    def leave(self, what: str, many: int = 1) -> None:
        self.left[what] = self.left.get(what, 0) + many


def read_paddock(data: bytes, where: str) -> Paddock:
    """The paddock in the file, with a note for everything that was put right or left out.

    Raises:
        PaddockError: not one of the kinds read, no polygon in it, positions that are not on
            earth, a ring that crosses itself, or an area under 50 m2 or over 50,000 ha.
    """
    guard.sized(data, where, guard.PADDOCK_BYTES, PaddockError)
    found = _Found(where)
    kind = gis.kind(data)
    if kind:
        layer = gis.read(data, where, kind)
        found.notes.extend(layer.notes)
        document: Any = layer.document
    else:
        document = _json(data, where)
    _walk(document, found)
    return _paddock(found)


def _json(data: bytes, where: str) -> Any:
    text = guard.text(data, where, PaddockError)
    start = text.lstrip()[:1]
    if start not in "{[":
        raise PaddockError(
            "boundary-kind",
            "A boundary was expected as GeoJSON, KML, KMZ, zipped shapefile or GeoPackage; the "
            f"file begins with {text.strip()[:30]!r}.",
            where=where,
        )
    guard.json_size(text, where, PaddockError)
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        cut = error.pos >= len(text.rstrip()) - 1
        raise PaddockError(
            "json-bad",
            f"The file is not whole JSON: {error.msg.removesuffix(' at')}, line {error.lineno}.",
            where=where,
            hint="It seems cut off: copy or export it again." if cut else "Export it again.",
        ) from error
    except (ValueError, RecursionError) as error:
        raise PaddockError("json-bad", f"The JSON cannot be read: {error}.", where=where) from error


def _walk(document: Any, found: _Found) -> None:
    if not isinstance(document, dict):
        raise _not_geojson(document, found.where)
    if "unsown" in document:
        raise PaddockError(
            "boundary-result",
            "This is what a day came to, not a boundary.",
            where=found.where,
            hint="Give the file the paddock was read from.",
        )
    change = crs.change(document.get("crs"), found.notes, found.where)
    kind = document.get("type")
    if kind == "FeatureCollection":
        features = document.get("features")
        if not isinstance(features, list):
            raise PaddockError(
                "geojson-features",
                "A FeatureCollection needs a list of features.",
                where=found.where,
            )
        for at, feature in enumerate(features, 1):
            if not isinstance(feature, dict) or feature.get("type") != "Feature":
                found.leave("entries that are no features")
                continue
            _feature(feature, f"{found.where}, feature {at}", change, found)
    elif kind == "Feature":
        _feature(document, found.where, change, found)
    elif isinstance(kind, str) and ("coordinates" in document or "geometries" in document):
        _feature({"geometry": document, "properties": {}}, found.where, change, found)
    else:
        raise _not_geojson(document, found.where)


def _not_geojson(document: Any, where: str) -> PaddockError:
    kind = document.get("type") if isinstance(document, dict) else type(document).__name__
    names = ("FeatureCollection", "Feature", "Polygon", "MultiPolygon")
    near = next((n for n in names if str(kind).lower() == n.lower()), None)
    return PaddockError(
        "geojson-type",
        f"A GeoJSON geometry, Feature or FeatureCollection was expected; its type is {kind!r}.",
        where=where,
        hint=f"GeoJSON writes it {near!r}." if near else "",
    )


def _feature(
    feature: Mapping[str, Any], where: str, change: Transformer | None, found: _Found
) -> None:
    about = feature.get("properties")
    about = about if isinstance(about, Mapping) else {}
    kind = str(about.get("kind") or "").strip().lower()
    if "area_m2" in about and str(about.get("state")) in _RESULTS:
        found.leave(f"features of a result (state {about['state']})")
        return
    name = next((str(about[k]) for k in ("name", "Name", "NAME") if about.get(k)), "")
    geometry = feature.get("geometry")
    if kind == "gate" and isinstance(geometry, Mapping) and geometry.get("type") == "Point":
        found.gates.append(_gate(geometry.get("coordinates"), name, change, where))
        return
    shapes = [
        polygon(crs.moved(rings, change, where), where, found.mends)
        for rings in _polygons(geometry, where, found)
    ]
    if not shapes:
        return
    if kind in _ITSELF:
        found.shapes.extend(shapes)
        found.names.append(name)
        found.lap = found.lap or about.get("boundary") == "lap"
        return
    until = _moment(about.get("until"), where, end=True)
    found.keep_outs.append(
        KeepOut(
            kind=kind,
            area=together(shapes, found.mends, where),
            name=name,
            hazard=about.get("hazard") in (True, 1, "true", "yes"),
            from_ms=_moment(about.get("from"), where),
            until_ms=until,
        )
    )


def _polygons(geometry: Any, where: str, found: _Found) -> Iterator[list[Any]]:
    """The ring lists of every polygon in a geometry; counts what is no polygon."""
    if geometry is None:
        found.leave("features without a geometry")
        return
    kind = geometry.get("type") if isinstance(geometry, Mapping) else None
    if kind == "GeometryCollection":
        parts = geometry.get("geometries")
        for part in parts if isinstance(parts, list) else ():
            yield from _polygons(part, where, found)
        return
    words = {"Point": "points", "LineString": "lines", "MultiPoint": "points"}
    words |= {"MultiLineString": "lines", "LinearRing": "bare rings"}
    if kind in words:
        found.leave(words[kind])
        return
    rings = geometry.get("coordinates") if isinstance(geometry, Mapping) else None
    if kind not in ("Polygon", "MultiPolygon") or not isinstance(rings, list) or not rings:
        raise PaddockError(
            "geometry", f"A polygon was expected, {str(geometry)[:60]!r} came.", where=where
        )
    for part in [rings] if kind == "Polygon" else rings:
        found.polygons += 1
        if found.polygons > MOST_POLYGONS:
            raise PaddockError(
                "boundary-many",
                f"The file has more than {MOST_POLYGONS:,} polygons.",
                where=found.where,
                hint="Give the outline of one paddock.",
            )
        yield part


def _gate(position: Any, name: str, change: Transformer | None, where: str) -> Gate:
    numbers = isinstance(position, list) and len(position) >= 2
    plain = numbers and all(
        isinstance(v, int | float) and not isinstance(v, bool) and math.isfinite(v)
        for v in position[:2]
    )
    if plain:
        lon, lat = crs.moved([[position]], change, where)[0][0][:2]
        if abs(lon) <= 180 and abs(lat) <= 90:
            return Gate(float(lon), float(lat), name)
    raise PaddockError(
        "gate-position",
        f"A gate's longitude and latitude were expected; {str(position)[:60]} came.",
        where=where,
        hint="A gate is a Point such as [-106.2101, 49.7302].",
    )


def _moment(value: Any, where: str, *, end: bool = False) -> int | None:
    """UTC milliseconds of a date or time; a date alone as an end means the end of that day."""
    if value in (None, ""):
        return None
    ms = moments.parse(value) if isinstance(value, str) else None
    if ms is None:
        raise PaddockError(
            "keep-out-date",
            f"A date was expected, such as 2026-05-01; {value!r} came.",
            where=where,
        )
    return ms + _DAY_MS if end and len(str(value).strip()) <= 10 else ms


def _paddock(found: _Found) -> Paddock:
    if not found.shapes:
        left = ", ".join(f"{n} {what}" for what, n in found.left.items())
        also = f", {len(found.keep_outs)} keep-outs" if found.keep_outs else ""
        also += "".join(f"; {note}" for note in found.notes)
        raise PaddockError(
            "boundary-none",
            f"No polygon for the paddock in the file ({left or 'nothing in it'}{also}).",
            where=found.where,
            hint="A boundary is a polygon: close the line and save it as an area.",
        )
    area = together(found.shapes, found.mends, found.where)
    size = area_m2(area)
    if not math.isfinite(size) or size > MOST_HA * 1e4:
        raise PaddockError(
            "paddock-large",
            f"The paddock comes out at {size / 1e4:,.0f} ha; at most {MOST_HA:,.0f} ha is read.",
            where=found.where,
            hint="Give one paddock's boundary in degrees of longitude and latitude.",
        )
    if size < LEAST_M2:
        raise PaddockError(
            "paddock-small",
            f"The paddock comes out at {size:.1f} m2; at least {LEAST_M2:g} m2 was expected.",
            where=found.where,
            hint="Look whether the coordinates are in degrees and not cut short.",
        )
    gates = [g for g in found.gates if _from_fence_m(g, area) <= GATE_M]
    if len(gates) < len(found.gates):
        found.leave(f"gates more than {GATE_M:.0f} m from the fence", len(found.gates) - len(gates))
    names = sorted(set(filter(None, found.names)))
    notes = [*found.notes, *found.mends.notes()]
    if len(names) > 1:
        shown = ", ".join(names[:3]) + (", ..." if len(names) > 3 else "")
        notes.append(f"{len(names)} names in the file ({shown}): all parts are one paddock here")
    elif len(found.names) > 1:
        notes.append(f"{len(found.names)} boundary features are one paddock of several parts")
    notes += [f"left out: {n} {what}" for what, n in found.left.items()]
    return Paddock(
        name=names[0] if len(names) == 1 else "",
        area=area,
        keep_outs=tuple(found.keep_outs),
        boundary="lap" if found.lap else "survey",
        notes=tuple(notes),
        gates=tuple(gates),
    )


def _from_fence_m(gate: Gate, area: BaseGeometry) -> float:
    plane = Plane(gate.lat_deg, gate.lon_deg)
    return float(plane.shape_to_xy(area).boundary.distance(shapely.Point(0.0, 0.0)))
