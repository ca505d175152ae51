"""A paddock as GeoJSON and back."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from unsown.core.words import KeepOut, Paddock
from unsown.formats.boundary import read_paddock
from unsown.formats.outline import collection

RING = Polygon(
    [(-106.21, 49.73), (-106.21, 49.74), (-106.2, 49.74), (-106.2, 49.73)],
    [[(-106.206, 49.734), (-106.204, 49.734), (-106.204, 49.736), (-106.206, 49.736)]],
)
SLOUGH = KeepOut(
    "slough", MultiPolygon([box(-106.209, 49.731, -106.208, 49.732)]), "rim", True,
    1_777_593_600_000, 1_780_272_000_000,
)  # fmt: skip
PADDOCK = Paddock("Dry Ladle", MultiPolygon([RING]), (SLOUGH, replace(SLOUGH, name="")))
PARTS = replace(PADDOCK, area=MultiPolygon([RING, box(-106.19, 49.73, -106.18, 49.74)]))


@pytest.mark.parametrize("paddock", [PADDOCK, PARTS, replace(PADDOCK, boundary="lap")])
def test_a_paddock_written_as_geojson_reads_back_the_same(paddock: Paddock) -> None:
    back = read_paddock(json.dumps(collection(paddock)).encode(), "page")
    assert back.area is not None
    assert paddock.area is not None
    assert shapely.symmetric_difference(back.area, paddock.area).area < 1e-12
    assert (back.name, back.boundary) == (paddock.name, paddock.boundary)
    for one, other in zip(back.keep_outs, paddock.keep_outs, strict=True):
        assert one.area.equals(other.area)
        assert replace(one, area=other.area) == other


def test_outer_rings_run_anticlockwise_and_holes_clockwise() -> None:
    rings = collection(PADDOCK)["features"][0]["geometry"]["coordinates"]
    assert [shapely.is_ccw(shapely.LinearRing(ring)) for ring in rings] == [True, False]


def test_a_paddock_without_an_area_has_only_its_keep_outs() -> None:
    kinds = [f["properties"]["kind"] for f in collection(replace(PADDOCK, area=None))["features"]]
    assert kinds == ["slough", "slough"]
