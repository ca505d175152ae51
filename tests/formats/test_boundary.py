"""Boundaries as GeoJSON -> Paddock."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from formats.made import collection, feature, square
from unsown.core.errors import PaddockError
from unsown.core.plane import area_m2
from unsown.core.words import Paddock
from unsown.formats import boundary, rings
from unsown.formats.boundary import read_paddock

SIZE_M2 = area_m2(Polygon(square()))


def read(document: object) -> Paddock:
    data = document if isinstance(document, bytes) else json.dumps(document).encode()
    return read_paddock(data, "home.geojson")


def refused(document: object) -> PaddockError:
    with pytest.raises(PaddockError) as told:
        read(document)
    return told.value


def polygon(*rings: object) -> dict[str, object]:
    return {"type": "Polygon", "coordinates": list(rings)}


def says(paddock: Paddock, word: str) -> bool:
    return any(word in note for note in paddock.notes)


def hole(at: float = 0.001, side: float = 0.001) -> list[list[float]]:
    return square(-106.2 + at, 49.7 + at, side)[::-1]


@pytest.mark.parametrize(
    "document",
    [
        polygon(square()),
        feature([square()]),
        {"type": "FeatureCollection", "features": [feature([square()])]},
        {"type": "MultiPolygon", "coordinates": [[square()]]},
        {"type": "GeometryCollection", "geometries": [polygon(square())]},
    ],
)
def test_geometry_feature_and_collection_are_the_same_paddock(document):
    paddock = read(document)
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-12)
    assert paddock.notes == ()


def test_a_hole_is_not_paddock():
    paddock = read(polygon(square(), hole()))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2 - area_m2(Polygon(hole())), rel=1e-9)


def test_wrong_winding_is_put_right_and_said():
    paddock = read(polygon(square()[::-1], hole()[::-1]))
    outer = paddock.area.geoms[0]
    assert outer.exterior.is_ccw
    assert not outer.interiors[0].is_ccw
    assert says(paddock, "clockwise")
    assert says(paddock, "a hole ran anticlockwise")


def test_an_unclosed_ring_is_closed_and_doubled_corners_are_dropped_and_both_said():
    ring = square()[:-1]
    paddock = read(polygon([ring[0], ring[0], *ring]))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-12)
    assert says(paddock, "was closed")
    assert says(paddock, "twice were dropped")


def test_heights_and_further_numbers_are_dropped():
    assert read(polygon([[*p, 500] for p in square()])).notes == ()
    paddock = read(polygon([[*p, 500, 7] for p in square()]))
    assert not paddock.area.has_z
    assert says(paddock, "more than three numbers")


def test_several_boundary_features_are_one_paddock_and_overlap_counts_once():
    near = feature([square(-106.198)])  # half of it over the first
    paddock = read(collection(feature([square()], name="North"), near))
    assert area_m2(paddock.area) == pytest.approx(1.5 * SIZE_M2, rel=1e-6)
    assert paddock.name == "North"
    assert says(paddock, "overlap were counted once")
    two = read(collection(feature([square()], name="A"), feature([square(-106.1)], name="B")))
    assert two.name == ""
    assert says(two, "2 names in the file (A, B)")
    assert len(two.area.geoms) == 2


def test_a_feature_of_another_kind_is_a_keep_out():
    slough = feature([hole()], kind="Slough", name="West", hazard=True)
    slough["properties"] |= {"from": "2026-04-01", "until": "2026-06-30"}
    paddock = read(
        collection(
            feature([square()], kind="boundary"),
            slough,
            feature([hole(0.003, 0.0005)], kind="unreachable"),
        )
    )
    west, corner = paddock.keep_outs
    assert (west.kind, west.name, west.hazard) == ("slough", "West", True)
    day_ms = 86_400_000
    assert west.until_ms - west.from_ms == 91 * day_ms  # both days in
    assert (corner.kind, corner.hazard, corner.from_ms) == ("unreachable", False, None)
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-12)


def test_a_date_that_is_none_is_refused():
    bad = feature([hole()], kind="slough")
    bad["properties"]["from"] = "spring"
    assert refused(collection(feature([square()]), bad)).code == "keep-out-date"


def test_lines_points_and_empty_features_are_left_out_and_said():
    gate = {
        "type": "Feature",
        "properties": {},
        "geometry": {"type": "Point", "coordinates": [0, 0]},
    }
    empty = {"type": "Feature", "properties": None, "geometry": None}
    paddock = read(collection(feature([square()]), gate, empty, None))
    assert says(paddock, "left out: 1 points")
    assert says(paddock, "left out: 1 features without a geometry")
    assert refused(collection(gate)).code == "boundary-none"


def test_a_bow_tie_is_refused_with_the_place_of_the_crossing():
    a, b, c, d, _ = square()
    error = refused(polygon([a, c, b, d, a]))
    assert error.code == "ring-crosses"
    assert "-106.198000" in error.message
    assert "49.702000" in error.message


def test_a_tiny_loop_at_a_corner_is_repaired_and_said():
    a, b, c, d, _ = square()
    ring = [a, [b[0] + 1e-5, b[1] + 1e-5], [b[0] + 1e-5, b[1]], [b[0], b[1] + 1e-5], c, d, a]
    paddock = read(polygon(ring))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=0.005)
    assert says(paddock, "was repaired")


def test_a_hole_across_the_ring_is_cut_out_as_it_lies_and_said():
    paddock = read(polygon(square(), hole(0.0035)))
    inside = area_m2(Polygon(hole(0.0035)).intersection(Polygon(square())))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2 - inside, rel=1e-6)
    assert says(paddock, "cut out as they lie")


def test_overlapping_holes_are_taken_off_once():
    paddock = read(polygon(square(), hole(0.001), hole(0.0015)))
    both = area_m2(Polygon(hole(0.001)).union(Polygon(hole(0.0015))))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2 - both, rel=1e-6)


def test_swapped_latitude_and_longitude_are_recognised_where_they_can_be():
    error = refused(polygon([[lat, lon] for lon, lat in square()]))
    assert error.code == "latitude"
    assert "swapped" in error.hint


def test_metres_of_a_map_grid_are_recognised():
    error = refused(polygon([[500_000 + 100 * x, 5_500_000 + 100 * y] for x, y in square(0, 0, 1)]))
    assert "map grid" in error.hint


@pytest.mark.parametrize(
    "ring",
    [
        [[1], [2, 3], [3, 4]],
        [["1", "2"], ["2", "2"], ["2", "3"]],
        [[1, 2], None, [3, 4], [1, 2]],
        [[float("nan"), 2], [2, 2], [2, 3], [1, 2]],
        [[1e999, 2], [2, 2], [2, 3], [1, 2]],
        [[True, 2], [2, 2], [2, 3], [1, 2]],
        [],
        "ring",
        [[1, 2], [2, 2], [1, 2]],
        5,
    ],
)
def test_a_ring_of_something_else_is_refused_with_its_place(ring):
    error = refused(collection(feature([square()]), feature([ring])))
    assert error.code in ("position", "ring-short", "ring-empty", "ring-type")
    assert "feature 2" in error.where


@pytest.mark.parametrize(
    "document",
    [
        [],
        5,
        "x",
        {},
        {"type": "Topology"},
        {"type": "featurecollection", "features": []},
        {"type": "FeatureCollection"},
        {"type": "FeatureCollection", "features": {}},
        {"type": "Polygon"},
        {"type": "Polygon", "coordinates": []},
        {"type": "Feature", "geometry": {"type": "Circle", "coordinates": [1, 2]}},
        {"type": "Feature", "geometry": [1]},
    ],
)
def test_what_is_no_geojson_is_refused(document):
    assert isinstance(refused(document), PaddockError)


def test_the_outcome_of_a_day_is_not_taken_for_a_boundary():
    assert (
        refused(collection(feature([square()], state="sown"), unsown=1)).code == "boundary-result"
    )


def test_areas_no_paddock_has_are_refused_with_what_to_do():
    assert refused(polygon(square(side=0.5))).code == "paddock-large"
    tiny = refused(polygon(square(side=5e-5)))
    assert tiny.code == "paddock-small"
    assert "degrees" in tiny.hint


@pytest.mark.parametrize(
    "name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326", "urn:ogc:def:crs:EPSG::4326"]
)
def test_a_legacy_crs_of_wgs84_is_accepted(name):
    crs = {"type": "name", "properties": {"name": name}}
    paddock = read(collection(feature([square()]), crs=crs))
    assert area_m2(paddock.area) == pytest.approx(SIZE_M2, rel=1e-12)
    assert paddock.notes == ()


def test_a_legacy_crs_of_another_system_is_brought_to_wgs84_and_said():
    """UTM zone 32N of 55 N 12 E: E 691875.632137542, N 6098907.825129169 (PROJ documentation)."""
    e, n = 691875.632137542, 6098907.825129169
    ring = [[e, n], [e + 400, n], [e + 400, n + 400], [e, n + 400], [e, n]]
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32632"}}
    paddock = read(collection(feature([ring]), crs=crs))
    lon, lat = paddock.area.geoms[0].exterior.coords[0]
    assert (lon, lat) == (pytest.approx(12, abs=1e-8), pytest.approx(55, abs=1e-8))
    assert says(paddock, "EPSG:32632")


@pytest.mark.parametrize(
    "name", ["EPSG:999999", "urn:x:y", "../../etc/passwd", "", "EPSG:²", "EPSG:" + "9" * 5000]
)
def test_an_unknown_crs_is_refused(name):
    crs = {"type": "name", "properties": {"name": name}}
    assert refused(collection(feature([square()]), crs=crs)).code == "crs"


WEST, EAST = 179.998, -179.998


@pytest.mark.parametrize(
    "document",
    [
        polygon([[WEST, -17], [EAST, -17], [EAST, -16.996], [WEST, -16.996], [WEST, -17]]),
        polygon([[WEST, -17], [180.002, -17], [180.002, -16.996], [WEST, -16.996], [WEST, -17]]),
        {
            "type": "MultiPolygon",
            "coordinates": [
                [[[WEST, -17], [180, -17], [180, -16.996], [WEST, -16.996], [WEST, -17]]],
                [[[-180, -17], [EAST, -17], [EAST, -16.996], [-180, -16.996], [-180, -17]]],
            ],
        },
    ],
)
def test_a_paddock_across_180_degrees_is_one_continuous_shape(document):
    paddock = read(document)
    twin = area_m2(Polygon(square(10, -17, 0.004)))
    assert area_m2(paddock.area) == pytest.approx(twin, rel=1e-9)
    assert paddock.area.bounds == pytest.approx((WEST, -17, 180.002, -16.996))
    assert len(paddock.area.geoms) == 1


@st.composite
def stars(draw: st.DrawFn) -> list[list[float]]:
    """A ring round a centre, its corners in order of their angle: simple by construction."""
    n = draw(st.integers(3, 12))
    radii = draw(st.lists(st.floats(0.001, 0.01), min_size=n, max_size=n))
    lon, lat = draw(st.floats(-179.9, 179.9)), draw(st.floats(-60, 60))
    points = [
        [lon + r * math.cos(2 * math.pi * i / n), lat + r * math.sin(2 * math.pi * i / n)]
        for i, r in enumerate(radii)
    ]
    return [*points, points[0]]


@given(stars(), st.integers(0, 11), st.booleans())
@settings(max_examples=60, deadline=None)
def test_where_a_ring_begins_and_which_way_it_runs_changes_no_area(ring, start, back):
    turned = ring[:-1][start % (len(ring) - 1) :] + ring[:-1][: start % (len(ring) - 1)]
    turned = [*turned, turned[0]][:: -1 if back else 1]
    expected = area_m2(Polygon(ring))
    assert area_m2(read(polygon(turned)).area) == pytest.approx(expected, rel=1e-9)


def test_outlines_that_cross_thousands_of_times_are_given_up_early():
    """A hostile ring: its own test of validity would take minutes."""
    rng = np.random.default_rng(1)
    ring = (rng.random((20_000, 2)) * 0.02 + [-106.0, 49.0]).tolist()
    error = refused(polygon([*ring, ring[0]]))
    assert error.code == "ring-crosses"
    assert "near longitude -10" in error.message


def test_holes_that_cross_each_other_too_often_are_given_up(monkeypatch):
    monkeypatch.setattr(rings, "MEETINGS", 10)
    fans = [hole(0.001 + 0.0001 * i, 0.001) for i in range(12)]
    assert refused(polygon(square(), *fans)).code == "ring-tangle"


def test_too_many_polygons_are_refused(monkeypatch):
    monkeypatch.setattr(boundary, "MOST_POLYGONS", 2)
    assert refused(collection(*[feature([square()])] * 3)).code == "boundary-many"


def test_a_long_ring_that_is_sound_is_read():
    turn = np.linspace(0, 2 * np.pi, 8001)
    ring = np.column_stack([-106 + 0.01 * np.cos(turn), 49 + 0.01 * np.sin(turn)])
    ring[-1] = ring[0]
    paddock = read(polygon(ring.tolist()))
    assert len(paddock.area.geoms[0].exterior.coords) == 8001
    assert paddock.notes == ()
