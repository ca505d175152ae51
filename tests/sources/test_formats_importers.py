"""76 files that importers meet in the wild: read as the manifest says, or refused with the reason.

``manifest.json`` beside them holds what independent tools count in each; where they disagree the
raw count is the referee.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from unsown.core.errors import PaddockError, TrackError, UnsownError
from unsown.core.plane import area_m2
from unsown.formats import gpx, nmea
from unsown.formats.boundary import read_paddock
from unsown.formats.moments import parse
from unsown.formats.rows import Rows
from unsown.formats.track import join, read_track

FOLDER = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "importers"
MANIFEST = FOLDER / "manifest.json"
EXPECTED = (
    {k: v["expected"] for k, v in json.loads(MANIFEST.read_text(encoding="utf-8")).items()}
    if MANIFEST.is_file()
    else {}
)
pytestmark = pytest.mark.skipif(not EXPECTED, reason="the files of ../shared/data are not here")


def named(folder: str) -> list[str]:
    return [name for name in EXPECTED if name.startswith(folder + "/")]


def data(name: str) -> bytes:
    return (FOLDER / name).read_bytes()


def skips(found) -> dict[str, int]:
    return {s.reason: s.count for s in found.skipped}


def test_all_76_are_here():
    assert len(EXPECTED) == 76
    assert all((FOLDER / name).is_file() for name in EXPECTED)


@pytest.mark.parametrize("name", EXPECTED)
def test_as_a_track_it_is_read_or_refused_with_what_to_do(name):
    told: UnsownError | None = None
    try:
        fixes = len(join([read_track(data(name), name)]).fixes)
    except TrackError as error:
        told, fixes = error, 0
    if not fixes:
        assert told is not None
        assert told.code
        assert told.where == name
        assert told.message.endswith(".")


@pytest.mark.parametrize("name", [*named("gpx"), *named("nmea")])
def test_as_a_paddock_a_track_is_refused_with_what_to_do(name):
    with pytest.raises(PaddockError) as told:
        read_paddock(data(name), name)
    assert told.value.where == name


@pytest.mark.parametrize("name", named("gpx"))
def test_gpx_counts_are_the_raw_counts(name):
    told = EXPECTED[name]
    found = gpx.read(data(name), name)
    kept_out = skips(found)
    assert len(found.fixes) == told["trkpt_with_time"]
    untimed = kept_out.pop("track point without a time", 0)
    assert len(found.fixes) + untimed == told["trkpt"]
    assert kept_out.pop("route point: a route is a plan, not a track", 0) == told["rtept"]
    assert kept_out.pop("waypoint that is not named or typed down or up", 0) == told["wpt"]
    assert kept_out == {}
    if told.get("first"):
        assert found.fixes.t_ms.min() == parse(told["first"])
        assert found.fixes.t_ms.max() == parse(told["last"])


@pytest.mark.parametrize("name", named("gpx"))
def test_gpx_without_one_timed_point_is_refused_as_that(name):
    told = EXPECTED[name]
    if told["trkpt_with_time"]:
        assert len(read_track(data(name), name).fixes) == told["trkpt_with_time"]
        return
    with pytest.raises(TrackError) as error:
        read_track(data(name), name)
    assert error.value.code == ("track-without-times" if told["trkpt"] else "track-empty")
    if told["trkpt"]:
        assert f"{told['trkpt']} x track point" in error.value.message


def test_gpx_1_0_speed_is_read():
    found = gpx.read(data("gpx/gpxpy_track_with_speed.gpx"), "x")
    assert found.fixes.speed_m_s.tolist() == [1.2, 2.2, 3.2]


NMEA_REFUSED = {
    "nmea/gpsd_bu303-moving.log": "track-binary",
    "nmea/gpsd_trimble-lassen_iq-playacar.log": "track-binary",
    "nmea/gpsd_garmin-geko201.log": "track-empty",  # a simulator: every sentence says so (V, 8)
    "nmea/gpsd_sounder.log": "track-without-times",  # GLL only: times without any date
}
MOMENTS = {
    # the manifest counts clock texts: "130711" and "130711.00" are one moment
    "nmea/gpsd_saab-r4.log": 12,
}
NO_FIX = {
    # the manifest's 21, and two valid RMC that stand behind another sentence in their line
    "nmea/gpsd_gp-320fw-2019-04-07-coldboot.log": 23,
}


COLD = "nmea/gpsd_gp-320fw-2019-04-07-coldboot.log"
RIGHT = {COLD: 96}  # the manifest's 94 and the two RMC above
WRONG = {COLD: 26}  # of its 29 three were cut off by another $: here without a checksum


@pytest.mark.parametrize("name", named("nmea"))
def test_nmea_is_read_or_refused_as_the_raw_counts_say(name):
    told = EXPECTED[name]
    if name in NMEA_REFUSED:
        with pytest.raises(TrackError) as error:
            read_track(data(name), name)
        assert error.value.code == NMEA_REFUSED[name]
        return
    found = read_track(data(name), name)
    moments = MOMENTS.get(name, told["valid_fix_clock_values"])
    assert len(np.unique(found.fixes.t_ms)) == moments
    kept_out = skips(found)
    assert kept_out.get("NMEA sentence with a wrong checksum", 0) == WRONG.get(
        name, told["checksum_bad"]
    )
    expected = NO_FIX.get(name, told["rmc_gga_without_fix"])
    assert kept_out.get("sentence without a valid position (no fix)", 0) == expected


@pytest.mark.parametrize("name", [n for n in named("nmea") if not EXPECTED[n]["binary"]])
def test_nmea_sentences_with_a_right_checksum_are_all_found(name):
    count = len(nmea._sentences(data(name), Rows(name), name))
    assert count == RIGHT.get(name, EXPECTED[name]["checksum_ok"])


def test_nmea_oddities_are_said():
    notes = read_track(data("nmea/gpsd_gp-320fw-2019-04-07-coldboot.log"), "x").notes
    assert any("1024 weeks" in note for note in notes)
    boat = join([read_track(data("nmea/gpsd_humminbird-M37.log"), "x")])
    assert any("clock goes back" in note for note in boat.notes)
    assert len(boat.fixes) == 33  # 24 clock values: nine come twice after the clock was set back


GEOJSON_REFUSED = {
    "invalid_feature_wrong_geometry_key": "boundary-none",
    "invalid_featurecollection_feature_nullfeature": "boundary-none",
    "invalid_featurecollection_type_lowercase": "geojson-type",
    "invalid_geometry_coordinates_empty_position": "position",
    "invalid_incorrect_geometry_data_type": "boundary-none",
    "invalid_less_three_unique_nodes": "ring-short",
    "problematic_crosses_antimeridian": "paddock-large",
    "problematic_feature_null_geometry": "boundary-none",
    "problematic_nested_geometrycollection": "boundary-none",
    "problematic_outside_lat_lon_boundaries": "longitude",
    "problematic_self_intersection_large": "ring-crosses",
    "problematic_zero_length_linestring": "boundary-none",
    "valid_featurecollection": "paddock-large",
    "geometry_collection": "boundary-none",
    "multipolygon": "paddock-large",
}
SAID = {
    "invalid_exterior_not_ccw": "ran clockwise",
    "invalid_interior_not_cw": "hole ran anticlockwise",
    "invalid_unclosed": "was closed",
    "problematic_4d_coordinates": "more than three numbers",
    "problematic_crs_defined": "EPSG:32632",
    "problematic_duplicate_nodes": "twice were dropped",
    "problematic_inner_and_exterior_ring_intersect": "cut out as they lie",
    "problematic_self_intersection_small": "repaired",
}
CHANGED = {"problematic_crs_defined", "problematic_inner_and_exterior_ring_intersect"}


def raw_ha(document: dict) -> float:
    """Area of the file's own rings by GeographicLib, holes off."""
    total = 0.0
    features = document.get("features", [{"geometry": document}])
    for feature in features:
        for at, ring in enumerate(feature["geometry"]["coordinates"]):
            polygon = Geodesic.WGS84.Polygon()
            for lon, lat, *_ in ring[: -1 if ring[0] == ring[-1] else None]:
                polygon.AddPoint(lat, lon)
            total += abs(polygon.Compute()[2]) * (-1 if at else 1)
    return total / 1e4


