"""Two rigs in one paddock at once, at home: each phone named its card, and both count."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

import farms
import pairs
from drives import START_MS
from outfitted import lines, stocked


def work(folder: Path, phones: str, *, named: bool = True) -> dict[str, Any]:
    with farms.computing(folder) as farm:
        return farms.computed(farm, *stocked(farm, phones, named=named))


def test_both_rigs_count_whichever_comes_home_first(tmp_path: Path) -> None:
    one, other = work(tmp_path / "ab", "ab"), work(tmp_path / "ba", "ba")
    assert one["state"] == "ready"
    assert [(r["name"], r["phones"]) for r in one["tally"]["rigs"]] == [
        ("big", ["a"]), ("small", ["b"]),
    ]  # fmt: skip
    swept = pairs.ROWS * pairs.LONG_M * (8.4 + 6.0) / 1e4
    assert one["tally"]["swept_ha"] == pytest.approx(swept, rel=1e-3)
    assert one["tally"] == other["tally"]


def test_rigs_that_named_no_card_are_refused_with_what_to_do(tmp_path: Path) -> None:
    found = work(tmp_path, "ab", named=False)
    assert found["state"] == "failed"
    assert found["reason"]["code"] == "two-rigs"
    assert "which card" in found["reason"]["hint"]


def test_a_question_names_its_phone_and_its_answer_counts_for_that_rig_alone(
    tmp_path: Path,
) -> None:
    with farms.computing(tmp_path) as farm:
        which = stocked(farm, "a", forgotten=None)
        farm.take_entries("b", 1, lines("b", forgotten=5))  # the third lift of ten
        before = farms.computed(farm, *which)["tally"]
        (asked,) = before["questions"]
        assert asked["phone"] == "b"
        says = {k: asked[k] for k in ("from_ms", "to_ms")}
        entry = {"kind": "say", "t_ms": asked["to_ms"], **says, "answer": "up",
                 "about": asked["kind"], "paddock": which[0]}  # fmt: skip
        farm.desk_entries([{**entry, "of_dev": "a"}])
        other = farms.computed(farm, *which)["tally"]
        assert [q["phone"] for q in other["questions"]] == ["b"]
        farm.desk_entries([{**entry, "of_dev": "b"}])
        after = farms.computed(farm, *which)["tally"]
        assert after["questions"] == []
        assert after["rigs"][0] == other["rigs"][0]


def lever(word: str, t_ms: int, paddock: str, **more: Any) -> dict[str, Any]:
    """A change of the lever that is set at the desk."""
    return {"kind": "lever", "t_ms": t_ms, "lever": word, "how": "afterwards", "paddock": paddock,
            **more}  # fmt: skip


def test_a_lever_added_on_a_rigs_own_time_line_counts_for_that_rig_alone(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        which = stocked(farm, "a")
        farm.take_entries("b", 1, lines("b", forgotten=5))  # the third lift of ten
        before = farms.computed(farm, *which)["tally"]
        [day] = farm.work(*which)["days"]
        line = farm.timeline(*which, day)
        assert [(r["name"], r["phones"]) for r in line["rigs"]] == [
            ("big", ["a"]),
            ("small", ["b"]),
        ]
        big, small = line["rigs"]
        assert {t["dev"] for t in big["lever"]} == {"a"}
        assert {t["dev"] for t in small["lever"]} == {"b"}
        assert len(big["lever"]) + len(small["lever"]) == len(line["lever"])
        assert {q["phone"] for q in small["questions"]} == {"b"}
        assert not big["questions"]
        assert len(big["runs"]) == pairs.ROWS
        log = pairs.both()
        third = [m for m in log.marks if m.phone == "b"][5]
        farm.desk_entries([lever("up", third.t_ms, which[0], of_dev="b")])
        after = farms.computed(farm, *which)["tally"]
        assert after["rigs"][0] == before["rigs"][0]
        assert (len(before["questions"]), after["questions"]) == (1, [])
        small = farm.timeline(*which, day)["rigs"][1]
        [mine] = [t for t in small["lever"] if t["dev"] != "b"]
        assert (mine["t_ms"], mine["of_dev"]) == (third.t_ms, "b")


def test_a_lever_that_names_no_rig_counts_for_the_one_whose_track_it_is(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        which = stocked(farm, "b", forgotten=15)  # the lift of its eighth row
        whole = lines("a").splitlines(keepends=True)
        farm.take_entries("a", 1, b"".join(whole[: len(whole) // 2]))  # it went home at noon
        before = farms.computed(farm, *which)["tally"]
        eighth = [m for m in pairs.both().marks if m.phone == "b"][15]
        farm.desk_entries([lever("up", eighth.t_ms, which[0])])
        after = farms.computed(farm, *which)["tally"]
        assert not any("do not say" in note for note in after["notes"])
        assert after["rigs"][0] == before["rigs"][0]
        assert [q["phone"] for q in before["questions"]] == ["b"]
        assert after["questions"] == []
        farm.desk_entries([lever("up", START_MS + 200_000, which[0])])  # both were out then
        both = farms.computed(farm, *which)["tally"]
        assert any("do not say which phone's rig" in note for note in both["notes"])
        assert both["rigs"] == after["rigs"]


def test_bins_hours_and_where_it_stopped_are_those_of_the_rig_that_worked_last(
    tmp_path: Path,
) -> None:
    log = pairs.both()
    last = {p: max(m.t_ms for m in log.marks if m.phone == p) for p in "ab"}
    (first, later) = sorted("ab", key=lambda p: last[p])
    with farms.computing(tmp_path) as farm:
        which = stocked(farm, "ab")
        both = farms.computed(farm, *which)
        assert both["bins"] == []
        begun = {"t_ms": START_MS + 1000, "kind": "fill", "product": "seed", "paddock": which[0]}
        farm.desk_entries([{**begun, "kg": 900.0, "of_dev": first}])
        assert farms.computed(farm, *which)["bins"] == []  # the other rig's cart
        farm.desk_entries([{**begun, "kg": 400.0, "of_dev": later}])
        found = farms.computed(farm, *which)
    [bin_] = found["bins"]
    assert [f["amount"] for f in bin_["fills"]] == [400.0]
    shares = {s["phones"][0]: s for s in found["tally"]["rigs"]}
    assert found["rig"] == shares[later]["name"]
    assert found["handover"]["machine"][0] == shares[later]["name"]
    assert found["handover"]["sown_ha"] == pytest.approx(found["tally"]["sown_ha"], abs=0.01)
    assert found["hours"]["pace_ha_h"] == pytest.approx(both["hours"]["pace_ha_h"], rel=0.01)
    stopped = found["handover"]["stopped"]["t_ms"]
    assert abs(stopped - last[later]) < 20_000


def test_a_work_of_one_rig_names_none(tmp_path: Path) -> None:
    assert work(tmp_path, "a")["rig"] is None
