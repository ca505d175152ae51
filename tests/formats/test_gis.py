"""KML, KMZ, shapefiles and GeoPackages through the child process."""

from __future__ import annotations

import io
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
from pyproj import Transformer
from shapely.geometry import MultiPolygon, Polygon

from formats.made import collection, square
from unsown.core.errors import PaddockError
from unsown.core.plane import area_m2
from unsown.formats import gis, gisread
from unsown.formats.boundary import read_paddock

SIZE_M2 = area_m2(Polygon(square()))


def ring_text(ring: list[list[float]]) -> str:
    return " ".join(f"{x},{y},0" for x, y in ring)


def kml(ring: list[list[float]], inside: str = "") -> bytes:
    return (
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"{inside}<Placemark><name>Home</name><Polygon><outerBoundaryIs><LinearRing><coordinates>"
        f"{ring_text(ring)}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
        "</Document></kml>"
    ).encode()


def zipped(members: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as box:
        for name, body in members.items():
            box.writestr(name, body)
    return out.getvalue()


def written(folder: Path, name: str, epsg: int, **options: object) -> Path:
    """The square written by the GIS library in a coordinate system of its own."""
    change = Transformer.from_crs(4326, epsg, always_xy=True)
    shape = shapely.transform(
        Polygon(square()), lambda p: np.column_stack(change.transform(p[:, 0], p[:, 1]))
    )
    path = folder / name
    pyogrio.raw.write(
        path,
        geometry=np.array([shapely.to_wkb(shape)]),
        field_data=[np.array(["Home"], dtype=object)],
        fields=["name"],
        geometry_type="Polygon",
        crs=f"EPSG:{epsg}",
        **options,
    )
    return path


@pytest.fixture(scope="module")
def shapefile(tmp_path_factory) -> dict[str, bytes]:
    path = written(tmp_path_factory.mktemp("shp"), "home.shp", 32613)
    return {p.name: p.read_bytes() for p in path.parent.iterdir()}


def test_kml_and_kmz_are_read_with_their_name():
    for data in (kml(square()), zipped({"files/a.png": b"x", "doc.kml": kml(square())})):
        paddock = read_paddock(data, "home")
        assert paddock.name == "Home"
        assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-9)


def test_utf_16_kml_is_read():
    data = kml(square()).decode().replace('"1.0"?', '"1.0" encoding="UTF-16"?').encode("utf-16")
    assert read_paddock(data, "home").name == "Home"


def test_network_links_are_not_followed_and_that_is_said():
    link = "<NetworkLink><Link><href>http://127.0.0.1:9/x.kml</href></Link></NetworkLink>"
    paddock = read_paddock(kml(square(), link), "home")
    assert "network links in the KML were not followed" in paddock.notes


def test_an_unclosed_kml_ring_is_closed_and_said():
    paddock = read_paddock(kml(square()[:-1]), "home")
    assert any("was closed" in note for note in paddock.notes)


def test_a_zipped_shapefile_is_brought_to_wgs84_and_said(shapefile):
    paddock = read_paddock(zipped(shapefile), "home.zip")
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-7)
    assert any("UTM zone 13N" in note for note in paddock.notes)
    assert paddock.name == "Home"


def test_resource_forks_and_folders_in_the_zip_do_no_harm(shapefile):
    inside = {f"a/b/{n}": body for n, body in shapefile.items()}
    inside |= {f"__MACOSX/a/b/._{n}": b"fork" for n in shapefile}
    assert read_paddock(zipped(inside), "home.zip").name == "Home"


def test_paths_in_a_zip_are_never_written(shapefile, tmp_path):
    inside = {f"../../..{tmp_path}/{n}": body for n, body in shapefile.items()}
    assert read_paddock(zipped(inside), "home.zip").name == "Home"
    assert list(tmp_path.iterdir()) == []


def test_a_shapefile_without_its_parts_is_refused(shapefile):
    alone = {n: b for n, b in shapefile.items() if n.endswith(".shp")}
    for data in (alone["home.shp"], zipped(alone)):
        with pytest.raises(PaddockError) as told:
            read_paddock(data, "x")
        assert told.value.code == "shape-alone"


def test_metres_without_a_coordinate_system_are_refused_and_degrees_taken(shapefile, tmp_path):
    loose = {n: b for n, b in shapefile.items() if not n.endswith(".prj")}
    with pytest.raises(PaddockError) as told:
        read_paddock(zipped(loose), "x")
    assert told.value.code == "crs"
    path = written(tmp_path, "deg.shp", 4326)
    loose = {p.name: p.read_bytes() for p in path.parent.iterdir() if p.suffix != ".prj"}
    paddock = read_paddock(zipped(loose), "x")
    assert any("taken as WGS84" in note for note in paddock.notes)


