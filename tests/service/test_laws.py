"""Laws of the farm: whatever order things come in, the same day comes out."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import farms
import smallday
from unsown.service.farm import Farm


def morning_and_noon() -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The small day on two phones of one cab: one until the fourth run, one from the third on."""
    ups = [e["seq"] for e in farms.day() if e.get("lever") == "up"]
    one = [e for e in farms.day("one") if e["seq"] <= ups[3]]
    two = [e for e in farms.day("two") if e["seq"] > ups[1]]
    for seq, entry in enumerate(two, 1):
        entry["seq"] = seq
        if entry["kind"] == "fix":
            entry["lon_deg"] += 2e-6  # it lies a little beside the other
    return one, two


def result(farm: Farm, id_: str) -> dict[str, Any]:
    """Everything that is shown of a work, without names that differ from store to store."""
    found = farms.computed(farm, id_)
    return {
        "tally": found["tally"],
        "runs": found["runs"],
        "ground": farm.ground(id_, farms.SEASON),
        "line": farm.timeline(id_, farms.SEASON, farms.DAY),
        "slip": farm.slip(farms.DAY)["paddocks"][0]["today"],
    }


def carried(farm: Farm, devs: list[str]) -> bytes:
    return b"".join(line + b"\n" for dev in devs for line in farms.lines_held(farm, dev).values())


def test_joining_two_stores_either_way_round_gives_the_same_day(tmp_path: Path) -> None:
    one, two = morning_and_noon()
    found = []
    for mine, theirs in ((one, two), (two, one)):
        with farms.farm_in(tmp_path / f"from-{theirs[0]['dev']}") as other:
            other.take_entries(theirs[0]["dev"], 1, farms.body(theirs))
            other.desk_entries([{"t_ms": smallday.START_MS, "kind": "stop", "reason": "rain"}])
            log = carried(other, [theirs[0]["dev"], other.desk])
        with farms.computing(tmp_path / f"to-{mine[0]['dev']}") as farm:
            id_ = farms.stocked(farm)
            farm.take_entries(mine[0]["dev"], 1, farms.body(mine))
            taken = farm.take_file("other.jsonl", log)
            assert taken.kept == len(theirs) + 1
            once = result(farm, id_)
            assert farm.take_file("again.jsonl", log + b"\n").kept == 0
            assert result(farm, id_) == once
            found.append(once)
    assert found[0] == found[1]
    assert found[0]["tally"]["sown_ha"] > 0.8


def test_any_order_and_size_of_uploads_gives_the_same_day(tmp_path: Path) -> None:
    found = []
    for seed in range(3):
        chance = random.Random(seed)
        with farms.computing(tmp_path / str(seed)) as farm:
            id_ = farms.stocked(farm) if seed else ""
            phones = [farms.Phone("one"), farms.Phone("two")]
            for phone, log in zip(phones, morning_and_noon(), strict=True):
                phone.write(log)
            while any(p.told < len(p.log) for p in phones):
                phone = chance.choice(phones)
                back = chance.randint(0, min(30, phone.told))  # some of it twice
                part = phone.log[phone.told - back :][: back + chance.randint(1, 200)]
                if part:
                    phone.told = farm.take_entries(
                        phone.dev, phone.told - back + 1, b"\n".join(part)
                    ).held
            id_ = id_ or farms.stocked(farm)  # the paddock may come after its log
            found.append(result(farm, id_))
            farm._clerk.seal()
            assert result(farm, id_) == found[-1]
    assert found[0] == found[1] == found[2]


def test_dropping_what_is_derived_and_making_it_again_gives_the_same_answers(
    tmp_path: Path,
) -> None:
    with farms.computing(tmp_path) as farm:
        id_ = farms.stocked(farm)
        one, two = morning_and_noon()
        farm.take_entries("one", 1, farms.body(one))
        farm.take_entries("two", 1, farms.body(two))
        up = next(e for e in one if e.get("lever") == "up")
        farm.desk_entries([{"t_ms": 0, "kind": "undo", "of": up["seq"], "of_dev": "one"}])
        before = result(farm, id_), farm.work(id_, farms.SEASON)["head"], farm.season(2025)
        board = farm.board()
        farm.rebuild()
        after = result(farm, id_), farm.work(id_, farms.SEASON)["head"], farm.season(2025)
        assert after == before
        assert farm.board() == board
