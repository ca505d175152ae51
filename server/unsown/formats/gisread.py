"""The child process that opens one GIS file: ``python -m unsown.formats.gisread NAME DRIVER``.

Runs in the private folder with the file; leaves ``result.json`` there: a FeatureCollection in
WGS84 with notes, or an error with its hint. Limits itself before it opens anything, and takes
every GIS driver but ``DRIVER`` out of the library.
"""

from __future__ import annotations

import json
import os
import struct
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ALLOWED = ("LIBKML", "KML", "ESRI Shapefile", "GPKG")
MEMORY_BYTES = 3_000_000_000
CPU_S = 25
OUTPUT_BYTES = 250_000_000
MOST_FEATURES = 20_000
_WANTED = ("name", "kind", "hazard", "from", "until")


class RefusedError(Exception):
    """Why the file cannot be used: code, what is wrong, what to do."""

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.told = {"code": code, "error": message, "hint": hint}


def limit() -> None:
    """Limits on memory, time, output and files, where the system has them."""
    if sys.platform == "win32":
        return
    import resource  # noqa: PLC0415 - not on every system

    for what, most in (
        (resource.RLIMIT_AS, MEMORY_BYTES),
        (resource.RLIMIT_CPU, CPU_S),
        (resource.RLIMIT_FSIZE, OUTPUT_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (most, most))


def only(driver: str) -> Any:
    """The GIS library with no other driver than the one asked for."""
    if driver not in ALLOWED:
        raise RefusedError("gis-driver", f"The driver {driver!r} is not allowed.")
    import pyogrio  # noqa: PLC0415 - after the limits

    others = [name for name in pyogrio.list_drivers() if name != driver]
    return pyogrio, others


def features(pyogrio: Any, name: str, notes: list[str]) -> Iterator[dict[str, Any]]:
    """Every feature of every layer, in WGS84."""
    layers = [str(layer) for layer, kind in pyogrio.list_layers(name) if kind is not None]
    if len(layers) > 1:
        notes.append(f"all {len(layers)} layers of the file were read")
    count = 0
    for layer in layers:
        about = pyogrio.read_info(name, layer=layer)
        fields = {f: f.lower() for f in map(str, about["fields"]) if f.lower() in _WANTED}
        meta, _, shapes, columns = pyogrio.raw.read(
            name, layer=layer, columns=list(fields), force_2d=True, max_features=MOST_FEATURES + 1
        )
        count += len(shapes)
        if count > MOST_FEATURES:
            raise RefusedError(
                "gis-many",
                f"The file has more than {MOST_FEATURES:,} features.",
                "Export only the paddock's boundary.",
            )
        change = _change(meta.get("crs"), about.get("total_bounds"), notes)
        names = [fields[str(f)] for f in meta["fields"]]
        for at, wkb in enumerate(shapes):
            told = {n: _plain(column[at]) for n, column in zip(names, columns, strict=True)}
            yield {"type": "Feature", "properties": told, "geometry": _geometry(wkb, change)}


def _change(crs: Any, bounds: Any, notes: list[str]) -> Any:
    import pyproj  # noqa: PLC0415 - after the limits

    if not crs:
        inside = bounds is not None and max(map(abs, bounds)) <= 180
        if not inside:
            raise RefusedError(
                "crs",
                "The file does not say its coordinate system, and its numbers are not degrees.",
                "Export it with its coordinate system (.prj), or in WGS84.",
            )
        notes.append("the file does not say its coordinate system: taken as WGS84 degrees")
        return None
    try:
        source = pyproj.CRS.from_user_input(crs)
        change = pyproj.Transformer.from_crs(source, "EPSG:4326", always_xy=True)
    except pyproj.exceptions.ProjError as error:
        raise RefusedError(
            "crs",
            f"The file's coordinate system is not known here: {str(crs)[:60]}.",
            "Export the boundary in WGS84 (EPSG:4326).",
        ) from error
    if source.to_epsg() == 4326 or source.name in ("WGS 84", "GCS_WGS_1984", "WGS_1984"):
        return None
    notes.append(f"positions were given in {source.name} and brought to WGS84")
    return change


def _geometry(wkb: Any, change: Any) -> Any:
    if wkb is None:
        return None
    if not len(wkb):  # what the library makes of a bare ring
        return {"type": "LinearRing", "coordinates": []}
    shape, _ = shape_of(bytes(wkb))
    return moved(shape, change) if change is not None else shape


def shape_of(wkb: bytes, at: int = 0) -> tuple[dict[str, Any], int]:
    """A GeoJSON-like geometry of two-dimensional WKB, and where its bytes end.

    Rings come as they stand in the file, also unclosed ones, which a geometry library would not
    take. Layout: OGC 06-103r4, section 8.
    """
    order = "<" if wkb[at] else ">"
    kind, count = struct.unpack_from(order + "II", wkb, at + 1)
    at += 9
    if kind == 1:
        at -= 4
        return {"type": "Point", "coordinates": struct.unpack_from(order + "dd", wkb, at)}, at + 16
    if kind in (2, 101):
        points, at = _positions(wkb, at - 4, order)
        return {"type": "LineString", "coordinates": points}, at
    if kind == 3:
        rings = []
        for _ in range(count):
            ring, at = _positions(wkb, at, order)
            rings.append(ring)
        return {"type": "Polygon", "coordinates": rings}, at
    if kind in (4, 5, 6, 7):
        parts = []
        for _ in range(count):
            part, at = shape_of(wkb, at)
            parts.append(part)
        return {"type": "GeometryCollection", "geometries": parts}, at
    return {"type": f"shape of WKB kind {kind}"}, len(wkb)


def _positions(wkb: bytes, at: int, order: str) -> tuple[list[tuple[float, float]], int]:
    (count,) = struct.unpack_from(order + "I", wkb, at)
    flat = struct.unpack_from(f"{order}{2 * count}d", wkb, at + 4)
    return list(zip(flat[::2], flat[1::2], strict=True)), at + 4 + 16 * count


def moved(shape: Any, change: Any) -> Any:
    """The geometry brought to WGS84 by a pyproj transformation."""
    if "geometries" in shape:
        return {**shape, "geometries": [moved(part, change) for part in shape["geometries"]]}
    if shape["type"] != "Polygon":
        return shape
    rings = []
    for ring in shape["coordinates"]:
        lon, lat = change.transform([p[0] for p in ring], [p[1] for p in ring], errcheck=True)
        rings.append(list(zip(lon, lat, strict=True)))
    return {"type": "Polygon", "coordinates": rings}


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, str | bool | int):
        return value
    text = str(value)
    return None if text in ("nan", "NaT", "None") else text


