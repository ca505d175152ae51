"""Days on which nobody touched the lever's pad: guessed from the movement, settled by answers."""

from __future__ import annotations

from pathlib import Path

import pytest

import farms
import smallday
from unsown.service.farm import Farm


@pytest.fixture
def farm(tmp_path: Path):
    with farms.computing(tmp_path) as made:
        yield made


def untapped() -> list[dict]:
    """The small day of somebody who never touched the lever's pad."""
    kept = [e for e in farms.day() if e["kind"] != "lever"]
    return [{**entry, "seq": seq} for seq, entry in enumerate(kept, 1)]


def test_a_day_without_one_lever_tap_is_computed_from_the_movement_and_says_so(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.take_entries("cab", 1, farms.body(untapped()))
    found = farms.computed(farm, id_)
    assert (found["state"], found["reason"]) == ("ready", None)
    assert any("guessed from the movement" in note for note in found["tally"]["notes"])
    assert {run["how"] for run in found["runs"]} == {"guessed"}
    assert found["tally"]["sown_ha"] == pytest.approx(0.96, abs=0.01)
    # the tool may have been up all the while: no number hides that
    assert found["tally"]["bare_high_ha"] > 0.9
    assert farm.slip(farms.DAY)["paddocks"][0]["today"]["runs"] == len(found["runs"])


def test_answers_settle_what_was_guessed_from_the_movement(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.take_entries("cab", 1, farms.body(untapped()))
    asked = farms.computed(farm, id_)["tally"]["questions"]
    assert len(asked) == 5
    first = asked[0]
    said = {"t_ms": first["from_ms"], "kind": first["kind"], "from_ms": first["from_ms"],
            "to_ms": first["to_ms"], "answer": "up"}  # fmt: skip
    farm.desk_entries([said])
    after = farms.computed(farm, id_)["tally"]
    assert [q["from_ms"] for q in after["questions"]] == [q["from_ms"] for q in asked[1:]]
    fourth = smallday.START_MS + 1000 * 3 * 121
    lifted = {"t_ms": fourth, "kind": "say", "from_ms": fourth, "to_ms": fourth + 100_000,
              "answer": "up"}  # fmt: skip
    farm.desk_entries([lifted])
    found = farms.computed(farm, id_)["tally"]
    assert after["sown_ha"] - found["sown_ha"] == pytest.approx(8 * 200 / 1e4, abs=0.03)
    assert found["bare_ha"] > after["bare_ha"] + 0.1


def test_one_change_set_on_the_time_line_makes_the_changes_count_again(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.take_entries("cab", 1, farms.body(untapped()))
    farms.computed(farm, id_)
    levers = [{k: v for k, v in e.items() if k not in ("v", "dev", "seq")} | {"how": "afterwards"}
              for e in farms.day() if e["kind"] == "lever"]  # fmt: skip
    farm.desk_entries(levers)
    found = farms.computed(farm, id_)
    assert not any("guessed" in note for note in found["tally"]["notes"])
    assert [run["how"] for run in found["runs"]] == ["tapped"] * 6


def test_a_drive_through_without_a_tap_may_all_be_bare_and_its_band_says_so(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 90)))
    found = farms.computed(farm, id_)
    assert any("guessed from the movement" in note for note in found["tally"]["notes"])
    # all of it may be bare, and the time line is there to say so
    assert found["tally"]["bare_high_ha"] == pytest.approx(0.96, abs=0.01)
    line = farm.timeline(id_, farms.SEASON, farms.DAY)
    assert (len(line["place"]), line["lever"]) == (90, [])
