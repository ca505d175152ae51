"""The plane and its areas against published geodesics and projections.

Marks after each source: A read in the source, B the source from memory, D a closed form or a
second library. Areas go through ``plane.area_m2``; where it is the projection library itself
that is held against a published value the test says so.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from numpy.testing import assert_allclose
from pyproj import Transformer
from shapely.geometry import Point, Polygon, box

from unsown.core.plane import Plane, area_m2


def lat_lon(*corners: tuple[float, float]) -> Polygon:
    return Polygon([(lon, lat) for lat, lon in corners])


# GeographicLib's own tests Planimeter0, 5, 15 (C. Karney), geographiclib-python
# test_geodesic.py (A+D). GE1, GE2, GE3, GE4, GE5.
@pytest.mark.parametrize(
    ("ring", "area", "tolerance"),
    [
        (lat_lon((0, -1), (-1, 0), (0, 1), (1, 0)), 24619419146, 1),
        (lat_lon((89, 0), (89, 90), (89, 180), (89, 270)), 24952305678, 1),
        (lat_lon((90, 0), (0, 0), (0, 90)), 63758202715511, 1),
        (lat_lon((2, 1), (1, 2), (3, 3)), 18454562325.45119, 0.5),
        (lat_lon((3, 3), (1, 2), (2, 1)), 18454562325.45119, 0.5),
        (lat_lon((89, 0.1), (89, 90.1), (89, -179.9)), 12476152838.5, 1),
    ],
)
def test_areas_are_karneys_whatever_the_winding(
    ring: Polygon, area: float, tolerance: float
) -> None:
    assert_allclose(area_m2(ring), area, rtol=0, atol=tolerance)


def test_nothing_has_no_area() -> None:
    # Planimeter19: no point or one point (A+D). GE6.
    assert area_m2(Polygon()) == 0.0
    assert area_m2(Point(117.5, -31.5)) == 0.0


def test_a_degree_by_a_degree_at_the_equator() -> None:
    # a public geodesic library's test, reproduced with geographiclib (A+D). GE7.
    assert_allclose(area_m2(lat_lon((0, 0), (0, 1), (1, 1), (1, 0))), 12308778361.469, atol=1e-3)


# Hundredth-of-a-degree squares, geographiclib (D). GE11, GE12.
SQUARES = [(-31.5, 117.5, 105.34228974), (51.0, -105.0, 78.08538011), (52.5, -0.5, 75.55984785)]


@pytest.mark.parametrize(("lat", "lon", "area_ha"), SQUARES)
def test_areas_of_paddock_size(lat: float, lon: float, area_ha: float) -> None:
    square = box(lon, lat, lon + 0.01, lat + 0.01)
    assert_allclose(area_m2(square) / 1e4, area_ha, atol=1e-6)


@pytest.mark.parametrize(("lat", "lon", "area_ha"), SQUARES)
def test_areas_on_the_plane_are_areas_on_the_ellipsoid(
    lat: float, lon: float, area_ha: float
) -> None:
    # the plane's promise, < 1e-7 (GE14, D); UTM is short by up to 0.08 % there (GE13, D)
    square = box(lon, lat, lon + 0.01, lat + 0.01)
    plane = Plane.around(np.array([lon, lon + 0.01]), np.array([lat, lat + 0.01]))
    fine = shapely.segmentize(square, 1e-3)  # geodesic sides, not one chord
    assert_allclose(plane.shape_to_xy(fine).area / 1e4, area_ha, rtol=1e-7)


@pytest.mark.parametrize(
    ("lat", "lon", "zone", "short"),
    [
        (-31.5, 117.5, 32750, 0.99925687),
        (51.0, -105.0, 32613, 0.99920016),
        (52.5, -0.5, 32630, 0.99990962),
    ],
)
def test_a_utm_area_would_be_short(lat: float, lon: float, zone: int, short: float) -> None:
    # why the plane is not UTM: the grid's own factor k² (D, pyproj against the geodesic). GE13.
    square = shapely.segmentize(box(lon, lat, lon + 0.01, lat + 0.01), 1e-3)
    to = Transformer.from_crs(4326, zone, always_xy=True)
    utm = shapely.transform(square, lambda p: np.column_stack(to.transform(*p.T)))
    assert_allclose(utm.area / area_m2(square), short, atol=2e-7)


@pytest.mark.parametrize(
    ("lat", "north", "east"),
    [
        (0, 110574.2758, 111319.4908),
        (30, 110852.4425, 96486.2803),
        (35, 110940.5745, 91288.1696),
        (45, 111131.7774, 78846.8351),
        (50, 111229.0640, 71695.7536),
        (60, 111412.2875, 55800.0016),
    ],
)
@pytest.mark.parametrize("sign", [1, -1])
def test_metres_per_degree(lat: float, north: float, east: float, sign: int) -> None:
    # WGS84 radii of curvature M and N cos φ (D). GE15.
    plane = Plane(float(sign * lat), 117.5)
    step = 0.002
    x, _ = plane.to_xy(np.array([117.5 - step, 117.5 + step]), np.full(2, float(sign * lat)))
    _, y = plane.to_xy(np.full(2, 117.5), sign * lat + np.array([-step, step]))
    assert_allclose((x[1] - x[0]) / (2 * step), east, atol=2e-3)
    assert_allclose((y[1] - y[0]) / (2 * step), north, atol=2e-3)


@pytest.mark.parametrize("lat", [0.0, -31.5, 49.73, 68.0])
@pytest.mark.parametrize("lon", [-106.21, 0.0, 179.999, -180.0])
def test_distances_and_bearings_on_the_plane_are_geodesics(lat: float, lon: float) -> None:
    # geographiclib's direct geodesic (a second library; C. Karney, doi 10.1007/s00190-012-0578-z)
    plane = Plane(lat, lon)
    for metres in (1.0, 100.0, 1000.0, 2500.0):
        for azimuth in range(0, 360, 45):
            g = Geodesic.WGS84.Direct(lat, lon, azimuth, metres)
            x, y = plane.to_xy(np.array([g["lon2"]]), np.array([g["lat2"]]))
            bearing = np.radians(azimuth)
            # a transverse Mercator stretches by x²/2R²: 0.2 mm at 2.5 km, and bends as much
            assert_allclose(x[0], metres * np.sin(bearing), atol=3e-4)
            assert_allclose(y[0], metres * np.cos(bearing), atol=3e-4)


def airy(lon: float, lat: float) -> tuple[float, float]:
    grid = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad"
        " +step +proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000"
        " +ellps=airy"
    )
    return grid.transform(lon, lat)


def test_the_projection_library_gives_the_published_transverse_mercator_points() -> None:
    # IOGP Guidance Note 373-7-2, Transverse Mercator example, quoted in public test suites
    # (A quoted + D). GE16.
    assert_allclose(airy(0.5, 50.5), (577274.99, 69740.50), atol=0.02)
    # Ordnance Survey, A guide to coordinate systems in Great Britain, Annex C, quoted in public
    # tests (A quoted + D). GE17.
    east, north = airy(1 + 43 / 60 + 4.5177 / 3600, 52 + 39 / 60 + 27.2531 / 3600)
    assert_allclose((east, north), (651409.903, 313177.270), atol=1e-3)


def test_the_projection_library_gives_the_published_utm_points() -> None:
    # PROJ documentation example (A+D) GE18; PROJ regression value, GRS80 (B + D) GE19.
    utm = Transformer.from_crs(4326, 32632, always_xy=True)
    assert_allclose(utm.transform(12, 55), (691875.632137542, 6098907.825129169), atol=1e-6)
    grs = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad"
        " +step +proj=utm +zone=32 +ellps=GRS80"
    )
    assert_allclose(grs.transform(12, 55), (691875.632139661, 6098907.825005012), atol=1e-6)