def main(name: str, driver: str) -> None:
    """Reads and writes ``result.json``; a failure the file caused is told there too."""
    notes: list[str] = []
    try:
        pyogrio, others = only(driver)
        if others:  # once more, without them: the library reads this when it starts
            skip = ",".join(others)
            if os.environ.get("OGR_SKIP") == skip:
                raise RefusedError("gis-driver", "The GIS library did not leave its drivers out.")
            os.environ["OGR_SKIP"] = os.environ["GDAL_SKIP"] = skip
            again = [sys.executable, "-P", "-m", "unsown.formats.gisread", name, driver]
            os.execv(sys.executable, again)  # nosec B606
        found = list(features(pyogrio, name, notes))
        told: dict[str, Any] = {
            "document": {"type": "FeatureCollection", "features": found},
            "notes": notes,
        }
    except RefusedError as refusal:
        told = refusal.told
    except MemoryError:
        told = RefusedError(
            "gis-limit", "The file needs more memory than is set aside for it."
        ).told
    except Exception as error:  # the library's own many kinds: told to the parent, as a refusal
        told = RefusedError(
            "gis-bad",
            f"The file cannot be read as {driver}: {str(error)[:200]}.",
            "Export it again.",
        ).told
    Path("result.json").write_text(json.dumps(told), encoding="utf-8")


if __name__ == "__main__":
    limit()
    main(*sys.argv[1:3])