@pytest.mark.parametrize("name", named("geojson"))
def test_geojson_is_read_put_right_or_refused(name):
    word = name.removeprefix("geojson/").partition("_")[2].removesuffix(".geojson")
    if word in GEOJSON_REFUSED:
        with pytest.raises(PaddockError) as told:
            read_paddock(data(name), name)
        assert told.value.code == GEOJSON_REFUSED[word]
        return
    paddock = read_paddock(data(name), name)
    notes = " ".join(paddock.notes)
    assert SAID.get(word, "") in notes
    assert (word in SAID) == bool(notes)
    if word not in CHANGED:
        ha = raw_ha(json.loads(data(name)))
        assert area_m2(paddock.area) / 1e4 == pytest.approx(
            ha, rel=5e-3 if "self" in word else 1e-7
        )


KML_READ = {"kml/togeojson_polygon.kml": 10, "kml/togeojson_timespan.kml": 3}


@pytest.mark.parametrize("name", named("kml"))
def test_kml_is_read_where_it_has_an_area_and_else_refused_with_what_it_has(name):
    if name in KML_READ:
        paddock = read_paddock(data(name), name)
        rings = [r for p in paddock.area.geoms for r in (p.exterior, *p.interiors)]
        corners = sum(len(r.coords) for r in rings)
        closed = any("was closed" in note for note in paddock.notes)
        assert corners - closed == EXPECTED[name]["coord_tuples"] == KML_READ[name]
        return
    with pytest.raises(PaddockError) as told:
        read_paddock(data(name), name)
    assert told.value.code == ("ring-short" if "bad" in name else "boundary-none")
    if "networklink" in name:
        assert "not followed" in told.value.message


def test_shapefiles_are_read_or_refused():
    fields = read_paddock(data("shp/br_ba_lem.zip"), "x")
    assert EXPECTED["shp/br_ba_lem.zip"]["ogrinfo"]["layers"]["LEM_dataset"][0] == 100
    assert any(note.startswith("100 boundary features") for note in fields.notes)
    assert fields.area.bounds[:2] == pytest.approx((-46.066524, -12.263541), abs=1e-6)
    box = read_paddock(data("shp/henrys_bbox_macos.zip"), "x")
    assert box.area.bounds[:2] == pytest.approx((-110.558248, 47.878730), abs=1e-6)
    for name, code in (
        ("corrupt_too_long.shp", "shape-alone"),
        ("empty_zipfile.zip", "zip-nothing"),
    ):
        with pytest.raises(UnsownError) as told:
            read_paddock(data(f"shp/{name}"), name)
        assert told.value.code == code
