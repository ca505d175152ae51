"""Which paddock a position belongs to: the one it lies in, or within 300 m of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import Bools, Floats, Paddock
from unsown.formats.geojson import degrees
from unsown.service.things import to_paddock
from unsown.store.things import Thing

#: A rig turns, waits and refills beside the paddock; further away it is elsewhere.
NEAR_M = 300.0


@dataclass(frozen=True)
class Fence:
    """A paddock's surroundings in longitude/latitude: ``near`` reaches 300 m beyond the fence."""

    paddock: str
    version: int
    inside: BaseGeometry
    near: BaseGeometry

    def has(self, lon_deg: Floats, lat_deg: Floats) -> Bools:
        """Which positions lie in or near the paddock; shape as given."""
        return _has(self.near, lon_deg, lat_deg)

    def encloses(self, lon_deg: Floats, lat_deg: Floats) -> Bools:
        """Which positions lie inside the boundary itself."""
        return _has(self.inside, lon_deg, lat_deg)

    @property
    def boxes(self) -> list[tuple[float, float, float, float]]:
        """West, south, east, north of its parts: two where it crosses 180°."""
        return [part.bounds for part in shapely.get_parts(self.near)]


def fence_of(thing: Thing) -> Fence:
    """The surroundings of a saved paddock."""
    return fence_around(thing.id, thing.version, to_paddock(thing.body, thing.name))


def fence_around(id_: str, version: int, paddock: Paddock) -> Fence:
    """The surroundings of a paddock that has a boundary."""
    assert paddock.area is not None  # only a driven lap comes without, and is saved with one
    corners = shapely.get_coordinates(paddock.area)
    plane = Plane.around(corners[:, 0], corners[:, 1])
    on_plane = plane.shape_to_xy(paddock.area)
    near = degrees(on_plane.buffer(NEAR_M, quad_segs=4), plane)
    inside = degrees(on_plane, plane)
    for shape in (near, inside):
        shapely.prepare(shape)
    return Fence(id_, version, inside, near)


class Fences:
    """The fences of the paddocks in use; each version is worked out once."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, int], Fence] = {}

    def of(self, rows: Sequence[Thing]) -> Mapping[str, Fence]:
        """The fence of every paddock in use, by id."""
        out = {}
        for thing in rows:
            if thing.away_ms is None:
                key = (thing.id, thing.version)
                if key not in self._known:
                    self._known[key] = fence_of(thing)
                out[thing.id] = self._known[key]
        return out


def _has(shape: BaseGeometry, lon_deg: Floats, lat_deg: Floats) -> Bools:
    west, south, east, north = shape.bounds
    out = np.asarray(
        (lon_deg >= west) & (lon_deg <= east) & (lat_deg >= south) & (lat_deg <= north)
    )
    if out.any():
        out[out] = shapely.contains_xy(shape, lon_deg[out], lat_deg[out])
    return out