def test_two_shapefiles_in_a_zip_are_refused(shapefile):
    more = {n.replace("home", "other"): b for n, b in shapefile.items()}
    with pytest.raises(PaddockError) as told:
        read_paddock(zipped({**shapefile, **more}), "x")
    assert told.value.code == "zip-many"


def test_a_geopackage_is_read(tmp_path):
    path = written(tmp_path, "home.gpkg", 3857, layer="home")
    paddock = read_paddock(path.read_bytes(), "home.gpkg")
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-7)


@pytest.mark.parametrize(
    "data",
    [
        b"SQLite format 3\x00" + bytes(5000),
        zipped(
            {"home.shp": b"\x00\x00\x27\x0a" + b"\xff" * 200, "home.shx": b"x", "home.dbf": b"y"}
        ),
        b"<kml><Document>",
        b'<kml xmlns="http://www.opengis.net/kml/2.2"><Placemark><Polygon/></Placemark></kml>',
    ],
)
def test_a_damaged_file_is_refused_without_a_crash(data):
    with pytest.raises(PaddockError):
        read_paddock(data, "x")


def test_other_xml_is_named():
    with pytest.raises(PaddockError, match="this is <gpx>"):
        read_paddock(b"<gpx/>", "x")


@pytest.mark.parametrize(
    "data",
    [
        b'<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>/etc/passwd</SrcDataSource>'
        b"</OGRVRTLayer></OGRVRTDataSource>",
        b"id,WKT\n1,POLYGON((0 0,1 0,1 1,0 0))\n",
    ],
)
def test_other_drivers_formats_are_not_opened(data):
    with pytest.raises(PaddockError) as told:
        read_paddock(data, "x")
    assert told.value.code == "boundary-kind"


def test_the_child_knows_only_the_driver_it_needs(tmp_path):
    code = (
        "import os, sys, unsown.formats.gisread as g\n"
        "os.execv = lambda *a: None\n"
        "import pyogrio\n"
        "others = g.only('GPKG')[1]\n"
        "print(len(others), 'OGR_VRT' in others, 'CSV' in others, 'HTTP' in others)\n"
        "g.main('x', 'OGR_VRT')\n"
        "print(open('result.json').read())\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    count, *there = ran.stdout.split("\n")[0].split()
    assert int(count) > 5
    assert there == ["True", "True", "True"]
    assert "not allowed" in ran.stdout
    skip = {"OGR_SKIP": "CSV,OGR_VRT,HTTP", "GDAL_SKIP": "CSV,OGR_VRT,HTTP"}
    left = subprocess.run(
        [sys.executable, "-c", "import pyogrio; print(*pyogrio.list_drivers(), sep='|')"],
        env=skip,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split("|")
    assert {"CSV", "OGR_VRT", "HTTP"}.isdisjoint(left)
    assert "GPKG" in left


def test_the_childs_limits_bind():
    code = (
        "import unsown.formats.gisread as g\n"
        "g.MEMORY_BYTES = 700_000_000\n"
        "g.limit()\n"
        "try:\n    bytearray(10**9)\nexcept MemoryError:\n    print('held')\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "held"


def test_a_child_that_takes_too_long_is_ended_and_said(monkeypatch):
    monkeypatch.setattr(gis, "SECONDS", 0.01)
    with pytest.raises(PaddockError) as told:
        read_paddock(kml(square()), "x")
    assert told.value.code == "gis-slow"


def test_a_child_that_dies_is_said(monkeypatch):
    monkeypatch.setattr(gis, "_environment", lambda folder: {"PYTHONHOME": "/nowhere"})
    with pytest.raises(PaddockError) as told:
        read_paddock(kml(square()), "x")
    assert told.value.code == "gis-limit"


def test_shapes_of_wkb_are_what_the_geometry_library_wrote():
    a, b = Polygon(square(), [square(-106.199, 49.701, 0.001)]), Polygon(square(3, 4, 1))
    for shape in (a, MultiPolygon([a, b]), shapely.LineString(square()), shapely.Point(1, 2)):
        for order in (0, 1):
            told, end = gisread.shape_of(shapely.to_wkb(shape, byte_order=order))
            assert end == len(shapely.to_wkb(shape))
            parts = told.get("geometries", [told])
            back = [shapely.geometry.shape(part) for part in parts]
            assert shapely.geometry.GeometryCollection(back).equals_exact(
                shapely.geometry.GeometryCollection(list(getattr(shape, "geoms", [shape])))
            )


def test_a_geojson_boundary_needs_no_child(monkeypatch):
    monkeypatch.setattr(gis, "_child", None)
    from formats.made import feature

    assert read_paddock(collection(feature([square()])), "x").area is not None
