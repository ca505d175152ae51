"""Gates of a paddock: points in its file."""

from __future__ import annotations

import json
from typing import Any

import pytest

import smallday
from unsown.core.errors import PaddockError
from unsown.core.words import Gate, Paddock
from unsown.formats.boundary import read_paddock
from unsown.formats.outline import collection

GATE = {
    "type": "Feature",
    "properties": {"kind": "gate", "name": "Mill road"},
    "geometry": {"type": "Point", "coordinates": [-106.2072307, 49.73]},
}


def with_gates(*features: dict[str, Any]) -> Paddock:
    fence = json.loads(smallday.paddock())
    return read_paddock(
        json.dumps({"type": "FeatureCollection", "features": [fence, *features]}).encode(), "p"
    )


def test_a_point_of_kind_gate_is_a_gate_and_is_written_as_one() -> None:
    found = with_gates(GATE)
    assert found.gates == (Gate(-106.2072307, 49.73, "Mill road"),)
    assert collection(found)["features"][-1] == GATE
    assert read_paddock(json.dumps(collection(found)).encode(), "p").gates == found.gates
    assert found.notes == ()


def test_a_gate_far_from_the_fence_is_left_out_and_said() -> None:
    far = {**GATE, "geometry": {"type": "Point", "coordinates": [-106.2, 49.73]}}
    found = with_gates(GATE, far)
    assert len(found.gates) == 1
    assert "left out: 1 gates more than 100 m from the fence" in found.notes


def test_other_points_are_left_out_and_a_gate_without_a_place_is_refused() -> None:
    tree = {**GATE, "properties": {"kind": "tree"}}
    assert with_gates(tree).notes == ("left out: 1 points",)
    bad: Any
    for bad in ([], ["x", 1], [200, 10], [1], None, [True, False]):
        with pytest.raises(PaddockError, match="longitude and latitude were expected"):
            with_gates({**GATE, "geometry": {"type": "Point", "coordinates": bad}})
