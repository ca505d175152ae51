"""The farm pack carries what was read, not what was given to be read."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import farms
from unsown.core.words import Rig, Tool
from unsown.service.things import to_paddock


def test_a_paddock_is_carried_with_its_rings_open_and_its_keep_outs_read(tmp_path: Path) -> None:
    given = {
        "type": "FeatureCollection",
        "features": [
            farms.paddock("Long Bench"),
            {
                "type": "Feature",
                "properties": {
                    "kind": "wet", "name": "soak", "hazard": False,
                    "from": "2025-04-01", "until": "2025-05-10",
                },
                "geometry": {"type": "Polygon", "coordinates": [[
                    [-106.2095, 49.7301], [-106.2093, 49.7301], [-106.2093, 49.7302],
                    [-106.2095, 49.7302], [-106.2095, 49.7301]]]},
            },
        ],
    }  # fmt: skip
    with farms.farm_in(tmp_path) as farm:
        id_ = farm.save_paddock(None, given, None).id
        (row,) = farm.pack(farms.SEASON)["paddocks"]
    read = to_paddock(given)
    land = row["land"]
    assert row["id"] == id_
    assert (land["name"], land["boundary"]) == ("Long Bench", read.boundary)
    ((ring,),) = land["area"]
    assert len(ring) == 4
    assert ring[0] != ring[-1]
    (out,) = land["keep_outs"]
    assert (out["kind"], out["name"]) == ("wet", "soak")
    assert (out["from_ms"], out["until_ms"]) == (
        read.keep_outs[0].from_ms,
        read.keep_outs[0].until_ms,
    )
    assert out["until_ms"] > out["from_ms"]
    assert json.loads(json.dumps(land)) == land


def test_a_rig_is_carried_with_every_version_that_holds_at_any_time(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        id_ = farm.save_rig(None, farms.CARD, None).id
        wider = {**farms.CARD, "tool": {"width_m": 9}, "from": "2025-05-03T12:00:00Z"}
        farm.save_rig(id_, wider, 1)
        (row,) = farm.pack(farms.SEASON)["rigs"]
    assert row["version"] == 2
    assert row["made_ms"] == farms.NOW_MS
    assert [rig["tool"]["width_m"] for rig in row["chain"]] == [8, 9]
    assert row["chain"][0]["from_ms"] is None
    assert row["chain"][1]["from_ms"] == 1746273600000
    first = {
        k: v for k, v in row["chain"][0].items() if k not in ("tool", "phone", "times", "cart")
    }
    assert set(first) == set(Rig.__dataclass_fields__) - {"tool", "phone", "times", "cart"}
    assert set(row["chain"][0]["tool"]) == set(Tool.__dataclass_fields__)


def test_what_was_put_away_is_not_carried(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        id_ = farms.stocked(farm)
        assert len(farm.pack(farms.SEASON)["paddocks"]) == 1
        farm.put_away(id_)
        assert farm.pack(farms.SEASON)["paddocks"] == []


def test_ground_is_carried_once_it_is_computed(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        id_ = farms.stocked(farm)
        assert farm.pack(farms.SEASON)["ground"] == {}
        farm.take_entries("cab", 1, farms.body(farms.day()))
        farms.computed(farm, id_)
        ground = farm.pack(farms.SEASON)["ground"][id_]
    assert ground["type"] == "FeatureCollection"
    assert {f["properties"]["state"] for f in ground["features"]} >= {"sown", "run"}


@pytest.mark.parametrize("boundary", ["survey", "lap"])
def test_how_a_boundary_came_about_is_carried(tmp_path: Path, boundary: str) -> None:
    given = farms.paddock()
    given["properties"]["boundary"] = boundary
    with farms.farm_in(tmp_path) as farm:
        farm.save_paddock(None, given, None)
        (row,) = farm.pack(farms.SEASON)["paddocks"]
    assert row["land"]["boundary"] == replace(to_paddock(given)).boundary == boundary
