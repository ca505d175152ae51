"""Exchange formats against published values and rules.

GX: GPX 1.1 schema, gpx.xsd (topografix.com; a public copy was read). GJ: RFC 7946.
NM1: readme.hex.pm/nmea/0.1.0. NM2: nmea_sentences.txt, a public NMEA parser's test data.
NM3: README of a public NMEA parser ("homegrown-nmea"). NM4, NM5: a widely reprinted NMEA tutorial,
from memory. NM6 and GJ5: closed form.
"""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, shape

import tallies
from formats.made import gpx, lever, log, square, trkpt
from unsown.core.plane import area_m2
from unsown.formats import geojson, nmea
from unsown.formats import gpx as gpxfile
from unsown.formats.boundary import read_paddock
from unsown.formats.moments import parse

NM1 = (
    "$GPGGA,092750.000,5321.6802,N,00630.3372,W,1,8,1.03,61.7,M,55.2,M,,*76",
    "$GPRMC,092750.000,A,5321.6802,N,00630.3372,W,0.02,31.66,280511,,,A*43",
)
NM2 = ("$GPGGA,111309.00,5400.6000,N,00247.1000,W,1,16,00.7,042.2,M,49.1,M,,*4A",)
NM3 = ("$GPRMC,030000,A,4740.36415,N,12225.35953,W,000.02,059.5,160612,016.6,E*52",)
NM4 = (
    "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
    "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A",
)
NM5 = (
    "$GPGLL,4916.45,N,12311.12,W,225444,A,*1D",
    "$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48",
    "$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39",
)


def read(*lines: str):
    return nmea.read("\r\n".join(lines).encode(), "x")


@pytest.mark.parametrize("line", [*NM1, *NM2, *NM3, *NM4, *NM5])
def test_nm_checksums_are_the_published_ones(line):
    body, _, told = line[1:].partition("*")
    assert f"{nmea.checksum(body.encode()):02X}" == told


def test_nm1_the_pair_is_one_fix():
    fixes = read(*NM1).fixes
    assert fixes.t_ms.tolist() == [parse("2011-05-28T09:27:50Z")]
    assert fixes.lat_deg[0] == pytest.approx(53.3613366667, abs=1e-10)
    assert fixes.lon_deg[0] == pytest.approx(-6.50562, abs=1e-10)
    assert fixes.course_deg[0] == 31.66


def test_nm2_the_same_sentence_with_xx_for_its_checksum_fails():
    found = read(NM1[1], NM2[0].replace("*4A", "*XX"))
    assert [s.reason for s in found.skipped] == ["NMEA sentence with a wrong checksum"]


def test_nm3_minutes_with_five_decimals():
    fixes = read(*NM3).fixes
    assert fixes.lat_deg[0] == pytest.approx(47.67273583333, abs=1e-10)
    assert fixes.lon_deg[0] == pytest.approx(-122.42265883333, abs=1e-10)


def test_nm4_speed_in_knots_and_the_year_1994():
    fixes = read(*NM4).fixes
    assert fixes.speed_m_s[0] == pytest.approx(11.5235556, abs=1e-7)
    assert fixes.speed_m_s[0] * 3.6 == pytest.approx(41.4848, abs=1e-4)
    assert (fixes.lat_deg[0], fixes.lon_deg[0]) == (
        pytest.approx(48.1173, abs=1e-10),
        pytest.approx(11.516667, abs=5e-7),
    )
    assert fixes.t_ms.tolist() == [parse("1994-03-23T12:35:19Z")]


@pytest.mark.parametrize(
    ("value", "side", "degrees"),
    [("5321.6802", "N", 53.3613366667), ("00630.3372", "W", -6.50562), ("00247.1000", "W", -2.785)],
)
def test_nm6_degrees_and_minutes(value, side, degrees):
    assert nmea.degrees(value, side) == pytest.approx(degrees, abs=1e-10)


def test_gx1_root_has_its_version_creator_and_namespace():
    root = ET.fromstring(gpxfile.write(log(2)))
    assert root.tag == "{http://www.topografix.com/GPX/1/1}gpx"
    assert root.get("version") == "1.1"
    assert root.get("creator")


def test_gx2_elements_come_in_the_order_of_the_schema():
    ns = "{http://www.topografix.com/GPX/1/1}"
    schema = [
        "ele",
        "time",
        "magvar",
        "geoidheight",
        "name",
        "cmt",
        "desc",
        "src",
        "link",
        "sym",
        "type",
        "fix",
        "sat",
        "hdop",
        "vdop",
        "pdop",
        "ageofdgpsdata",
        "dgpsid",
        "extensions",
    ]
    root = ET.fromstring(gpxfile.write(log(3, lever(0.5, "down"), lever(1.5, "up"))))
    assert [child.tag.removeprefix(ns) for child in root] == ["wpt", "wpt", "trk"]
    for point in [*root.iter(ns + "wpt"), *root.iter(ns + "trkpt")]:
        at = [schema.index(child.tag.removeprefix(ns)) for child in point]
        assert at == sorted(set(at))


@pytest.mark.parametrize(
    ("lat", "lon", "valid"),
    [
        (90, 1, True),
        (-90, 1, True),
        (1, -180, True),
        (1, 179.999999, True),
        (1, 180.0, False),
        (90.0001, 1, False),
        (1, -180.0001, False),
    ],
)
def test_gx3_ranges(lat, lon, valid):
    assert len(gpxfile.read(gpx(trkpt(0, lat, lon)), "x").fixes) == valid


def test_gx5_times_are_utc_with_fractions_allowed():
    text = gpxfile.write(log(2))
    for element in ET.fromstring(text).iter("{http://www.topografix.com/GPX/1/1}time"):
        assert element.text.endswith("Z")
        assert parse(element.text) is not None


def test_gj1_gj5_the_anticlockwise_ring_has_the_published_area_and_either_winding_is_taken():
    """105.34228974 ha: WGS84, 0.01 degree square, GeographicLib; RFC 7946 section 3.1.6."""
    ring = square(117.5, -31.5, 0.01)
    assert Polygon(ring).exterior.is_ccw
    for turned in (ring, ring[::-1]):
        data = json.dumps({"type": "Polygon", "coordinates": [turned]}).encode()
        paddock = read_paddock(data, "x")
        assert area_m2(paddock.area) / 1e4 == pytest.approx(105.34228974, abs=1e-6)
        assert paddock.area.geoms[0].exterior.is_ccw


def test_gj1_gj2_gj3_what_is_written_is_closed_anticlockwise_without_crs_and_short():
    """RFC 7946 sections 3.1.6, 4 and 11.2."""
    document = json.loads(geojson.ground(tallies.day(), tallies.PLANE))
    assert "crs" not in document
    for feature in document["features"]:
        for part in getattr(shape(feature["geometry"]), "geoms", [shape(feature["geometry"])]):
            assert part.exterior.is_ccw
            assert not any(r.is_ccw for r in part.interiors)
            for ring in (part.exterior, *part.interiors):
                points = np.array(ring.coords)
                assert len(points) >= 4
                assert (points[0] == points[-1]).all()
                assert np.abs(points - np.round(points, 7)).max() == 0


def test_gj4_a_shape_across_180_degrees_is_cut_in_two():
    """RFC 7946 section 3.1.9."""
    from unsown.core.plane import Plane

    whole = geojson.degrees(shapely.box(-300, -200, 300, 200), Plane(-17, 180.0))
    assert len(whole.geoms) == 2
    assert sorted(g.bounds[0] < 0 for g in whole.geoms) == [False, True]
    assert area_m2(whole) == pytest.approx(240_000, rel=1e-5)
