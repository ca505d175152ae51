"""Taps gone wrong, answers, no taps at all: the phone's engine makes of them what home does."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from unsown.core.day import find
from unsown.core.words import Mark, Settings, Tally
from unsown.sim import SimDay, day, hard_taps
from web import days

LOGGED = Settings(settle=False, draws=0)

DAYS: Mapping[str, Mapping[str, Any]] = {
    "taps forgotten, late and doubled": {
        **{"seed": 341, "rig": "demo", "preset": "typical", "area_ha": 7.0},
        **{"missing": 0.1, "late_s": 3.0, "doubled": 0.1},
    },
    "down and up swapped for a while": {
        **{"seed": 342, "rig": "six", "preset": "typical", "area_ha": 6.0},
        **{"inverted_s": 1500.0, "missing": 0.03},
    },
    "two phones in one cab": {
        **{"seed": 343, "rig": "mounted", "preset": "typical", "area_ha": 4.0},
        **{"two_phones": True, "gaps": 2},
    },
}


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return days.bundle(tmp_path_factory.mktemp("engine"))


def same(engine: Path, given: SimDay, settings: Settings) -> Tally:
    """Computes a day with both engines and holds one against the other; what home says."""
    home, _ = find(given.log, given.paddock, [given.rig], settings)
    [phone] = days.computed(engine, [days.written(given.log, given.paddock, given.rig)], settings)
    runs = [(r.number, r.sure, r.rig, r.how) for r in home.runs]
    assert runs == [(r["number"], r["sure"], r["rig"], r["how"]) for r in phone["runs"]]
    for run, other in zip(home.runs, phone["runs"], strict=True):
        for word in ("down_s", "up_s", "on_s", "off_s"):
            assert abs(getattr(run, word) - other[word]) < 0.02, word
    assert [q.kind for q in home.questions] == [q["kind"] for q in phone["questions"]]
    for asked, there in zip(home.questions, phone["questions"], strict=True):
        assert abs(asked.from_ms - there["from_ms"]) <= 20
        assert abs(asked.to_ms - there["to_ms"]) <= 20
        for answer, area in asked.answers.items():
            assert abs(area - there["answers"][answer]) < 1.0
        assert abs(asked.lon_deg - there["lon_deg"]) + abs(asked.lat_deg - there["lat_deg"]) < 1e-6
    for state in days.STATES:
        area = getattr(home.ground, state).area
        assert abs(area - phone["ground_m2"][state]) <= max(0.005 * area, 3.0), state
    assert abs(home.bare_high_ha - phone["bare_high_ha"]) < 0.001
    return home


@pytest.mark.parametrize("name", DAYS)
def test_taps_and_movement_come_to_the_same_on_both(engine: Path, name: str) -> None:
    home = same(engine, day(**DAYS[name]), LOGGED)
    assert ("phones" in name) or home.questions


def test_a_patch_hangs_on_the_same_questions_on_both(engine: Path) -> None:
    given = day(**DAYS["down and up swapped for a while"])
    settings = Settings(draws=20)
    home, _ = find(given.log, given.paddock, [given.rig], settings)
    [phone] = days.computed(engine, [days.written(given.log, given.paddock, given.rig)], settings)
    pairs = [
        (p, other)
        for p, other in zip(home.patches, phone["patches"], strict=True)
        if "sure" not in (p.call, other["call"])  # a few draws more or less: not what is asked here
    ]
    assert all(list(p.asks) == other["asks"] for p, other in pairs)
    assert {asks for p, _ in pairs for asks in p.asks} == {1, 2}
    assert any(not p.asks for p, _ in pairs)
    assert all(not p.asks for p in home.patches if p.call == "sure")


def test_answers_settle_the_same_ground_on_both(engine: Path) -> None:
    given = hard_taps(344, area_ha=9.0, rig="demo", gaps=3)
    asked = same(engine, given, LOGGED).questions
    assert len(asked) >= 4
    last = max(m.seq for m in given.log.marks)
    answers = [
        Mark(
            t_ms=int(given.log.fixes.t_ms[-1]) + i,
            kind="blind" if q.kind == "blind" else "say",
            phone=given.log.fixes.phones[0],
            seq=last + 1 + i,
            says={
                **{"from_ms": q.from_ms, "to_ms": q.to_ms, "about": q.kind},
                "answer": list(q.answers)[i % len(q.answers)],
            },
        )
        for i, q in enumerate(asked)
    ]
    log = replace(given.log, marks=(*given.log.marks, *answers))
    again = same(engine, replace(given, log=log), LOGGED)
    assert len(again.questions) < len(asked)


def test_seed_that_stopped_is_the_same_doubt_and_question_on_both(engine: Path) -> None:
    given = day(345, rig="demo", preset="rtk", area_ha=4.0, size="small")
    start = int(given.log.fixes.t_ms[0])
    middle = int(given.log.fixes.t_ms[len(given.log.fixes) // 2])
    marks = [
        Mark(middle, "flow", seq=9001, says={"flow": "off"}),
        Mark(middle + 60_000, "flow", seq=9002, says={"flow": "on"}),
        Mark(
            start + 1_200_000, "flow", seq=9003, says={"flow": "off", "since_ms": start + 1_100_000}
        ),
    ]
    log = replace(given.log, marks=(*given.log.marks, *marks))
    home = same(engine, replace(given, log=log), LOGGED)
    assert "flow" in [q.kind for q in home.questions]
    assert home.doubt_ha > 0


def test_a_day_with_nothing_tapped_is_guessed_the_same_on_both(engine: Path) -> None:
    given = day(346, rig="demo", preset="typical", area_ha=8.0, no_taps=True)
    home = same(engine, given, replace(LOGGED, runs="guess"))
    assert all(run.how == "guessed" for run in home.runs)
    assert home.bare_high_ha > home.bare_ha


def test_answers_settle_what_was_guessed_the_same_on_both(engine: Path) -> None:
    given = day(346, rig="demo", preset="typical", area_ha=8.0, no_taps=True)
    guess = replace(LOGGED, runs="guess")
    asked = same(engine, given, guess)
    t_ms = int(given.log.fixes.t_ms[0])
    number = max(asked.ways, key=lambda way: way.length_m).run
    longest = next(run for run in asked.runs if run.number == number)
    says = {"from_ms": t_ms + round(1000 * longest.down_s), "answer": "up",
            "to_ms": t_ms + round(1000 * longest.up_s)}  # fmt: skip
    marks = (Mark(t_ms, "say", seq=9001, says=says),)
    home = same(engine, replace(given, log=replace(given.log, marks=marks)), guess)
    assert home.bare_ha > asked.bare_ha + 0.1
