"""GeoJSON (RFC 7946): lines and points with times -> Log, and the day's ground -> features."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import geojson as rfc7946
import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from unsown.core.errors import TrackError
from unsown.core.plane import Plane, area_m2, wrap_deg
from unsown.core.words import Log, Mark, Tally
from unsown.formats import guard, moments
from unsown.formats.rows import NAN, Rows, number

DECIMALS = 7
_TIMES = ("times", "coordTimes", "coordinateProperties.times")
_STATES = ("sown", "part", "twice", "doubt", "keep_out", "unreachable")


def read(data: bytes, where: str, phone: str | None = None) -> Log:
    """Lines with a list of times, and points with ``time``.

    The times of a line stand in its property ``times``, ``coordTimes`` or
    ``coordinateProperties.times``, one a position; ISO 8601 or milliseconds since 1970. A point
    whose ``lever``, ``kind`` or ``name`` is ``down`` or ``up`` is a lever mark.

    Raises:
        TrackError: not JSON, or not GeoJSON.
    """
    text = guard.text(data, where, TrackError)
    guard.json_size(text, where, TrackError)
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise TrackError(
            "json-bad",
            f"The file is not whole JSON: {error}.",
            where=where,
            hint="It seems cut off or damaged: copy or export it again.",
        ) from error
    if not isinstance(document, dict) or not isinstance(document.get("type"), str):
        raise TrackError(
            "geojson-type", "A GeoJSON Feature or FeatureCollection was expected.", where=where
        )
    rows = Rows(where, phone)
    marks: list[Mark] = []
    for segment, (line, about) in enumerate(_geometries(document, rows)):
        if line["type"] == "Point":
            marks.extend(_point(line, about, rows))
        else:
            _line(line, about, segment, rows)
    return rows.log(marks)


def _geometries(document: Mapping[str, Any], rows: Rows) -> Iterator[tuple[Any, Any]]:
    features = document.get("features") if document["type"] == "FeatureCollection" else [document]
    for feature in features if isinstance(features, list) else ():
        whole = isinstance(feature, dict)
        line = feature.get("geometry", feature) if whole else None
        about = feature.get("properties") if whole else None
        if (
            not isinstance(line, dict)
            or line.get("type")
            not in (
                "LineString",
                "MultiLineString",
                "Point",
            )
            or not isinstance(line.get("coordinates"), list)
        ):
            rows.skip("feature that is neither a line nor a point")
            continue
        yield line, about if isinstance(about, dict) else {}


def _line(line: Mapping[str, Any], about: Mapping[str, Any], segment: int, rows: Rows) -> None:
    nested = about.get("coordinateProperties")
    every = {
        **about,
        "coordinateProperties.times": nested.get("times") if isinstance(nested, dict) else None,
    }
    times = next((every[k] for k in _TIMES if isinstance(every.get(k), list)), [])
    parts = line["coordinates"]
    if line["type"] == "LineString":
        parts, times = [parts], [times]
    for at, part in enumerate(parts):
        when = times[at] if at < len(times) and isinstance(times[at], list) else []
        for place, moment in zip(part, [*when, *[None] * (len(part) - len(when))], strict=False):
            t_ms = _time(moment)
            if t_ms is None:
                rows.skip("line position without a time")
            else:
                rows.add(t_ms, *_place(place), segment=segment * 1000 + at)


def _point(line: Mapping[str, Any], about: Mapping[str, Any], rows: Rows) -> Iterator[Mark]:
    t_ms = _time(about.get("time", about.get("t_ms")))
    word = next(
        (str(about[k]).strip().lower() for k in ("lever", "kind", "name") if about.get(k)), ""
    )
    if t_ms is None:
        rows.skip("point without a time")
    elif word in ("down", "up"):
        yield Mark(t_ms, "lever", rows.phone, says={"lever": word})
    else:
        told = [number(about.get(k)) for k in ("acc_m", "speed_m_s", "course_deg")]
        rows.add(t_ms, *_place(line["coordinates"]), *told)


def _place(position: Any) -> tuple[float, float]:
    """(latitude, longitude) of a GeoJSON position."""
    if (
        not isinstance(position, list)
        or len(position) < 2
        or any(isinstance(v, str) for v in position[:2])
    ):
        return NAN, NAN
    return number(position[1]), number(position[0])


def _time(value: Any) -> int | None:
    if isinstance(value, str):
        return moments.parse(value)
    ms = number(value)
    return round(ms) if math.isfinite(ms) else None


def ground(tally: Tally, plane: Plane) -> str:
    """The states of the ground as RFC 7946 text: one Feature a state, and one a bare patch.

    ``state`` is ``sown``, ``part``, ``twice``, ``bare`` (a listed patch, with ``number``,
    ``chance``, ``call``, ``kind``, ``asks``), ``sliver`` (bare ground too narrow to be listed),
    ``doubt``, ``keep-out`` or ``unreachable``; each has ``area_m2`` (on the ellipsoid). Outer
    rings run anticlockwise, positions have at most 7 decimals, and what crosses 180° is cut there.
    """
    features = []
    for state in _STATES:
        shape = getattr(tally.ground, state)
        features += _feature(shape, plane, {"state": state.replace("_", "-")})
    for patch in tally.patches:
        about = {
            "state": "bare",
            "number": patch.number,
            "chance": round(patch.chance, 3),
            "call": patch.call,
            "kind": patch.kind,
            "area_m2": round(patch.area_m2, 1),
            "asks": list(patch.asks),
        }
        features += _feature(patch.outline, plane, about)
    listed = shapely.union_all([patch.outline for patch in tally.patches])
    features += _feature(tally.ground.bare.difference(listed), plane, {"state": "sliver"})
    return str(rfc7946.dumps({"type": "FeatureCollection", "unsown": 1, "features": features}))


def _feature(shape: BaseGeometry, plane: Plane, about: dict[str, Any]) -> list[Any]:
    whole = degrees(shape, plane)
    if whole.is_empty:
        return []
    about.setdefault("area_m2", round(area_m2(whole), 1))
    parts = [[list(map(list, r.coords)) for r in (p.exterior, *p.interiors)] for p in whole.geoms]
    shape_out = (
        rfc7946.Polygon(parts[0], precision=DECIMALS)
        if len(parts) == 1
        else rfc7946.MultiPolygon(parts, precision=DECIMALS)
    )
    return [rfc7946.Feature(geometry=shape_out, properties=about)]


def degrees(shape: BaseGeometry, plane: Plane) -> MultiPolygon:
    """A shape of the plane in longitude/latitude as RFC 7946 wants it, valid at 7 decimals."""

    def both(points: np.ndarray) -> np.ndarray:
        lon, lat = plane.to_degrees(points[:, 0], points[:, 1])
        return np.column_stack([plane.lon0_deg + wrap_deg(lon - plane.lon0_deg), lat])

    if shape.is_empty:
        return MultiPolygon()
    run_on = shapely.transform(shapely.force_2d(shape), both)
    if not run_on.is_valid:  # neighbours nanometres apart on the plane may cross in degrees
        run_on = shapely.make_valid(run_on)
    west, _, east, _ = run_on.bounds
    if west < -180.0 or east > 180.0:
        run_on = shapely.union_all([_shifted(run_on, turn) for turn in (-360.0, 0.0, 360.0)])
    try:
        fine = shapely.set_precision(run_on, 10.0**-DECIMALS)
    except shapely.GEOSException:  # slivers that collapse at this precision: round, then repair
        rounded = shapely.set_precision(run_on, 10.0**-DECIMALS, mode="pointwise")
        fine = shapely.make_valid(rounded)
    return MultiPolygon([shapely.orient_polygons(p) for p in _polygons(fine)])


def _shifted(shape: BaseGeometry, by_deg: float) -> BaseGeometry:
    """The part of the shape that lies between -180 and 180 once it is moved along."""
    moved = shapely.transform(shape, lambda p: p + np.array([by_deg, 0.0]))
    return moved.intersection(box(-180.0, -90.0, 180.0, 90.0))


def _polygons(shape: BaseGeometry) -> Sequence[Polygon]:
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    return [p for part in getattr(shape, "geoms", ()) for p in _polygons(part)]
