"""Hard situations of several days, phones and rigs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import (
    PLAIN,
    RIGID,
    START_MS,
    WHOLE,
    Step,
    down,
    drive,
    fixes,
    log,
    marks,
    paddock,
    small_day,
    straight,
    sums,
    up,
)
from hard import loop, metres2, noisy, rows, unreal
from unsown.core.day import find
from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Log, Patch, Settings, Tally, Tool
from unsown.sim.day import SimDay, day
from unsown.sim.truth import Miss

SURE = Settings(draws=30)
NIGHT_MS = 10 * 3_600_000
#: Nothing goes wrong on them but what the situation is about.
CALM = {"wanders": 0, "gross": 0, "halts": 0, "creeps": 0, "backs": 0, "keep_outs": 0}


def computed(made: SimDay, given: Log | None = None) -> Tally:
    t, _ = find(given or made.log, made.paddock, [made.rig], SURE)
    assert abs(sums(t)) < 1.0
    return t


# day two: the whole picture three metres east


def shifted(made: SimDay, east_m: float = 3.0) -> Log:
    """The log with all that was logged on the second day moved east, peg checks too."""
    f = made.log.fixes
    night = int(f.t_ms.min()) + NIGHT_MS
    by = east_m / (111_410 * np.cos(np.radians(made.plane.lat0_deg)))
    told = []
    for mark in made.log.marks:
        if mark.kind == "peg" and mark.t_ms > night:
            says = {**mark.says, "lon_deg": mark.says["lon_deg"] + by}
            told.append(replace(mark, says=says))
        else:
            told.append(mark)
    lon = np.where(f.t_ms > night, f.lon_deg + by, f.lon_deg)
    return replace(made.log, fixes=replace(f, lon_deg=lon), marks=tuple(told))


def beside(made: SimDay, miss: Miss) -> float:
    """The share of the drive at which the run after a missed one begins."""
    end = float(made.drive.time.t[-1])
    near = []
    for s in made.truth.sowings:
        i = int(np.rint(made.drive.time.index_at(np.array([(s.on_s + s.off_s) / 2]))[0]))
        at = (made.drive.poses.x[i], made.drive.poses.y[i])
        reach = box(at[0] - 1, at[1] - 1, at[0] + 1, at[1] + 1)
        if s.off_s - s.on_s > 40 and miss.outline.distance(reach) < made.rig.tool.width_m:
            near.append(s)
    return (near[-1].down_s - 20.0) / end


def drifted(t: Tally, made: SimDay) -> list[Patch]:
    """Strips called sure or likely that the drift alone opened: long, and not bare in truth."""
    near = made.truth.bare.buffer(0.3)
    return [
        p
        for p in t.patches
        if p.call != "can't tell"
        and p.length_m > 60
        and p.outline.intersection(near).area < 0.5 * p.area_m2
    ]


@pytest.fixture(scope="module")
def calm() -> SimDay:
    # whichever way the runs go, the shift opens seams or ends between the days
    return day(73, preset="good", area_ha=8.0, rig="demo", shape="quad", two_days=0.55, **CALM)


@pytest.mark.parametrize("pegs", [True, False], ids=["pegs on both days", "no peg"])
def test_situation_07_day_two_whole_picture_3_m_east(calm: SimDay, pegs: bool) -> None:
    made = calm.logged(pegs=pegs)
    t = computed(made, shifted(made))
    plain, _ = find(shifted(made), made.paddock, [made.rig], PLAIN)
    truth = made.truth
    # unsettled the seams and ends stand open; settled, no strip of the drift's is called
    assert metres2(plain.bare_ha) > 1.7 * truth.bare_m2
    assert drifted(t, made) == []
    # totals hardly feel it
    assert_allclose(t.bare_ha, computed(made).bare_ha, rtol=0.15)
    assert_allclose(metres2(t.bare_ha), truth.bare_m2, rtol=0.4)
    assert_allclose(metres2(t.swept_ha), truth.swept_m2, rtol=0.01)
    assert_allclose(metres2(t.sown_ha), truth.sown_m2, rtol=0.02)


@pytest.mark.parametrize("pegs", [True, False], ids=["pegs on both days", "no peg"])
def test_situation_07_a_run_really_missed_under_the_same_shift_is_listed(pegs: bool) -> None:
    # 8.4 m at good: the maths makes it sure even without a peg; it must be listed in any case
    made = day(
        73,
        preset="good",
        area_ha=8.0,
        rig="demo",
        shape="quad",
        two_days=0.5,
        missed_runs=1,
        **CALM,
    )
    (miss,) = [m for m in made.truth.misses if m.why == "missed run"]
    made = made.logged(two_days=beside(made, miss), pegs=pegs)
    t = computed(made, shifted(made))
    hits = [p for p in t.patches if p.outline.intersection(miss.outline).area > 0.5 * miss.area_m2]
    (hit,) = hits
    assert hit.chance >= (0.9 if pegs else 0.6)
    assert hit.call != "can't tell"
    assert drifted(t, made) == []


# a wet patch with a date


@pytest.mark.parametrize("days_later", [0, 1, 4], ids=["monday", "tuesday", "friday"])
def test_situation_12_a_wet_patch_is_bare_once_its_date_has_passed(days_later: int) -> None:
    wet = box(237.5, 8, 500, 24)  # 0.42 ha, before which two runs turn back
    parts: list[Step] = []
    for run in range(5):
        parts += [*down(), *straight(237.5 if run in (2, 3) else 500), *up()]
        parts += loop(8.0, run % 2 == 0) if run < 4 else []
    monday = drive(parts, at=(0.0, -4.0, 0.0))
    one, two = fixes(monday), fixes(drive(straight(120), at=(50.0, 40.0, 0.0)))
    two = replace(two, t_ms=two.t_ms + days_later * 86_400_000 + 3_600_000, phone=two.phone + 1)
    names = [n for n in one.__dataclass_fields__ if n != "phones"]
    both = {n: np.concatenate([getattr(one, n), getattr(two, n)]) for n in names}
    soft = KeepOut("wet", paddock(wet).area, "low spot", until_ms=START_MS + 2 * 86_400_000)
    where = replace(paddock(box(0, -8, 500, 32)), keep_outs=(soft,))
    given = Log(replace(one, **both, phones=("monday", "other")), marks(monday.levers, "monday"))
    t, _ = find(given, where, [RIGID], PLAIN)
    dry = days_later == 4
    assert_allclose(metres2(t.keep_out_ha), 0 if dry else 4200, rtol=0.01)
    assert_allclose(metres2(t.bare_ha), 4200 if dry else 0, atol=130)
    assert any("'low spot' does not hold on this day" in note for note in t.notes) == dry


# two phones, one rig


def test_situation_13_two_phones_clocks_4_min_apart_one_lever_log_forgotten() -> None:
    how = {"preset": "typical", "area_ha": 6.0, "rig": "demo"}
    alone = day(13, **how)
    both = day(13, two_phones=True, clock_off_s=240.0, **how)
    other = "second phone"
    # only the second phone's lever was used, on its own clock
    taps = tuple(replace(m, phone=other, t_ms=m.t_ms + 240_000) for m in both.log.marks)
    t, one = computed(both, replace(both.log, marks=taps)), computed(alone)
    assert any("4 min 0 s ahead" in note for note in t.notes)
    assert_allclose(t.sown_ha, one.sown_ha, rtol=0.01)
    assert_allclose(metres2(t.swept_ha), both.truth.swept_m2, rtol=0.01)
    # the strip of one is not laid over that of the other
    assert_allclose(metres2(t.twice_ha), both.truth.twice_m2, rtol=0.15)
    assert len(t.questions) <= 1
    assert unreal(t, both.truth, at_least_m2=60.0) == []


@pytest.mark.parametrize("late_s", [2.5, 8.0])
def test_situation_13_taps_on_both_phones_are_one_lever(late_s: float) -> None:
    made = day(13, two_phones=True, clock_off_s=240.0, area_ha=6.0, rig="demo")
    rng = np.random.default_rng(1)
    late = 1000 * rng.uniform(0, late_s, len(made.log.marks))
    also = tuple(
        replace(m, phone="second phone", t_ms=m.t_ms + 240_000 + int(by))
        for m, by in list(zip(made.log.marks, late, strict=True))[2:]
    )
    given = replace(made.log, marks=tuple(sorted(made.log.marks + also, key=lambda m: m.t_ms)))
    t, _ = find(given, made.paddock, [made.rig], PLAIN)
    usual, _ = find(made.log, made.paddock, [made.rig], PLAIN)
    assert_allclose(t.sown_ha, usual.sown_ha, rtol=1e-3)
    assert t.questions == ()
    assert any("lever presses" in note for note in t.notes) == (late_s > 3)


# two rigs on both sides of one seam


def test_situation_14_two_rigs_on_both_sides_of_one_seam_no_peg() -> None:
    # morning: six rows of 8.4 m by one phone; after noon: six rows of 6 m by another
    first = drive(rows(6, 400.0, 8.1))
    second = drive(rows(6, 400.0, 5.8), at=(0.0, 5 * 8.1 + 7.0, 0.0))
    noon = 3 * 3600
    big = replace(RIGID, name="big", tool=Tool(8.4))
    small = replace(RIGID, name="small", tool=Tool(6.0), from_ms=START_MS + noon * 1000)
    top = 5 * 8.1 + 7.0 + 5 * 5.8 + 3.0
    where = paddock(box(0.0, -4.2, 400.0, top))
    seam = box(0.0, 5 * 8.1 + 2.5, 400.0, 5 * 8.1 + 5.5)
    net = 400.0 * (top + 4.2)
    for seed in range(3):
        one = noisy(fixes(first), seed, 0.1, 1.1)
        two = noisy(fixes(second), 100 + seed, 0.1, 1.1)
        bias = np.random.default_rng(seed).normal(0, 0.8, 2)
        two = replace(
            two,
            t_ms=two.t_ms + noon * 1000,
            lat_deg=two.lat_deg + bias[1] / 111_230,
            lon_deg=two.lon_deg + bias[0] / 72_000,
            phone=two.phone + 1,
            segment=two.segment + 1,
        )
        names = [n for n in one.__dataclass_fields__ if n != "phones"]
        both = {n: np.concatenate([getattr(one, n), getattr(two, n)]) for n in names}
        fx = replace(one, **both, phones=("big", "small"))
        later = [(t + noon, word) for t, word in second.levers]
        taps = (*marks(first.levers, "big"), *marks(later, "small"))
        t, _ = find(Log(fx, taps), where, [big, small], SURE)
        assert_allclose(metres2(t.swept_ha), 6 * 400 * (8.4 + 6.0), rtol=0.01)
        assert_allclose(metres2(t.sown_ha), net, rtol=0.02)
        for patch in t.patches:
            if patch.outline.intersection(seam).area > 0.5 * patch.area_m2:
                assert patch.call != "sure" or patch.length_m < 100


def test_a_tool_that_gets_wider_at_noon_splits_the_day() -> None:
    d = drive([*down(), *straight(800), *up()])
    narrow = replace(RIGID, tool=Tool(6.0))
    wide = replace(RIGID, name="wide", tool=Tool(9.0), from_ms=START_MS + 150_000)
    t, _ = find(log(d), paddock(box(0, -10, 800, 10)), [narrow, wide], PLAIN)
    assert [r.rig for r in t.runs] == [0, 1]
    assert_allclose(metres2(t.sown_ha), 300 * 6 + 500 * 9, rtol=0.01)
    assert_allclose(metres2(t.swept_ha), 300 * 6 + 500 * 9, rtol=0.01)


# the other side of the world


@pytest.mark.parametrize("lon", [179.99, 179.999, -179.99])
def test_situation_19_south_at_180_degrees_is_its_northern_twin(lon: float) -> None:
    # mirrored north to south, so turns change hands: the phone sits on the centre line
    middle = replace(WHOLE, phone=replace(WHOLE.phone, left_of_centre_m=0.0))
    middle = replace(middle, tool=replace(middle.tool, offset_left_m=0.0))
    north, where = small_day()
    south = replace(
        north,
        fixes=replace(
            north.fixes,
            lat_deg=-north.fixes.lat_deg,
            lon_deg=(north.fixes.lon_deg + 106.21 + lon + 180) % 360 - 180,
            course_deg=(180 - north.fixes.course_deg) % 360,
        ),
    )
    across = south.fixes.lon_deg.max() - south.fixes.lon_deg.min() > 300
    assert across == (lon == 179.999)
    plane = Plane(-49.73, lon)
    width, height = 160.0, 3 * 16.0 + 68.0
    there = paddock(box(0.0, -height, width, 0.0), plane)
    a, _ = find(north, where, [middle], PLAIN)
    b, _ = find(south, there, [middle], PLAIN)
    for name in ("net", "sown", "part", "bare", "twice", "swept", "outside"):
        here, twin = getattr(a, f"{name}_ha"), getattr(b, f"{name}_ha")
        # 0.01 %, and a tenth of a square metre for what is only slivers
        assert_allclose(twin, here, rtol=1e-4, atol=1e-5)
    assert all(-180 <= p.place.x <= 180 for p in b.patches)
