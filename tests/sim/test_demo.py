"""The demo farm and the sample days: as described, and readable again."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point

from unsown.core.errors import PaddockError
from unsown.core.plane import area_m2
from unsown.demo import demo_day, field, write
from unsown.demo.farm import fenced
from unsown.demo.samples import SAMPLES, Sample, make
from unsown.demo.write import paddock_text
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig
from unsown.formats.track import read_track

TRACKS = Path(__file__).resolve().parents[2] / "sample_tracks"


@pytest.mark.parametrize(
    ("name", "net_ha"), [("Dry Ladle", 61.4), ("Quillback", 38.2), ("Bent Culvert", 17.9)]
)
def test_the_farms_paddocks_have_the_area_told(name: str, net_ha: float) -> None:
    assert field(name).net.area / 1e4 == pytest.approx(net_ha, abs=0.05)


def test_dry_ladle_has_its_slough_poles_and_pile_well_inside() -> None:
    ladle = field("Dry Ladle")
    kinds = [kind for kind, _ in ladle.holes]
    assert kinds.count("pole") == 4
    assert kinds.count("willow clump") == 2
    areas = {kind: shape.area for kind, shape in ladle.holes}
    assert areas["slough"] == pytest.approx(23_000, rel=0.01)
    assert areas["wet rim"] == pytest.approx(4_000, rel=0.1)
    assert all(ladle.outline.contains(shape) for _, shape in ladle.holes)


@pytest.mark.parametrize("name", ["Dry Ladle", "Quillback", "Bent Culvert"])
def test_every_paddock_of_the_farm_has_its_gate_on_the_fence(name: str) -> None:
    made = field(name)
    text = paddock_text(fenced(made), made.plane)
    read = read_paddock(text.encode(), "paddock.geojson")
    (gate,) = read.gates
    x, y = made.plane.to_xy(np.asarray([gate.lon_deg]), np.asarray([gate.lat_deg]))
    assert made.outline.exterior.distance(Point(float(x[0]), float(y[0]))) < 0.1
    assert gate.name.endswith("gate")


def test_a_paddock_the_farm_does_not_have_is_refused() -> None:
    with pytest.raises(PaddockError, match="Quillback"):
        field("Wet Spoon")


def test_the_demo_day_tells_its_story() -> None:
    made = demo_day(paddock="Bent Culvert")
    kinds = [m.kind for m in made.log.marks]
    assert kinds.count("peg") == 2
    assert kinds.count("fill") == 4
    said = [m.says["lever"] for m in made.log.marks if m.kind == "lever"]
    assert len(said) == 2 * len(made.truth.sowings) - 1
    assert any(a == b for a, b in zip(said, said[1:], strict=False))
    gap = np.diff(made.log.fixes.t_ms).max() / 1000
    assert gap == pytest.approx(160.0, abs=2.0)
    assert any(piece.kind == "back" for piece in made.drive.route.pieces)
    assert any(miss.why == "corner" for miss in made.truth.misses)


def test_a_day_written_down_reads_back_the_same(tmp_path: Path) -> None:
    made = make(SAMPLES[2])
    for track in ("gpx", "jsonl"):
        paths = write(made, tmp_path / track, track=track)
        log = read_track(paths[0].read_bytes(), "track")
        assert np.array_equal(log.fixes.t_ms, made.log.fixes.t_ms)
        assert np.abs(log.fixes.lat_deg - made.log.fixes.lat_deg).max() < 1e-9
        assert [m.says["lever"] for m in log.marks] == [m.says["lever"] for m in made.log.marks]
        paddock = read_paddock(paths[1].read_bytes(), "paddock")
        assert paddock.area is not None
        assert made.paddock.area is not None
        assert area_m2(paddock.area) == pytest.approx(
            area_m2(made.paddock.area),
            rel=3e-4,  # seven decimals are a centimetre
        )
        assert [k.kind for k in paddock.keep_outs] == [k.kind for k in made.paddock.keep_outs]
        assert read_rig(paths[2].read_bytes(), "rig") == made.rig
        truth = json.loads(paths[3].read_text(encoding="utf-8"))
        assert truth["bare_ha"] == pytest.approx(made.truth.bare_m2 / 1e4, abs=1e-5)
        shapes = json.loads(paths[4].read_text(encoding="utf-8"))["features"]
        assert len([f for f in shapes if f["properties"]["state"] == "bare"]) == len(
            made.truth.misses
        )


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.name)
def test_every_sample_stands_complete_and_small_in_its_folder(sample: Sample) -> None:
    folder = TRACKS / sample.name
    files = {path.name: path.stat().st_size for path in folder.iterdir()}
    assert set(files) == {
        f"track.{sample.track}",
        "paddock.geojson",
        "rig.toml",
        "expect.json",
        "README.md",
    }
    assert sum(files.values()) < 300_000
    log = read_track((folder / f"track.{sample.track}").read_bytes(), sample.name)
    assert len(log.fixes) > 500
    assert not log.skipped
    expect = json.loads((folder / "expect.json").read_text(encoding="utf-8"))
    true = expect["true"]
    assert true["sown_ha"] + true["part_ha"] + true["bare_ha"] == pytest.approx(
        true["net_ha"], abs=1e-4
    )


def test_a_sample_can_be_made_again_from_its_seed() -> None:
    sample = SAMPLES[1]
    expect = json.loads((TRACKS / sample.name / "expect.json").read_text(encoding="utf-8"))
    truth = make(sample).truth
    assert truth.bare_m2 / 1e4 == pytest.approx(expect["true"]["bare_ha"], rel=1e-3)
    assert [m.why for m in truth.misses] == [m["why"] for m in expect["misses"]]
