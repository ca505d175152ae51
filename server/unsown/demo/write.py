"""A simulated day as files: track, paddock, rig card, and the truth beside them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import geojson
import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon, mapping
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import Paddock
from unsown.formats import geojson as outlines
from unsown.formats import gpx, log
from unsown.formats.rig import write_rig
from unsown.sim.day import SimDay


def write(day: SimDay, folder: Path, *, track: str = "gpx") -> list[Path]:
    """Writes ``track.gpx`` (or ``.jsonl``), the paddock, the rig card and the truth.

    Gives the paths of ``track``, ``paddock.geojson``, ``rig.toml``, ``truth.json`` and
    ``truth.geojson`` in that order.
    """
    folder.mkdir(parents=True, exist_ok=True)
    whole_log = track == "jsonl"
    # numbered, so that a phone takes it in as another phone's
    logged = log.write(day.log, number_lines=True) if whole_log else gpx.write(day.log)
    files = {
        f"track.{track}": logged,
        "paddock.geojson": paddock_text(day.paddock, day.plane),
        "rig.toml": write_rig(day.rig),
        "truth.json": json.dumps(summary(day), indent=1) + "\n",
        "truth.geojson": truth_text(day),
    }
    paths = []
    for name, text in files.items():
        path = folder / name
        path.write_text(text, encoding="utf-8")
        paths.append(path)
    return paths


def paddock_text(paddock: Paddock, plane: Plane) -> str:
    """The paddock as GeoJSON: its area, then each keep-out with its ``kind``, then the gates."""
    features = [_feature(plane.shape_to_xy(paddock.area), plane, {"name": paddock.name})]
    for keep in paddock.keep_outs:
        about: dict[str, Any] = {"kind": keep.kind, "hazard": keep.hazard}
        if keep.name:
            about["name"] = keep.name
        features.append(_feature(plane.shape_to_xy(keep.area), plane, about))
    for gate in paddock.gates:
        point = geojson.Point([round(gate.lon_deg, 7), round(gate.lat_deg, 7)])
        about = {"kind": "gate", "name": gate.name}
        features.append(geojson.Feature(geometry=point, properties=about))
    return str(geojson.dumps(geojson.FeatureCollection(features))) + "\n"


def truth_text(day: SimDay) -> str:
    """The true ground as GeoJSON features with ``state``; bare patches with ``why``."""
    truth, plane = day.truth, day.plane
    features = [
        _feature(_plain(shape), plane, {"state": state})
        for state, shape in (("sown", truth.sown), ("part", truth.part), ("twice", truth.twice))
    ]
    for number, miss in enumerate(truth.misses, 1):
        about = {
            "state": "bare",
            "number": number,
            "why": miss.why,
            "area_m2": round(miss.area_m2, 1),
            "width_m": round(miss.width_m, 2),
        }
        features.append(_feature(_plain(miss.outline), plane, about))
    return str(geojson.dumps(geojson.FeatureCollection(features))) + "\n"


def summary(day: SimDay) -> dict[str, Any]:
    """The truth in figures: hectares, misses, lever times."""
    truth = day.truth
    zero = day.logging.start_ms
    return {
        "made_by": "the simulator of unsown",
        "seed": day.seed,
        "preset": day.logging.preset,
        "net_ha": round(truth.net_m2 / 1e4, 5),
        "sown_ha": round(truth.sown_m2 / 1e4, 5),
        "part_ha": round(truth.part_m2 / 1e4, 5),
        "bare_ha": round(truth.bare_m2 / 1e4, 5),
        "twice_ha": round(truth.twice_m2 / 1e4, 5),
        "outside_ha": round(truth.outside_m2 / 1e4, 5),
        "swept_ha": round(truth.swept_m2 / 1e4, 5),
        "misses": [
            {
                "number": i,
                "why": m.why,
                "area_m2": round(m.area_m2, 1),
                "width_m": round(m.width_m, 2),
                **_place(m.outline, day.plane),
            }
            for i, m in enumerate(truth.misses, 1)
        ],
        "lever": [
            {
                "down_ms": zero + round(1000 * s.down_s),
                "up_ms": zero + round(1000 * s.up_s),
                "why": list(s.why),
            }
            for s in truth.sowings
        ],
    }


def _place(outline: BaseGeometry, plane: Plane) -> dict[str, float]:
    at = outline.representative_point()
    lon, lat = plane.to_degrees(np.array([at.x]), np.array([at.y]))
    return {"lon": round(float(lon[0]), 7), "lat": round(float(lat[0]), 7)}


def _feature(shape: BaseGeometry, plane: Plane, about: dict[str, Any]) -> Any:
    """A feature in degrees, cut at 180° where it crosses it, seven decimals."""
    return geojson.Feature(geometry=mapping(outlines.degrees(shape, plane)), properties=about)


def _plain(shape: BaseGeometry) -> BaseGeometry:
    """The shape on a 2 cm grid without parts and holes under half a square metre.

    Seven decimals of a degree are a centimetre: finer slivers would not survive them.
    """
    tidy = shapely.set_precision(shape.simplify(0.005), 0.02)
    parts = [p for p in shapely.get_parts(tidy) if isinstance(p, Polygon) and p.area > 0.5]
    return MultiPolygon(
        [Polygon(p.exterior, [h for h in p.interiors if Polygon(h).area > 0.5]) for p in parts]
    )
