"""Hard situations on the phone: the day counted there, by the phone's own engine.

What home says of each stands in tests/core, what the pad does in tests/web/cab and tests/browser.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import Polygon, box

from drives import (
    PLAIN,
    PLANE,
    RIGID,
    START_MS,
    WHOLE,
    Drive,
    Step,
    down,
    drive,
    fixes,
    marks,
    paddock,
    picked,
    stand,
    straight,
    up,
)
from hard import LOOP_M, loop, moved, ms, noisy, rows, spliced
from unsown.core.words import Fixes, KeepOut, Log, Mark, Paddock, Rig, Settings, Tool
from unsown.sim import SimDay, day
from web import days

WIDE = replace(RIGID, tool=Tool(8.4))
LONG = drive(rows(6, 620.0, 8.1))
ROWS = paddock(box(0.0, -4.2, 620.0, 44.7))
LANE = paddock(box(0, -4, 800, 4))
#: What two neighbours leave of a strip, m.
STRIP_M = 8.4 - 2 * 0.3

Counted = Callable[..., days.Row]


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return days.bundle(tmp_path_factory.mktemp("engine"))


@pytest.fixture
def counted(engine: Path) -> Counted:
    """Counts a log on the phone; what is asked is found as rows."""

    def count(given: Log, where: Paddock, rig: Rig, settings: Settings = PLAIN) -> days.Row:
        [row] = days.computed(engine, [days.written(given, where, rig)], settings)
        parts = sum(row[f"{s}_ha"] for s in ("sown", "part", "bare", "doubt", "unreachable"))
        assert abs(parts - row["net_ha"]) < 1e-4
        return row

    return count


def told(given: Log, row: days.Row, word: str) -> Log:
    """The log with one answer to everything that was asked."""
    said = tuple(
        Mark(
            q["to_ms"],
            "blind" if q["kind"] == "blind" else "say",
            "phone",
            900 + i,
            {**{k: q[k] for k in ("from_ms", "to_ms")}, "answer": word, "about": q["kind"]},
        )
        for i, q in enumerate(row["questions"])
    )
    return replace(given, marks=(*given.marks, *said))


def tapped(levers: list[tuple[float, str]]) -> Log:
    return Log(noisy(fixes(LONG), 1), marks(levers))


def m2(row: days.Row, state: str) -> float:
    return row[f"{state}_ha"] * 1e4


def test_situation_02_a_down_forgotten_for_620_m_is_doubt_and_one_question(
    counted: Counted,
) -> None:
    whole = counted(tapped(list(LONG.levers)), ROWS, WIDE)
    given = tapped([tap for i, tap in enumerate(LONG.levers) if i != 6])
    found = counted(given, ROWS, WIDE)
    assert [q["kind"] for q in found["questions"]] == ["forgotten-down"]
    assert_allclose(m2(found, "doubt"), 620 * STRIP_M, rtol=0.03)
    assert m2(found, "bare") < 200
    yes = counted(told(given, found, "down"), ROWS, WIDE)
    assert yes["questions"] == []
    assert_allclose(yes["sown_ha"], whole["sown_ha"], atol=0.02)


def test_situation_03_taps_out_of_phase_are_one_question_and_never_swapped_silently(
    counted: Counted,
) -> None:
    taps = list(LONG.levers)
    whole = counted(tapped(taps), ROWS, WIDE)
    wrong = [(t, "up" if word == "down" else "down") for t, word in taps[6:9]]
    given = tapped([*taps[:5], *wrong, *taps[9:]])
    found = counted(given, ROWS, WIDE)
    assert [q["kind"] for q in found["questions"]] == ["inverted"]
    assert m2(found, "doubt") > 1.8 * 620 * STRIP_M
    mended = counted(told(given, found, "swapped"), ROWS, WIDE)
    assert mended["questions"] == []
    assert_allclose(mended["sown_ha"], whole["sown_ha"], atol=0.02)


def test_situation_04_a_call_of_160_s_is_asked_about_and_down_all_the_way_bridges_it(
    counted: Counted,
) -> None:
    run = drive([*down(), *straight(800), *up()], speed=2.083)
    seen = np.flatnonzero((run.t_s < 120) | (run.t_s > 280))
    given = Log(picked(noisy(fixes(run), 2), seen), marks(run.levers))
    found = counted(given, LANE, RIGID)
    (asked,) = found["questions"]
    assert asked["kind"] == "blind"
    assert_allclose((asked["to_ms"] - asked["from_ms"]) / 1000, 161, atol=2)
    hole = 161 * 2.083 * 8
    assert_allclose(m2(found, "doubt"), hole, rtol=0.03)
    for word, sown, doubt in (("down", 6400, 0), ("up", 6400 - hole, 0), ("unsure", 0, hole)):
        after = counted(told(given, found, word), LANE, RIGID)
        assert after["questions"] == []
        assert_allclose(m2(after, "doubt"), doubt, atol=90)
        if sown:
            assert_allclose(m2(after, "sown"), sown, atol=90)


def test_situation_05_45_minutes_at_the_truck_add_nothing(counted: Counted) -> None:
    stood = drive([*down(), *straight(400), *stand(2700), *straight(400), *up()])
    at = np.linspace(0, 1, 2696)
    east, north = np.zeros((2, len(stood.t_s)))
    still = (stood.t_s > 202) & (stood.t_s < 202 + 2697)
    # seven metres from one side to the other, and back to where it began
    east[still] = 3.5 * np.sin(2 * np.pi * at)
    north[still] = 3.5 * np.sin(4 * np.pi * at)
    through = drive([*down(), *straight(800), *up()])
    row = counted(Log(moved(noisy(fixes(stood), 1), east, north), marks(stood.levers)), LANE, RIGID)
    plain = counted(Log(noisy(fixes(through), 1), marks(through.levers)), LANE, RIGID)
    assert_allclose(m2(row, "sown"), m2(plain, "sown"), atol=24)
    assert_allclose(1000 * row["down_km"], 800, atol=3)
    assert m2(row, "twice") < 30


def walked(speed: float) -> Drive:
    """Out of the cab, round the tool behind it, and back."""
    way = [(200, 0), (198, 3), (192, 5), (188, 4), (186, 0), (188, -4), (192, -5), (191, 3)]
    corners = np.array([*way, (200, 0)], dtype=float)
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(corners, axis=0).T))]
    t = np.arange(0.0, along[-1] / speed)
    x, y = (np.interp(t * speed, along, a) for a in corners.T)
    return Drive(t, x, y, np.arctan2(np.gradient(y), np.gradient(x)), np.full(len(t), speed), ())


def test_situation_06_the_phone_walked_to_the_tool_sows_nothing_with_the_lever_down(
    counted: Counted,
) -> None:
    first = drive([*down(), *straight(200), *stand(25)])
    last = drive([*stand(25), *straight(200), *up()], at=(200.0, 0.0, 0.0))
    where = paddock(box(0, -60, 400, 60))
    there, here = (
        counted(Log(noisy(fixes(d), 3), marks(d.levers)), where, WHOLE)
        for d in (spliced(first, walked(1.2), last), spliced(first, last))
    )
    assert there["dropped"]["the phone left the cab"] > 20
    assert there["questions"] == []
    assert_allclose(m2(there, "sown"), m2(here, "sown"), atol=25)


def shifted(made: SimDay, east_m: float = 3.0) -> Log:
    """All that was logged on the second day moved east, peg checks too."""
    f = made.log.fixes
    night = int(f.t_ms.min()) + 10 * 3_600_000
    by = east_m / (111_410 * np.cos(np.radians(made.plane.lat0_deg)))
    told = tuple(
        replace(m, says={**m.says, "lon_deg": m.says["lon_deg"] + by})
        if m.kind == "peg" and m.t_ms > night
        else m
        for m in made.log.marks
    )
    lon = np.where(f.t_ms > night, f.lon_deg + by, f.lon_deg)
    return replace(made.log, fixes=replace(f, lon_deg=lon), marks=told)


def test_situation_07_a_second_day_three_metres_east_opens_no_seam(counted: Counted) -> None:
    calm = {"wanders": 0, "gross": 0, "halts": 0, "creeps": 0, "backs": 0, "keep_outs": 0}
    made = day(73, preset="good", area_ha=8.0, rig="demo", shape="quad", two_days=0.55, **calm)
    for pegs in (True, False):
        now = made.logged(pegs=pegs)
        row = counted(shifted(now), now.paddock, now.rig, Settings(draws=30))
        near = now.truth.bare.buffer(0.3)
        for patch in row["patches"]:
            ring = Polygon(np.reshape(patch["outline"][0], (-1, 2)))
            real = ring.intersection(near).area > 0.5 * patch["area_m2"]
            assert patch["call"] == "can't tell" or patch["length_m"] <= 60 or real
        assert_allclose(m2(row, "sown"), now.truth.sown_m2, rtol=0.02)
        assert_allclose(m2(row, "bare"), now.truth.bare_m2, rtol=0.4)


def test_situation_08_seed_gone_for_86_s_before_the_alarm(counted: Counted) -> None:
    run = drive([*down(), *straight(800), *up()], speed=2.083)
    stop = Mark(ms(300), "flow", "phone", 90, {"flow": "off", "since_ms": ms(300 - 86)})
    row = counted(Log(noisy(fixes(run), 2), (*marks(run.levers), stop)), LANE, RIGID)
    begun, slack = (300 - 86) * 2.083, 60.0
    assert_allclose(m2(row, "sown"), (begun - slack) * 8, rtol=0.03)
    assert_allclose(m2(row, "doubt"), 2 * slack * 8, rtol=0.06)
    assert_allclose(m2(row, "bare"), (800 - begun - slack) * 8, rtol=0.03)


def joined(first: Fixes, second: Fixes) -> Fixes:
    """Fixes of two phones, the second later."""
    names = [n for n in first.__dataclass_fields__ if n != "phones"]
    late = replace(second, phone=second.phone + 1)
    both = {n: np.concatenate([getattr(first, n), getattr(late, n)]) for n in names}
    return Fixes(**both, phones=(*first.phones, *second.phones))


def test_situation_12_a_wet_patch_left_out_on_monday_is_bare_on_friday(counted: Counted) -> None:
    wet = box(237.5, 8, 500, 24)  # 0.42 ha, before which two runs turn back
    parts: list[Step] = []
    for run in range(5):
        parts += [*down(), *straight(237.5 if run in (2, 3) else 500), *up()]
        parts += loop(8.0, run % 2 == 0) if run < 4 else []
    monday = drive(parts, at=(0.0, -4.0, 0.0))
    friday = drive(straight(120), at=(50.0, 40.0, 0.0))
    late = fixes(friday, phone="other")
    late = replace(late, t_ms=late.t_ms + 4 * 86_400_000)
    soft = KeepOut(
        "wet",
        paddock(wet).area,
        name="low spot",
        from_ms=START_MS - 86_400_000,
        until_ms=START_MS + 2 * 86_400_000,
    )
    where = replace(paddock(box(0, -8, 500, 32)), keep_outs=(soft,))
    then = counted(Log(fixes(monday), marks(monday.levers)), where, RIGID)
    assert_allclose(m2(then, "keep_out"), 4200, rtol=0.01)
    assert m2(then, "bare") < 100
    again = joined(fixes(monday), late)
    now = counted(Log(again, marks(monday.levers)), where, RIGID)
    assert now["keep_out_ha"] == 0
    assert_allclose(m2(now, "bare"), 4200, rtol=0.03)
    (patch,) = [p for p in now["patches"] if p["area_m2"] > 1000]
    assert_allclose(PLANE.to_xy([patch["lon_deg"]], [patch["lat_deg"]])[1][0], 16, atol=8)


def test_situation_15_straights_at_one_fix_in_six_seconds_count_within_one_percent(
    counted: Counted,
) -> None:
    run = drive([*straight(40), *down(), *straight(800), *up(), *straight(40)], at=(-40.0, 0, 0))
    seldom = picked(noisy(fixes(run), 3), np.arange(0, len(run.t_s), 6))
    row = counted(Log(seldom, marks(run.levers)), LANE, RIGID)
    assert_allclose(m2(row, "sown"), 6400, rtol=0.01)
    assert row["questions"] == []


def test_situation_16_fifty_minutes_without_a_battery_are_a_gap_that_is_asked_about(
    counted: Counted,
) -> None:
    first = drive([*down(), *straight(400)])
    second = drive([*straight(300), *up()], at=(100.0, 24.0, 0.0))
    gap = 40 * 60
    one, two = fixes(first), fixes(second)
    late = replace(two, t_ms=two.t_ms + 1000 * round(first.t_s[-1] + gap), phone=two.phone - 1)
    both = replace(joined(one, late), phones=one.phones)
    taps = [(0.0, "down"), (float(first.t_s[-1]) + gap + 150.0, "up")]
    row = counted(Log(both, marks(taps)), paddock(box(0, -4, 400, 28)), RIGID)
    (asked,) = [q for q in row["questions"] if q["kind"] == "blind"]
    assert_allclose((asked["to_ms"] - asked["from_ms"]) / 60_000, 40, atol=1)
    # what was logged before the battery died counts to within five seconds
    assert m2(row, "sown") + m2(row, "doubt") > 8 * (400 - 5 * 2.0)


@pytest.mark.parametrize("lifted", [True, False], ids=["lifted", "lever left down"])
def test_situation_17_ten_metres_back_out_of_a_bog_sow_nothing(
    counted: Counted, lifted: bool
) -> None:
    lift, lower = (up(), down()) if lifted else ([], [])
    back = [Step(-LOOP_M - 1.0, 0.6), *stand(10)]
    bog = [*down(), *straight(150), *stand(20), *lift, *back, *lower, *straight(150), *up()]
    made = drive(bog)
    row = counted(
        Log(noisy(fixes(made), 1), marks(made.levers)), paddock(box(-20, -60, 320, 120)), WHOLE
    )
    assert m2(row, "swept") < 300 * 8.4 * 1.01
    assert m2(row, "twice") < 12 * 8.4
