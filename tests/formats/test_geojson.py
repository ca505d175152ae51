"""GeoJSON tracks read, and the ground written."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Point, Polygon, box, shape

import tallies
from formats.made import START_MS
from unsown.core.errors import TrackError
from unsown.core.plane import Plane, area_m2
from unsown.core.words import Ground
from unsown.formats import geojson


def read(document: object):
    return geojson.read(json.dumps(document).encode(), "day.geojson")


def line(times: object, key: str = "times", n: int = 3) -> dict[str, object]:
    places = [[-106.2, 49.7 + 1e-5 * i, 500.0] for i in range(n)]
    about: dict[str, object] = {key: times}
    if "." in key:
        outer, inner = key.split(".")
        about = {outer: {inner: times}}
    return {
        "type": "Feature",
        "properties": about,
        "geometry": {"type": "LineString", "coordinates": places},
    }


ISO = [f"2026-05-01T12:00:0{i}Z" for i in range(3)]


@pytest.mark.parametrize("key", ["times", "coordTimes", "coordinateProperties.times"])
@pytest.mark.parametrize("times", [ISO, [START_MS, START_MS + 1000, START_MS + 2000]])
def test_a_line_with_times_is_a_track(key, times):
    found = read(line(times, key)).fixes
    assert (found.t_ms - START_MS).tolist() == [0, 1000, 2000]
    assert found.lat_deg[1] == pytest.approx(49.70001)


def test_each_line_and_each_part_of_a_multiline_is_a_segment():
    many = line([ISO[:1], ISO[1:2]])
    many["geometry"] = {"type": "MultiLineString", "coordinates": [[[1, 2]], [[1, 2.1]]]}
    found = read({"type": "FeatureCollection", "features": [many, line(ISO)]}).fixes
    assert len(np.unique(found.segment)) == 3


def test_positions_without_a_time_or_place_are_counted():
    short = line([*ISO[:1], None])
    short["geometry"]["coordinates"][0] = ["x", 1]
    found = read(short)
    assert len(found.fixes) == 0
    assert {s.reason: s.count for s in found.skipped} == {
        "line position without a time": 2,
        "latitude or longitude is not a number": 1,
    }


def test_points_with_time_are_fixes_and_down_and_up_are_marks():
    def point(**about: object) -> dict[str, object]:
        place = {"type": "Point", "coordinates": [-106.2, 49.7]}
        return {"type": "Feature", "properties": about, "geometry": place}

    found = read(
        {
            "type": "FeatureCollection",
            "features": [
                point(time=ISO[0], speed_m_s=2.0),
                point(time=ISO[1], kind="Down"),
                point(name="gate"),
                None,
            ],
        }
    )
    assert len(found.fixes) == 1
    assert found.fixes.speed_m_s[0] == 2.0
    assert [(m.t_ms, m.says) for m in found.marks] == [(START_MS + 1000, {"lever": "down"})]
    assert sum(s.count for s in found.skipped) == 2


@pytest.mark.parametrize("data", [b"{", b"[1]", b'{"a": 1}', b'{"type": "Feature", "properties"'])
def test_what_is_no_geojson_is_refused(data):
    with pytest.raises(TrackError):
        geojson.read(data, "x")


def written(tally, plane=tallies.PLANE) -> dict[str, object]:
    return json.loads(geojson.ground(tally, plane))


def test_each_state_and_each_patch_is_a_feature_and_the_areas_are_those_of_the_day():
    day = tallies.day()
    features = written(day)["features"]
    states = [f["properties"]["state"] for f in features]
    assert [s for s in states if s != "bare"] == ["sown", "part", "twice", "doubt", "keep-out"]
    bare = [f["properties"] for f in features if f["properties"]["state"] == "bare"]
    assert [p["number"] for p in bare] == [p.number for p in day.patches]
    assert {"number", "chance", "call", "kind", "area_m2"} <= bare[0].keys()
    sown = next(f for f in features if f["properties"]["state"] == "sown")
    assert sown["properties"]["area_m2"] == pytest.approx(day.ground.sown.area, rel=1e-5)
    assert area_m2(shape(sown["geometry"])) == pytest.approx(day.ground.sown.area, rel=1e-5)


def test_bare_ground_too_narrow_to_list_is_a_sliver():
    day = tallies.day()
    strip = box(-400, -440, 0, -439.5)
    ground = Ground(**{**vars(day.ground), "bare": day.ground.bare.union(strip)})
    features = written(tallies.replace(day, ground=ground))["features"]
    sliver = next(f for f in features if f["properties"]["state"] == "sliver")
    assert sliver["properties"]["area_m2"] == pytest.approx(strip.area, rel=0.02)


def test_the_text_keeps_rfc_7946():
    """RFC 7946: no crs (section 4), outer rings anticlockwise (3.1.6), 7 decimals at most."""
    text = geojson.ground(tallies.day(), tallies.PLANE)
    document = json.loads(text)
    assert "crs" not in document
    assert not re.search(r"-?\d+\.\d{8,}", re.sub(r'"[a-z_0-9]+": [\d.]+', "", text))
    for feature in document["features"]:
        whole = shape(feature["geometry"])
        assert whole.is_valid
        for part in getattr(whole, "geoms", [whole]):
            assert part.exterior.is_ccw
            assert not any(ring.is_ccw for ring in part.interiors)


def rings_of(document: dict[str, object]) -> list[list[list[float]]]:
    out = []
    for feature in document["features"]:
        kind, places = feature["geometry"]["type"], feature["geometry"]["coordinates"]
        out += places if kind == "Polygon" else [r for part in places for r in part]
    return out


def test_what_crosses_180_degrees_is_cut_in_two():
    """RFC 7946 section 3.1.9."""
    plane = Plane(-17.0, 179.9999)
    document = written(tallies.day(), plane)
    sown = next(f for f in document["features"] if f["properties"]["state"] == "sown")
    assert sown["geometry"]["type"] == "MultiPolygon"
    for ring in rings_of(document):
        lon = np.array(ring)[:, 0]
        assert np.ptp(lon) < 1
        assert (np.abs(lon) <= 180).all()
    assert area_m2(shape(sown["geometry"])) == pytest.approx(
        tallies.day().ground.sown.area, rel=1e-5
    )


def test_our_own_output_is_not_a_track():
    from unsown.formats.track import read_track

    with pytest.raises(TrackError):
        read_track(geojson.ground(tallies.day(), tallies.PLANE).encode(), "x")


@given(st.floats(-80, 80), st.floats(-180, 179.999), st.integers(3, 9), st.floats(1, 400))
@settings(max_examples=50, deadline=None)
def test_a_shape_anywhere_keeps_its_area_and_is_valid(lat, lon, n, radius):
    rings = [Point(0, 0).buffer(radius + 20, n), Point(1.0, 0.5).buffer(radius / 3, n)]
    there = rings[0].difference(rings[1])
    whole = geojson.degrees(there, Plane(lat, lon))
    assert whole.is_valid
    assert area_m2(whole) == pytest.approx(there.area, rel=2e-3)
    west, _, east, _ = whole.bounds
    assert -180 <= west <= east <= 180


def test_nothing_is_no_feature():
    empty = Polygon()
    assert geojson.degrees(empty, tallies.PLANE) == MultiPolygon()


def test_neighbours_that_cross_only_once_they_are_in_degrees_can_still_be_cut_at_180() -> None:
    # two slivers of a real day across 180°, valid on the plane, their seam apart by nanometres
    slivers = [
        [
            (60.746506513991335, -65.52078133052005),
            (61.00629732666181, -65.15412742585214),
            (61.62470231987315, -64.30218107700861),
        ],
        [
            (61.151597583259445, -65.22784510323885),
            (63.672173724383995, -61.85708148513485),
            (64.45139415363697, -60.82774701272561),
            (60.870966662992686, -65.60908981839614),
        ],
        [
            (-122.889162897101, 96.01375544148642),
            (-123.13268656557692, 96.54556197599297),
            (-124.52174112403274, 99.8722164515183),
            (-123.53740157505622, 97.51481619959476),
            (-123.12129912196532, 96.56703003254022),
            (-120.9375764136817, 91.42251677546687),
        ],
    ]
    plane = Plane(-41.2, -179.99990000000003)
    shape = MultiPolygon([Polygon(sliver) for sliver in slivers])
    found = geojson.degrees(shape, plane)
    assert shape.is_valid
    assert found.is_valid
    west, _, east, _ = found.bounds
    assert (west, east) == pytest.approx((-180, 180), abs=0.005)
    # a corner may give way by a step of the seventh decimal, about a centimetre
    assert plane.shape_to_xy(found).within(shape.buffer(0.03))
    assert shape.representative_point().distance(plane.shape_to_xy(found)) < 0.03
