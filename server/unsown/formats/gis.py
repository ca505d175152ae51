"""KML, KMZ, zipped shapefiles and GeoPackages -> GeoJSON-like features, WGS84.

The bytes are checked and written under names of our own into a private folder; a child process
(``gisread``) with limits on time, memory and output opens that one file. It has no other GIS
driver than the one needed, no network, and never sees a path of the user's.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from unsown.core.errors import PaddockError
from unsown.formats import guard

SECONDS = 30
INFLATED_BYTES = 200_000_000
"""Most that a zip may inflate to."""
_SHAPE = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_NAMES = "GeoJSON, KML, KMZ, a zipped shapefile or a GeoPackage"
_KEPT_ENV = ("LD_LIBRARY_PATH", "PYTHONPATH", "PROJ_DATA", "PROJ_LIB", "GDAL_DATA", "SYSTEMROOT")


@dataclass(frozen=True)
class Layer:
    """What the child read: a FeatureCollection in WGS84, and what there is to say."""

    document: Any
    notes: tuple[str, ...] = ()


def kind(data: bytes) -> str:
    """``zip``, ``sqlite``, ``shape`` or ``xml`` where the file is one of these; else ''."""
    name = guard.sign(data)
    if name in ("zip", "sqlite", "shape"):
        return name
    head = data[:40_000]
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        head = head.decode("utf-16", "ignore").encode()
    return "xml" if head.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"<" else ""


def read(data: bytes, where: str, name: str) -> Layer:
    """The features of a file of kind ``name``.

    Raises:
        PaddockError: not one of these kinds after all, damaged, or beyond the limits.
    """
    if name == "shape":
        raise PaddockError(
            "shape-alone",
            "A .shp file alone has no index and no coordinate system.",
            where=where,
            hint="Zip the .shp, .shx, .dbf and .prj files together and give the zip.",
        )
    notes: list[str] = []
    if name == "sqlite":
        return _child({"boundary.gpkg": data}, "boundary.gpkg", "GPKG", where, notes)
    if name == "xml":
        return _kml(data, where, notes)
    inside = guard.unzip(data, where, {*_SHAPE, ".kml"}, INFLATED_BYTES, PaddockError)
    shapes = [path for path in inside if path.lower().endswith(".shp")]
    texts = [path for path in inside if path.lower().endswith(".kml")]
    if len(shapes) > 1:
        raise PaddockError(
            "zip-many",
            f"The zip holds {len(shapes)} shapefiles ({', '.join(sorted(shapes)[:3])}).",
            where=where,
            hint="Give a zip with one of them.",
        )
    if shapes:
        return _shape(inside, shapes[0], where, notes)
    if texts:
        first = next((t for t in texts if PurePosixPath(t).name.lower() == "doc.kml"), texts[0])
        if len(texts) > 1:
            notes.append(f"of {len(texts)} KML files in the zip only {first!r} was read")
        return _kml(inside[first], f"{where}, {first}", notes)
    raise PaddockError(
        "zip-nothing",
        f"Neither a shapefile (.shp) nor a KML (.kml) is in the zip; boundaries are {_NAMES}.",
        where=where,
        hint="Unpack it and give the boundary file itself.",
    )


def _kml(data: bytes, where: str, notes: list[str]) -> Layer:
    text = guard.xml(data, where, PaddockError)
    if guard.root(text) != "kml":
        raise PaddockError(
            "boundary-kind",
            f"A boundary was expected as {_NAMES}; this is <{guard.root(text)}>.",
            where=where,
            hint="A track can be the boundary only as a driven lap.",
        )
    if "<NetworkLink" in text:
        notes.append("network links in the KML were not followed")
    files = {"boundary.kml": ('<?xml version="1.0" encoding="UTF-8"?>\n' + text).encode()}
    return _child(files, "boundary.kml", "LIBKML", where, notes)


def _shape(inside: dict[str, bytes], shp: str, where: str, notes: list[str]) -> Layer:
    stem = shp[:-4]
    files = {}
    for path, body in inside.items():
        ending = path[-4:].lower()
        if path[:-4] == stem and ending in _SHAPE:
            files["boundary" + ending] = body
    missing = [s for s in (".shx", ".dbf") if "boundary" + s not in files]
    if missing:
        raise PaddockError(
            "shape-alone",
            f"Beside {shp!r} the zip has no {' and no '.join(missing)} file.",
            where=where,
            hint="Zip the .shp, .shx, .dbf and .prj files together.",
        )
    return _child(files, "boundary.shp", "ESRI Shapefile", where, notes)


def _child(files: dict[str, bytes], name: str, driver: str, where: str, notes: list[str]) -> Layer:
    with tempfile.TemporaryDirectory(prefix="unsown-") as folder:
        for file, body in files.items():
            (Path(folder) / file).write_bytes(body)
        command = [sys.executable, "-P", "-m", "unsown.formats.gisread", name, driver]
        try:
            # our own module, no shell, and no name that came from outside
            ended = subprocess.run(  # nosec B603
                command,
                cwd=folder,
                env=_environment(folder),
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                timeout=SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired as error:
            raise PaddockError(
                "gis-slow",
                f"Reading the file took more than {SECONDS} s.",
                where=where,
                hint="Export only the paddock's boundary, as GeoJSON.",
            ) from error
        result = Path(folder) / "result.json"
        if ended.returncode or not result.is_file():
            raise PaddockError(
                "gis-limit",
                f"The file could not be read within its limits of time and memory "
                f"(the reader ended with {ended.returncode}).",
                where=where,
                hint="Export only the paddock's boundary, as GeoJSON.",
            )
        try:
            told = json.loads(result.read_text(encoding="utf-8"))
        except ValueError as error:
            raise PaddockError("gis-bad", "The reader broke off.", where=where) from error
    if "error" in told:
        raise PaddockError(told["code"], told["error"], where=where, hint=told["hint"])
    return Layer(told["document"], (*notes, *told["notes"]))


def _environment(folder: str) -> dict[str, str]:
    kept = {key: os.environ[key] for key in _KEPT_ENV if key in os.environ}
    return {
        **kept,
        "HOME": folder,
        "TMPDIR": folder,
        "LC_ALL": "C.UTF-8",
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
        "GDAL_NUM_THREADS": "1",
        "GDAL_PAM_ENABLED": "NO",
        "GDAL_HTTP_TIMEOUT": "1",
        "PROJ_NETWORK": "OFF",
    }
