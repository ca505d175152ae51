"""Works are computed as entries arrive; what is shown is what the engine finds."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import farms
import smallday
from farms import sown
from unsown.core.day import find
from unsown.formats.boundary import read_paddock
from unsown.formats.report import to_object
from unsown.formats.rig import read_rig
from unsown.formats.track import join, read_track
from unsown.service.farm import Farm
from unsown.service.words import FarmError


@pytest.fixture
def farm(tmp_path: Path):
    with farms.computing(tmp_path) as made:
        yield made


def lift(day: list[dict], number: int = -1) -> dict:
    return [e for e in day if e.get("lever") == "up"][number]


def test_a_work_comes_to_what_the_engine_finds_for_the_day(farm: Farm) -> None:
    found = farms.computed(farm, sown(farm))
    log = join([read_track(farms.body(farms.day()), "day")])
    paddock = read_paddock(json.dumps(farms.paddock()).encode(), "p")
    tally, _ = find(log, paddock, [read_rig(smallday.CARD.encode(), "r")])
    said = to_object(tally, "Small paddock")
    for each in (found["tally"], said):
        each.pop("notes")
    assert found["tally"] == said
    assert found["state"] == "ready"
    assert found["days"] == [farms.DAY]
    assert [r["number"] for r in found["runs"]] == [1, 2, 3, 4, 5, 6]
    assert found["runs"][3]["length_m"] == pytest.approx(140, abs=0.5)
    assert found["rigs"] == [{"id": farm.rigs()[0]["id"], "name": "Small bar", "version": 1}]


def test_the_ground_carries_the_runs_where_the_tool_went(farm: Farm) -> None:
    id_ = sown(farm)
    farms.computed(farm, id_)
    ground = farm.ground(id_, farms.SEASON)
    assert ground is not None
    runs = [f for f in ground["features"] if f["properties"]["state"] == "run"]
    assert [f["properties"]["number"] for f in runs] == [1, 2, 3, 4, 5, 6]
    for number, run in enumerate(runs):
        lon, lat = zip(*run["geometry"]["coordinates"], strict=True)
        _, y = smallday.PLANE.to_xy(lon, lat)
        assert y.tolist() == pytest.approx([8 * number + 4] * len(lat), abs=0.3)
    assert {f["properties"]["state"] for f in ground["features"]} >= {"sown", "bare", "run"}


def test_the_board_tells_the_state_of_each_paddock(farm: Farm) -> None:
    id_ = sown(farm)
    other = farm.save_paddock(None, farms.paddock("Other", north_m=5000), None).id
    farms.computed(farm, id_)
    board = farm.board()
    rows = {p["id"]: p for p in board["paddocks"]}
    assert (board["season"], board["seasons"]) == (2025, [2025])
    assert rows[other]["state"] == "not begun"
    assert rows[other]["sown_ha"] is None
    assert rows[id_]["state"] == "loose ends"
    assert rows[id_]["loose_ends"] == 1
    assert rows[id_]["bare_ha"] == pytest.approx(0.048, abs=0.002)
    assert rows[id_]["last_day"] == farms.DAY


def test_half_a_paddock_is_part_and_a_neighbour_that_was_passed_is_not_begun(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    beside = farm.save_paddock(None, farms.paddock("Beside", north_m=60), None).id
    half = [e for e in farms.day() if e["seq"] <= 300]
    farm.take_entries("cab", 1, farms.body(half))
    assert farms.computed(farm, beside)["state"] == "none"
    assert farms.computed(farm, beside)["reason"]["code"] == "passed-by"
    rows = {p["id"]: p["state"] for p in farm.board()["paddocks"]}
    assert rows == {id_: "part", beside: "not begun"}


def test_two_rigs_in_two_paddocks_at_once_do_not_hear_each_other(farm: Farm) -> None:
    one = farms.stocked(farm)
    farm.take_entries("a", 1, farms.body(farms.day("a")))
    alone = farms.computed(farm, one)
    two = farm.save_paddock(None, farms.paddock("two", north_m=2000), None).id
    there = farms.day("b", north_m=2000, later_ms=7_000)
    farm.take_entries("b", 1, farms.body(there))
    assert farms.computed(farm, one) == alone
    assert farms.computed(farm, two)["tally"]["sown_ha"] == pytest.approx(
        alone["tally"]["sown_ha"], abs=0.005
    )


def test_what_was_computed_stays_shown_while_something_newer_is(farm: Farm) -> None:
    id_ = sown(farm)
    first = farms.computed(farm, id_)
    farm.take_entries("cab", 619, farms.body(farms.fixes("cab", 619, 5)))
    now = farm.work(id_, farms.SEASON)
    assert now["stale"] is True
    assert now["tally"] == first["tally"]
    after = farms.computed(farm, id_)
    assert after["stale"] is False
    assert after["head"] != first["head"]


def test_nothing_is_computed_twice_for_what_changes_nothing(farm: Farm) -> None:
    id_ = sown(farm)
    farms.computed(farm, id_)
    made = farm.work(id_, farms.SEASON)["computed_ms"]
    farm._now.pass_s(60)  # type: ignore[attr-defined]
    farm.take_entries("cab", 1, farms.body(farms.day()))
    farm.save_paddock(None, farms.paddock("elsewhere", north_m=9000), None)
    farms.computed(farm, id_)
    assert farm.work(id_, farms.SEASON)["computed_ms"] == made


def test_a_forgotten_lever_set_right_at_the_desk_counts_and_is_undone_again(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    day = farms.day()
    gone = lift(day, 1)
    kept = [e for e in day if e is not gone]
    for seq, entry in enumerate(kept, 1):
        entry["seq"] = seq
    farm.take_entries("cab", 1, farms.body(kept))
    doubtful = farms.computed(farm, id_)["tally"]
    up = {"t_ms": gone["t_ms"], "kind": "lever", "lever": "up", "how": "afterwards", "paddock": id_}
    (seq,) = farm.desk_entries([up])
    right = farms.computed(farm, id_)["tally"]
    assert right["sown_ha"] == pytest.approx(0.9116, abs=0.002)
    assert doubtful["sown_ha"] < right["sown_ha"] - 0.05 or doubtful["questions"]
    line = farm.timeline(id_, farms.SEASON, farms.DAY)["lever"]
    assert [x["dev"] for x in line if x["t_ms"] == gone["t_ms"]] == [farm.desk]
    farm.desk_entries([{"t_ms": 9, "kind": "undo", "of": seq}])
    assert farms.computed(farm, id_)["tally"] == doubtful
    hidden = farm.timeline(id_, farms.SEASON, farms.DAY)["lever"]
    assert [x["hidden"] for x in hidden if x["t_ms"] == gone["t_ms"]] == [True]


def test_a_try_tells_before_and_after_and_keeps_nothing(farm: Farm) -> None:
    id_ = sown(farm)
    before = farms.evidence(farm)
    last = lift(farms.day())
    job = farm.try_entries(id_, farms.SEASON, [
        {"t_ms": 0, "kind": "undo", "of": last["seq"], "of_dev": "cab"},
        {"t_ms": last["t_ms"] - 30_000, "kind": "lever", "lever": "up", "how": "afterwards"},
    ])  # fmt: skip
    assert farm.finish(farms.WAIT_S)
    found = farm.job(job)
    assert found["state"] == "ready"
    assert found["before"]["sown_ha"] == pytest.approx(0.9116, abs=0.002)
    lost = found["before"]["sown_ha"] - found["after"]["sown_ha"]
    assert lost == pytest.approx(0.048, abs=0.003)  # 30 s at 2 m/s, 8 m wide
    assert set(found["after"]) == {"sown_ha", "bare_ha", "doubt_ha", "twice_ha"}
    assert farms.evidence(farm) == before
    assert farm.work(id_, farms.SEASON)["tally"]["sown_ha"] == found["before"]["sown_ha"]


def test_a_try_of_what_is_no_entry_is_refused_at_once(farm: Farm) -> None:
    id_ = sown(farm)
    for bad in ([], [{"kind": "lever"}], ["x"]):
        with pytest.raises(FarmError) as told:
            farm.try_entries(id_, farms.SEASON, bad)  # type: ignore[arg-type]
        assert told.value.code == "bad-value"


def test_a_try_where_nothing_was_logged_is_told_as_failed(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    job = farm.try_entries(id_, 1999, [{"t_ms": 1, "kind": "stop"}])
    assert farm.finish(farms.WAIT_S)
    assert farm.job(job)["state"] == "failed"
    assert farm.job(job)["reason"]["code"] == "unknown"


def test_without_a_rig_card_the_work_says_so_and_computes_once_there_is_one(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    farm.take_entries("cab", 1, farms.body(farms.day()))
    found = farms.computed(farm, id_)
    assert (found["state"], found["reason"]["code"]) == ("failed", "no-rig")
    assert farm.board()["paddocks"][0]["state"] == "failed"
    farm.save_rig(None, farms.CARD, None)
    assert farms.computed(farm, id_)["state"] == "ready"


def test_what_the_engine_refuses_is_told_with_its_own_words(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    far_apart = farms.day("other", later_ms=1)
    for entry in far_apart:
        if entry["kind"] == "fix":
            entry["lat_deg"] += 150 / 111_230
    farm.take_entries("cab", 1, farms.body(farms.day()))
    farm.take_entries("other", 1, farms.body(far_apart))
    found = farms.computed(farm, id_)
    assert (found["state"], found["reason"]["code"]) == ("failed", "two-rigs")
    assert found["days"] == [farms.DAY]


def test_a_card_named_by_the_phone_is_the_one_that_counts(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.save_rig(None, {**farms.CARD, "name": "Wide bar", "tool": {"width_m": 16}}, None)
    morning = {"v": 1, "dev": "cab", "seq": 1, "t_ms": smallday.START_MS - 3_600_000}
    farm.take_entries("cab", 1, farms.body([{**morning, "kind": "rig", "card": "Small bar"}]))
    farm.take_entries("cab", 2, farms.body(farms.day(first=2)))
    found = farms.computed(farm, id_)
    assert [r["name"] for r in found["rigs"]] == ["Small bar"]
    assert not any("no phone named" in n for n in found["tally"]["notes"])


def test_with_several_cards_and_no_word_the_last_saved_is_taken_and_said(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm._now.pass_s(1)  # type: ignore[attr-defined]
    farm.save_rig(None, {**farms.CARD, "name": "Wide bar", "tool": {"width_m": 16}}, None)
    farm.take_entries("cab", 1, farms.body(farms.day()))
    found = farms.computed(farm, id_)
    assert [r["name"] for r in found["rigs"]] == ["Wide bar"]
    assert any("'Wide bar', was taken" in n for n in found["tally"]["notes"])


def test_a_correction_of_a_card_counts_for_what_was_sown_before(farm: Farm) -> None:
    id_ = sown(farm)
    rig = farm.rigs()[0]
    farms.computed(farm, id_)
    farm.save_rig(rig["id"], {**farms.CARD, "tool": {"width_m": 7}}, 1)
    found = farms.computed(farm, id_)
    assert {r["width_m"] for r in found["runs"]} == {7.0}
    assert found["rigs"][0]["version"] == 2


def test_a_version_that_holds_from_a_time_on_leaves_what_was_before(farm: Farm) -> None:
    id_ = sown(farm)
    rig = farm.rigs()[0]
    later = {**farms.CARD, "from": "2025-05-04T00:00:00Z", "tool": {"width_m": 7}}
    farm.save_rig(rig["id"], later, 1)
    assert {r["width_m"] for r in farms.computed(farm, id_)["runs"]} == {8.0}


def test_the_slip_tells_each_day_what_it_sowed(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    day = farms.day()
    cut = lift(day, 2)["seq"]
    for entry in day:
        if entry["seq"] > cut:
            entry["t_ms"] += 86_400_000
    farm.take_entries("cab", 1, farms.body(day))
    whole = farms.computed(farm, id_)
    assert whole["days"] == ["2025-05-03", "2025-05-04"]
    first, second = (farm.slip(d)["paddocks"][0] for d in whole["days"])
    assert first["tally"] is None  # later days are in it
    assert second["tally"] == whole["tally"]
    assert (first["today"]["runs"], second["today"]["runs"]) == (3, 3)
    total = first["today"]["sown_ha"] + second["today"]["sown_ha"]
    assert total == pytest.approx(whole["tally"]["sown_ha"], rel=0.01)
    assert first["today"]["sown_ha"] == pytest.approx(3 * 200 * 8 / 1e4, rel=0.02)
    assert second["today"]["down_km"] == pytest.approx(0.54, abs=0.002)
    assert first["today"]["phones"] == ["cab"]
    assert farm.slip("2025-05-05") == {"day": "2025-05-05", "paddocks": []}


def test_the_area_is_checked_by_map_by_speed_and_by_seed(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    day = farms.day()
    for entry in day:
        if entry["kind"] == "fix":
            entry["speed_m_s"] = 2.0
    farm.take_entries("cab", 1, farms.body(day))
    check = farms.computed(farm, id_)["area_check"]
    assert check["product_ha"] is None
    assert check["map_ha"] == pytest.approx(0.912, abs=0.002)
    assert check["distance_ha"] == pytest.approx(0.912, abs=0.005)


def test_seed_is_compared_between_two_fills_and_told_for_the_whole(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    day = farms.day()
    wide = farms.CARD | {"tool": {"width_m": 60}}  # so that there is a hectare between the fills
    farm.save_rig(farm.rigs()[0]["id"], wide, 1)
    ups = [e["t_ms"] for e in day if e.get("lever") == "up"]
    fills = [
        {"v": 1, "dev": "cab", "seq": 619 + n, "t_ms": ups[at] + 10_000, "kind": "fill",
         "product": product, "kg": kg, "paddock": id_}
        for n, (at, product, kg) in enumerate(
            [(0, "seed", 3000), (0, "fertiliser", 9), (4, "Seed", 700), (5, "fertiliser", 9)])
    ]  # fmt: skip
    fills[0]["t_ms"] -= 1_800_000  # half an hour earlier: the stops are told apart
    farm.take_entries("cab", 1, farms.body([*day, *fills]))
    assert farms.computed(farm, id_)["area_check"]["product_ha"] is None  # no rate is set
    farm.save_settings({"prices": {"seed_kg_ha": 100}}, 0)
    check = farms.computed(farm, id_)["area_check"]
    assert check["product"]["kg"] == 700
    between_ha = (200 + 199.9 + 199.9 + 140 + 199.9) * 60 / 1e4
    assert check["product"]["ha"] == pytest.approx(between_ha, rel=0.01)
    assert check["product_ha"] == pytest.approx(check["map_ha"] * 7 / between_ha, rel=0.01)


def test_a_time_line_has_no_more_points_than_can_be_seen(farm: Farm) -> None:
    id_ = farms.stocked(farm)
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 9000)))
    farms.computed(farm, id_)
    line = farm.timeline(id_, farms.SEASON, farms.DAY)
    assert len(line["place"]) == 3000
    assert 2800 < len(line["speed"]) <= 3000  # no speed across the line's jumps back
    assert (line["from_ms"], line["to_ms"]) == (smallday.START_MS, smallday.START_MS + 8_999_000)


def test_another_zone_computes_all_anew_and_shows_the_old_till_then(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        id_ = sown(farm)
        before = farms.computed(farm, id_)
    with farms.farm_in(tmp_path) as farm:  # it computes nothing
        farm.save_settings({"zone": "Pacific/Kiritimati"}, 0)
        now = farm.work(id_, farms.SEASON)
        assert (now["stale"], now["tally"]) == (True, before["tally"])
    with farms.computing(tmp_path) as farm:
        after = farms.computed(farm, id_)
        assert after["tally"] == before["tally"]
        assert (before["days"], after["days"]) == (["2025-05-03"], ["2025-05-04"])


def test_a_paddock_put_away_is_not_computed_and_comes_back_as_it_was(farm: Farm) -> None:
    id_ = sown(farm)
    before = farms.computed(farm, id_)
    farm.put_away(id_)
    assert farms.computed(farm, id_)["state"] == "none"
    farm.put_away(id_, back=True)
    assert farms.computed(farm, id_) == before
