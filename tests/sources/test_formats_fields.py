"""26 real field boundaries of 11 official or paper sources, each with its geodesic area."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from unsown.core.plane import area_m2
from unsown.formats.boundary import read_paddock

FILE = (
    Path(__file__).resolve().parents[2].parent / "shared" / "data" / "boundaries" / "fields.geojson"
)
FIELDS = json.loads(FILE.read_text(encoding="utf-8"))["features"] if FILE.is_file() else []

pytestmark = pytest.mark.skipif(not FIELDS, reason="the boundaries of ../shared/data are not here")


def test_all_26_are_here():
    assert len(FIELDS) == 26


@pytest.mark.parametrize("at", range(26))
def test_a_real_field_has_its_area(at):
    about = FIELDS[at]["properties"]
    paddock = read_paddock(json.dumps(FIELDS[at]).encode(), "fields.geojson")
    ha = area_m2(paddock.area) / 1e4
    assert paddock.area.is_valid
    if about["area_ha_geodesic"] is None:  # invalid as delivered: a ring that touches itself
        assert any("repaired" in note for note in paddock.notes)
        assert ha == pytest.approx(14.7245, rel=5e-4)  # even-odd reading of its rings
        return
    # four decimals of a hectare are printed: half of the last one is 0.5 m2
    assert ha == pytest.approx(about["area_ha_geodesic"], rel=5e-4, abs=5e-5)
    assert len(paddock.area.geoms) == about["parts"]
    assert sum(len(part.interiors) for part in paddock.area.geoms) == about["holes"]
