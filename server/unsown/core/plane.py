"""Degrees <-> the paddock's own metres.

A transverse Mercator centred on the paddock with scale 1 at its centre: lengths there are
ground lengths and areas ellipsoidal areas (relative area error x²/R² ≈ 1.5e-7 at 2.5 km from
the central meridian). A national or UTM grid would be short by up to 0.08 % and be cut by
zone edges; this plane also crosses 180° without noticing.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from pyproj import Geod, Transformer
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats

_WGS84 = Geod(ellps="WGS84")


def wrap_deg(angle_deg: Floats | float) -> Floats:
    """Angles brought into [-180, 180), degrees."""
    return np.asarray((np.asarray(angle_deg, dtype=np.float64) + 180.0) % 360.0 - 180.0)


@dataclass(frozen=True)
class Plane:
    """A local plane: x east, y north, metres from ``lat0_deg``, ``lon0_deg`` (WGS84)."""

    lat0_deg: float
    lon0_deg: float

    @classmethod
    def around(cls, lon_deg: Floats, lat_deg: Floats) -> Plane:
        """The plane centred on the middle of the given positions (degrees, shape (n,)).

        Longitudes may lie on both sides of 180°.
        """
        lon = np.asarray(lon_deg, dtype=np.float64)
        lat = np.asarray(lat_deg, dtype=np.float64)
        unwrapped = lon[0] + wrap_deg(lon - lon[0])
        lon0 = float(wrap_deg((unwrapped.min() + unwrapped.max()) / 2))
        return cls(float((lat.min() + lat.max()) / 2), lon0)

    @cached_property
    def _to(self) -> Transformer:
        return Transformer.from_pipeline(
            "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad"
            f" +step +proj=tmerc +lat_0={self.lat0_deg!r} +lon_0=0 +k=1 +ellps=WGS84"
        )

    def to_xy(self, lon_deg: Floats, lat_deg: Floats) -> tuple[Floats, Floats]:
        """Metres east and north of the centre, shape as given."""
        dlon = wrap_deg(np.asarray(lon_deg, dtype=np.float64) - self.lon0_deg)
        x, y = self._to.transform(dlon, np.asarray(lat_deg, dtype=np.float64))
        return np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)

    def to_degrees(self, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
        """Longitude in [-180, 180) and latitude, degrees, of points on the plane."""
        dlon, lat = self._to.transform(
            np.asarray(x_m, dtype=np.float64),
            np.asarray(y_m, dtype=np.float64),
            direction="INVERSE",
        )
        return wrap_deg(np.asarray(dlon) + self.lon0_deg), np.asarray(lat, dtype=np.float64)

    def shape_to_xy(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape in longitude/latitude brought onto the plane."""
        return _each_point(shape, self.to_xy)

    def shape_to_degrees(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape on the plane in longitude/latitude; longitudes in [-180, 180).

        A shape that crosses 180° is not cut here: the GeoJSON writer does that.
        """
        return _each_point(shape, self.to_degrees)


def _each_point(shape: BaseGeometry, change: object) -> BaseGeometry:
    def both(points: Floats) -> Floats:
        a, b = change(points[:, 0], points[:, 1])  # type: ignore[operator]
        return np.column_stack([a, b])

    moved: BaseGeometry = shapely.transform(shapely.force_2d(shape), both)
    return moved


def area_m2(shape: BaseGeometry) -> float:
    """Ellipsoidal area of a polygon or multipolygon in longitude/latitude, square metres.

    Karney's geodesic polygon area (doi 10.1007/s00190-012-0578-z) through PROJ; holes are taken
    off. Winding does not matter.
    """
    if shape.is_empty:
        return 0.0
    parts = list(shape.geoms) if isinstance(shape, MultiPolygon) else [shape]
    total = 0.0
    for part in parts:
        if not isinstance(part, Polygon):
            continue
        rings = [part.exterior, *part.interiors]
        areas = [abs(_WGS84.polygon_area_perimeter(*np.asarray(r.coords).T[:2])[0]) for r in rings]
        total += areas[0] - sum(areas[1:])
    return total
