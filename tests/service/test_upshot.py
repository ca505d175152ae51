"""What a work comes to beside its ground: worth, waste, bins and handover, kept and priced."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import farms
import smallday
import thistle
from unsown.core.price import EXAMPLE
from unsown.service import figure
from unsown.service.farm import Farm

PRICES = {"seed_kg_ha": 100, "seed_price_kg": 0.5, "tractor_h": 60, "fuel_l_ha": 5}
DAY_MS = 86_400_000


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Farm, str]]:
    """The small day, with fills, a wire, a peg, a driver; priced in part."""
    with farms.computing(tmp_path_factory.mktemp("farm")) as farm:
        id_ = farms.stocked(farm)
        wide = farms.CARD | {"tool": {"width_m": 8, "overlap_wish_m": 0.2}}
        farm.save_rig(farm.rigs()[0]["id"], wide, 1)
        farm.save_settings({"prices": PRICES, "currency": "C$", "trip_min": 30}, 0)
        farm.take_entries("cab", 1, farms.body([*farms.day(), *extra(id_)]))
        assert farm.finish(farms.WAIT_S)
        yield farm, id_


def extra(id_: str) -> list[dict[str, Any]]:
    day = farms.day()
    ups = [e["t_ms"] for e in day if e.get("lever") == "up"]
    more = [
        {"t_ms": ups[0] + 5_000, "kind": "fill", "product": "Seed", "kg": 500},
        {"t_ms": ups[4] + 5_000, "kind": "fill", "product": "seed", "kg": 66, "same_mark": True},
        {"t_ms": ups[4] + 6_000, "kind": "fill", "product": "lime", "kg": 66},
        {"t_ms": ups[2] + 5_000, "kind": "mark", "what": "wire", "note": "keep-out"},
        {"t_ms": ups[2] + 6_000, "kind": "mark", "what": "stone", "note": "keep-out"},
        {"t_ms": ups[2] + 7_000, "kind": "mark", "what": "strain", "note": "22 deg, 3 s"},
        {"t_ms": ups[3] + 5_000, "kind": "peg", "name": "gate", "lat_deg": 49.73,
         "lon_deg": -106.21, "n": 30},
        {"t_ms": ups[0] + 6_000, "kind": "shift", "shift": "start", "driver": "morning"},
        {"t_ms": ups[5] + 1_000, "kind": "stop", "reason": "rain"},
    ]  # fmt: skip
    first = len(day) + 1
    return [
        {"v": 1, "dev": "cab", "seq": first + n, "paddock": id_, **entry}
        for n, entry in enumerate(more)
    ]


def work(made: tuple[Farm, str]) -> dict[str, Any]:
    farm, id_ = made
    return farm.work(id_, farms.SEASON)


def test_the_waste_is_priced_at_what_the_farm_pays_and_examples_are_named(
    made: tuple[Farm, str],
) -> None:
    waste = work(made)["waste"]
    assert waste["currency"] == "C$"
    assert "seed_kg_ha" not in waste["examples"]
    assert "grain_price_t" in waste["examples"]
    found = waste["cost"]["again"]
    ha, pace = waste["again_ha"], waste["pace_ha_h"]
    assert found["ha"] == pytest.approx(ha, abs=0.006)
    assert found["seed_kg"] == pytest.approx(100 * ha, abs=0.006)
    assert found["hours"] == pytest.approx(ha / pace, abs=0.006)
    fert = EXAMPLE.fert_kg_ha * EXAMPLE.fert_price_kg
    each = 100 * 0.5 + fert + 5 * EXAMPLE.fuel_price_l + 60 / pace
    assert found["money"] == pytest.approx(ha * each, abs=0.006)


def test_causes_and_what_is_not_explained_add_up_to_the_headline(made: tuple[Farm, str]) -> None:
    waste = work(made)["waste"]
    total = sum(waste["causes"].values()) + waste["unexplained_ha"]
    assert total == pytest.approx(waste["again_ha"], abs=1e-4)


def test_the_missed_end_is_worth_going_back_for_and_not_a_trip_of_its_own(
    made: tuple[Farm, str],
) -> None:
    worth = work(made)["worth"]
    assert worth["trip_s"] == 1800
    (group,) = worth["now"]["groups"]
    assert (group["patches"], group["label"]) == ([1], "worth it")
    bare_ha = 2.4 * 330 - 100 * 0.5 - 105 * 0.88 + 150
    reached_m2 = 480 - group["left_m2"]  # the run ends where there is room to turn
    assert 350 < reached_m2 <= 480
    assert group["value"] == pytest.approx(reached_m2 / 1e4 * bare_ha, rel=0.03)
    assert group["net"] == pytest.approx(group["value"] - group["cost"], abs=0.02)
    assert worth["later"]["net"] == pytest.approx(
        sum(g["net"] for g in worth["later"]["groups"]) - 30.0, abs=0.05
    )
    assert worth["now"]["sentences"][0].startswith("1. Patch 1: ")
    assert "yours to judge" in worth["caution"]


def test_bins_are_counted_by_product_with_the_farm_s_own_rate_only(
    made: tuple[Farm, str],
) -> None:
    seed, lime = work(made)["bins"]
    assert (seed["product"], seed["card"], seed["unit"]) == ("seed", 100.0, "kg")
    assert (lime["product"], lime["card"], lime["now"]) == ("lime", None, None)
    first, second = seed["fills"]
    assert first["level"] == 500.0
    between = (200 + 200 + 140 + 200) * 8 / 1e4
    assert second["seeded_ha"] == pytest.approx(between, rel=0.01)
    assert second["used"] == 66.0
    assert second["rate"] == pytest.approx(66 / between, rel=0.01)
    assert seed["round_m"] == pytest.approx(400, rel=0.01)
    assert seed["now"]["kg"] == pytest.approx(500 - seed["rate"] * 0.16, abs=0.5)


def test_the_handover_says_what_was_logged_and_marked_today(made: tuple[Farm, str]) -> None:
    h = work(made)["handover"]
    assert (h["hazards"], h["outs"], h["pegs"]) == (["wire"], ["stone"], ["gate"])
    assert h["driver"] == "morning"
    assert h["machine"] == ["Small bar", "tines dragged sideways 1 time today", "stopped: rain"]
    assert h["stopped"]["going"] == "west"
    assert [a["product"] for a in h["aboard"]] == ["seed"]
    assert h["steps"][0]["todo"] == "go back"
    assert h["spoken"] <= 60
    assert "New hazard: wire." in h["script"]
    assert dict(h["lines"])["Who"].startswith("morning to ____")


def test_words_follow_the_farm_s_units_and_clock_without_computing_anew(
    tmp_path: Path,
) -> None:
    with farms.computing(tmp_path / "a") as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        before = farms.computed(farm, id_)
        farm.save_settings({"units": "ac"}, 0)
        after = farm.work(id_, farms.SEASON)
        assert after["head"] == before["head"]
        assert " ac" in after["handover"]["script"].replace("acres", " ac")
        assert "hectares" not in after["handover"]["script"]
        assert before["handover"]["lines"] != after["handover"]["lines"]


def test_a_day_has_its_own_part_of_the_waste_and_the_days_add_up(tmp_path: Path) -> None:
    with farms.computing(tmp_path / "a") as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        again = farms.day("next", later_ms=DAY_MS, north_m=2.0)  # nearly all over again
        farm.take_file("next.jsonl", farms.body(again))
        whole = farms.computed(farm, id_)["waste"]
        days = ("2025-05-03", "2025-05-04")
        slips = [farm.slip(day)["paddocks"][0]["waste"] for day in days]
        assert sum(s["again_ha"] for s in slips) == pytest.approx(whole["again_ha"], abs=1e-3)
        assert slips[1]["again_ha"] > 5 * slips[0]["again_ha"]
        for name, ha in whole["causes"].items():
            assert sum(s["causes"][name] for s in slips) == pytest.approx(ha, abs=1e-3)


def test_a_season_adds_its_paddocks_up_and_orders_by_the_farm_s_own_overlap(
    made: tuple[Farm, str],
) -> None:
    farm, _ = made
    season, mine = farm.season(farms.SEASON), work(made)["waste"]
    assert season["waste"]["again_ha"] == pytest.approx(mine["again_ha"], abs=1e-4)
    assert season["waste"]["cost"]["again"]["money"] == pytest.approx(
        mine["cost"]["again"]["money"], abs=0.05
    )
    order = season["order"]
    assert order["net_ha"] == pytest.approx(0.96, abs=0.01)
    share = season["waste"]["share"]
    seed = order["needs"][0]
    assert seed["amount"] == pytest.approx(0.96 * (1 + share) * 100, rel=0.01)
    assert order["unknown"] == ["fertiliser"]  # its rate was never set


def test_a_try_is_compared_by_ground_alone(made: tuple[Farm, str]) -> None:
    farm, id_ = made
    entry = {"t_ms": smallday.START_MS + 1000, "kind": "lever", "lever": "down"}
    job = farm.try_entries(id_, farms.SEASON, [entry])
    assert farm.finish(farms.WAIT_S)
    assert farm.job(job)["state"] == "ready"


def test_an_empty_season_orders_nothing(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        season = farm.season(2025)
        assert (season["waste"], season["order"]) == (None, None)


def test_a_defect_in_it_costs_no_ground_and_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*given: object) -> dict[str, Any]:
        raise ZeroDivisionError("of our own making")

    monkeypatch.setattr(figure, "upshot", broken)
    with farms.computing(tmp_path) as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        found = farms.computed(farm, id_)
        assert found["state"] == "ready"
        assert found["tally"]["sown_ha"] > 0.9
        (note,) = [n for n in found["tally"]["notes"] if "a defect in the program" in n]
        assert "ZeroDivisionError: of our own making" in note
        assert [found[k] for k in ("worth", "waste", "bins", "handover")] == [None] * 4
        assert farm.slip(farms.DAY)["paddocks"][0]["waste"] is None
        assert farm.season(farms.SEASON)["waste"] is None


def test_whether_seed_lasts_for_the_way_back_is_told(made: tuple[Farm, str]) -> None:
    (seed,) = work(made)["worth"]["now"]["lasting"]
    assert (seed["product"], seed["word"], seed["stop"]) == ("seed", "enough", None)
    way = sum(s["run"]["length_m"] for s in work(made)["worth"]["now"]["stops"])
    assert seed["metered_ha"] == pytest.approx(way * 8 / 1e4, abs=1e-3)


def test_the_hours_of_the_small_day_are_sowing_and_turning(made: tuple[Farm, str]) -> None:
    hours = work(made)["hours"]
    # six runs of 100 s at 2 m/s, one of them begun 70 s later, and five turns of 20 s
    assert hours["sowing_h"] == pytest.approx(570 / 3600, rel=0.05)
    assert hours["field_h"] == pytest.approx((6 * 100 + 5 * 21) / 3600, rel=0.03)
    assert hours["theoretical_ha_h"] == pytest.approx(2.0 * 3.6 * 8 / 10, rel=0.03)
    assert hours["efficiency"] + sum(hours["lost"].values()) == pytest.approx(1.0, abs=1e-3)
    assert hours["rest_h"] is None
    assert hours["rest_spread_h"] is None


def test_what_was_drawn_at_the_desk_on_the_last_day_is_handed_over_too(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        farm.save_rig(None, farms.CARD, None)
        plain = {"type": "FeatureCollection", "features": [farms.paddock("Small")]}
        id_ = farm.save_paddock(None, plain, None).id
        farm.take_entries("cab", 1, farms.body(farms.day()))
        assert farms.computed(farm, id_)["handover"]["hazards"] == []
        farm.save_paddock(id_, thistle.shape(), 1)  # with a pole, called a hazard
        h = farms.computed(farm, id_)["handover"]
        assert (h["hazards"], h["outs"]) == (["pole"], [])
        assert "New hazard: pole." in h["script"]
