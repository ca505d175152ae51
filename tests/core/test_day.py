"""Whole noise-free days against the simulator's truth, and days that are hardly days at all.

The simulator has its own kinematics, delays and polygons: it shares only the words with the
engine. Every figure asked here is the one that docs/explain/cover.md promises.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from shapely.geometry import box

from drives import (
    DRAGGED,
    PLAIN,
    RIGID,
    START_MS,
    WHOLE,
    down,
    drive,
    log,
    marks,
    paddock,
    picked,
    small_day,
    stand,
    straight,
    sums,
    turn,
    up,
)
from unsown.core.cover import EMPTY
from unsown.core.day import find
from unsown.core.errors import DayError, TrackError, UnsownError
from unsown.core.words import KeepOut, Log, Paddock, Rig, Tally, Times, Tool
from unsown.sim.day import SimDay, day
from unsown.sim.rigs import DEMO


def found(made: SimDay) -> Tally:
    return find(made.log, made.paddock, [made.rig], PLAIN)[0]


def check(made: SimDay, *, sown: float = 1e-3, bare: float = 0.05, twice: float = 0.03) -> Tally:
    """Everything that a noise-free day must show."""
    t, truth = found(made), made.truth
    assert_allclose(t.sown_ha * 1e4, truth.sown_m2, rtol=sown)
    # driven along bare ground for minutes with the tool up: looks like sowing, so it is asked about
    asked = t.ground.doubt if t.questions else EMPTY
    assert shapely.area(asked) < 0.01 * truth.net_m2
    in_doubt = shapely.area(shapely.intersection(asked, truth.bare))
    assert_allclose(t.bare_ha * 1e4 + in_doubt, truth.bare_m2, rtol=bare)
    assert_allclose(t.twice_ha * 1e4, truth.twice_m2, rtol=twice)
    # the ranks' edges run millimetres apart along every run: slivers of it are noise
    slivers = 10.0 + 1e-4 * truth.net_m2
    assert_allclose(t.part_ha * 1e4, truth.part_m2, rtol=0.05, atol=slivers)
    assert_allclose(t.net_ha * 1e4, truth.net_m2, rtol=1e-5)
    assert_allclose(t.swept_ha * 1e4, truth.swept_m2, rtol=5e-3)
    assert abs(sums(t)) < 1.0
    listed = shapely.union_all([*(p.outline for p in t.patches), asked])
    for miss in truth.misses:
        if miss.area_m2 > 30 and miss.width_m > 1.5:
            assert listed.intersection(miss.outline).area > 0.5 * miss.area_m2, miss
    nearly = truth.bare.buffer(0.1)
    for patch in t.patches:
        assert patch.outline.intersection(nearly).area > 0.5 * patch.area_m2, patch
    return t


#: seed -> what sort of day: every shape and rig, both hemispheres, both sides of 180 degrees
QUICK = {
    1: {"rig": "demo", "shape": "ell"},
    2: {"rig": "cart", "shape": "wedge", "lat_deg": -31.5, "lon_deg": 117.5},
    3: {"rig": "mounted", "shape": "round", "lat_deg": -38.0, "lon_deg": 180.0},
    4: {"rig": "twelve", "shape": "quad", "lat_deg": 52.5, "lon_deg": -0.5, "style": "round"},
    5: {"rig": "offset", "shape": "ell", "corners": "keep", "lat_deg": 0.0, "lon_deg": -180.0},
}


@pytest.mark.parametrize("seed", QUICK)
def test_a_small_noise_free_day_is_right(seed: int) -> None:
    check(day(seed, size="small", area_ha=6.0, **QUICK[seed]))


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(100, 120))
def test_a_full_noise_free_day_is_right(seed: int) -> None:
    rigs = ("demo", "six", "twelve", "eighteen", "mounted", "cart", "offset")
    shapes = ("quad", "ell", "wedge", "round")
    where = ((49.73, -106.21), (-31.5, 117.5), (-44.0, 180.0), (52.5, -0.5), (-17.0, -180.0))
    lat, lon = where[seed % 5]
    check(
        day(
            seed,
            rig=rigs[seed % 7],
            shape=shapes[seed % 4],
            lat_deg=lat,
            lon_deg=lon,
            style="round" if seed % 3 == 0 else "up-and-back",
            corners=("lift", "keep", "mixed")[seed % 3],
            laps=1 + seed % 4,
            missed_runs=int(seed % 6 == 0),
            lost_furrow_m=3.0 if seed % 8 == 0 else 0.0,
        )
    )


@pytest.mark.parametrize("fill_s", [0.0, 3.0, 6.0])
def test_seed_delays_of_none_to_six_seconds_are_taken_off(fill_s: float) -> None:
    times = Times(1.8, 0.6, 0.0, fill_s, 0.0, 4.6)
    check(day(21, size="small", area_ha=4.0, rig=replace(DEMO, times=times)))


def test_ranks_three_metres_apart_leave_the_right_part() -> None:
    ranks = replace(DEMO, tool=replace(DEMO.tool, front_rank_m=2.1, rear_rank_m=-0.9))
    t = check(day(22, size="small", area_ha=4.0, rig=ranks))
    assert t.part_ha > 0.01


@pytest.mark.parametrize(
    ("how", "sown", "bare"),
    [
        ({"hz": 5.0}, 1e-3, 0.01),
        ({"hz": 0.5}, 1e-3, 0.02),
        ({"hz": 0.2}, 2e-3, 0.05),
        ({"speed": False, "course": False, "accuracy": False}, 1e-3, 0.01),
        ({"speed": False, "course": False, "hz": 0.2}, 2e-3, 0.05),
        ({"jitter_s": 0.2}, 1e-3, 0.03),
        ({"preset": "rtk"}, 1e-3, 0.03),
    ],
    ids=lambda v: ", ".join(f"{k} {x}" for k, x in v.items()) if isinstance(v, dict) else None,
)
def test_the_same_drive_logged_otherwise_is_the_same_day(
    drawn: SimDay, how: dict[str, object], sown: float, bare: float
) -> None:
    # docs/explain/clean.md says where it degrades
    check(drawn.logged(**how), sown=sown, bare=bare, twice=0.05)


@pytest.fixture(scope="module")
def drawn() -> SimDay:
    return day(23, size="small", area_ha=4.0, rig="demo")


@pytest.mark.parametrize("rig", ["demo", "mounted"])
def test_a_paddock_across_180_degrees_is_its_twin_elsewhere(rig: str) -> None:
    here, there = (
        found(day(24, size="small", area_ha=3.5, rig=rig, lat_deg=-31.5, lon_deg=lon))
        for lon in (20.0, 180.0)
    )
    assert_allclose(there.sown_ha, here.sown_ha, rtol=1e-5)
    assert_allclose(there.bare_ha, here.bare_ha, rtol=1e-3)
    assert all(-180 <= p.place.x < 180 for p in there.patches)


# days that are hardly days

LANE = down() + straight(200) + up()
LINE = drive(LANE)
ROOM = paddock(box(-50, -50, 300, 50))


def answered(given: Log, where: Paddock = ROOM, rig: Rig = WHOLE) -> Tally:
    t, _ = find(given, where, [rig], PLAIN)
    assert abs(sums(t)) < 1.0
    numbers = (t.sown_ha, t.bare_ha, t.swept_ha, t.twice_ha, t.hours, t.down_km)
    assert np.isfinite(numbers).all()
    assert min(numbers) >= 0.0
    return t


@pytest.mark.parametrize("rows", [[3, 4], [3, 90], [0, 50, 100]], ids=str)
def test_two_or_three_fixes_are_answered(rows: list[int]) -> None:
    given = log(LINE)
    answered(Log(picked(given.fixes, np.array(rows)), given.marks))


def test_fixes_minutes_apart_are_doubt_not_sown() -> None:
    given = log(LINE)
    t = answered(Log(picked(given.fixes, np.array([3, 90])), given.marks))
    assert t.sown_ha == 0.0
    assert t.doubt_ha > 0.1


@pytest.mark.parametrize("told", [True, False])
def test_a_day_spent_standing_sows_nothing(told: bool) -> None:
    t = answered(log(drive(down() + stand(900) + up()), told=told))
    assert t.sown_ha == 0.0
    assert t.swept_ha == 0.0


@pytest.mark.parametrize(
    "levers",
    [
        [(-500, "down"), (5000, "up")],
        [(-500, "down"), (-400, "up")],
        [(1500, "down"), (1600, "up")],
        [(10, "down"), (10, "up")],
        [(10, "down"), (11, "up")],
        [(10, "down")],
        [(10, "down"), (20, "down"), (30, "up"), (30, "up"), (29, "down")],
    ],
    ids=str,
)
def test_runs_outside_the_day_or_of_no_length_are_answered(levers: list) -> None:
    t = answered(Log(log(LINE).fixes, marks(levers)))
    assert t.sown_ha <= 200 * 8.4 / 1e4


def test_a_run_longer_than_the_track_ends_with_the_track() -> None:
    t = answered(Log(log(LINE).fixes, marks([(-500, "down"), (5000, "up")])), rig=RIGID)
    assert_allclose(t.sown_ha * 1e4, 200 * 8, rtol=1e-3)


def test_a_gap_of_an_hour_in_a_run_is_doubt() -> None:
    given = log(drive(down() + straight(100) + stand(3600) + straight(100) + up()))
    rows = np.flatnonzero(
        (given.fixes.t_ms < START_MS + 40_000) | (given.fixes.t_ms > START_MS + 3_680_000)
    )
    t = answered(Log(picked(given.fixes, rows), given.marks))
    assert t.doubt_ha > 0.03
    assert t.sown_ha < 0.12


def test_a_paddock_smaller_than_the_tool_is_answered() -> None:
    t = answered(log(LINE), paddock(box(100, -1, 103, 1)))
    assert_allclose(t.sown_ha * 1e4, 6.0, rtol=1e-3)
    assert t.outside_ha > 0.15


def test_a_keep_out_that_has_run_dry_is_paddock_again() -> None:
    given, where = small_day()
    wet = KeepOut("wet", where.area, name="low spot", until_ms=START_MS - 1)
    t = answered(given, replace(where, keep_outs=(wet,)))
    assert t.keep_out_ha == 0.0
    assert any("low spot" in note for note in t.notes)


def test_positions_without_number_are_dropped_and_counted() -> None:
    given = log(LINE)
    lat = given.fixes.lat_deg.copy()
    lat[[5, 40]] = np.nan, np.inf
    t = answered(Log(replace(given.fixes, lat_deg=lat), given.marks))
    assert t.dropped == {"no position": 2}


@pytest.mark.parametrize("rig", [RIGID, DRAGGED, WHOLE], ids=lambda r: r.name)
def test_a_random_walk_of_kilometres_does_not_end_in_a_crash(rig: Rig) -> None:
    rng = np.random.default_rng(3)
    given = log(LINE)
    n = len(given.fixes)
    wild = replace(
        given.fixes,
        lat_deg=given.fixes.lat_deg + 0.01 * rng.standard_normal(n),
        lon_deg=given.fixes.lon_deg + 0.01 * rng.standard_normal(n),
    )
    answered(Log(wild, given.marks), rig=rig)


def test_a_tool_folded_in_a_tight_spin_is_answered() -> None:
    answered(
        log(drive(down() + turn(2.0, 1800) + up())),
        rig=Rig("l", "towed", Tool(8.0, pin_to_axle_m=9)),
    )


@pytest.mark.parametrize(
    ("given", "where", "error", "code"),
    [
        (
            Log(picked(log(LINE).fixes, np.array([3])), log(LINE).marks),
            ROOM,
            TrackError,
            "track-empty",
        ),
        (Log(log(LINE).fixes), ROOM, TrackError, "no-lever"),
        (
            Log(replace(log(LINE).fixes, t_ms=np.full(len(LINE.t_s), START_MS)), log(LINE).marks),
            ROOM,
            TrackError,
            "track-unusable",
        ),
        (
            Log(replace(log(LINE).fixes, acc_m=np.full(len(LINE.t_s), 800.0)), log(LINE).marks),
            ROOM,
            TrackError,
            "track-unusable",
        ),
        (log(LINE), paddock(box(9000, 9000, 9100, 9100)), DayError, "track-elsewhere"),
        (log(LINE), Paddock("", None), DayError, "lap-open"),
    ],
    ids=["one fix", "no lever", "one time", "accuracy", "elsewhere", "no lap"],
)
def test_what_cannot_be_a_day_is_refused_with_a_reason(
    given: Log, where: Paddock, error: type[UnsownError], code: str
) -> None:
    with pytest.raises(error) as refused:
        find(given, where, [RIGID], PLAIN)
    assert refused.value.code == code
    assert "expected" in refused.value.message


def test_latitude_and_longitude_swapped_is_said() -> None:
    given = log(LINE)
    swapped = replace(given.fixes, lat_deg=given.fixes.lon_deg % 90, lon_deg=given.fixes.lat_deg)
    where = paddock(box(0, -20, 200, 20))
    with pytest.raises(DayError) as refused:
        find(Log(swapped, given.marks), where, [RIGID], PLAIN)
    assert refused.value.code == "track-elsewhere"


def test_a_track_half_a_kilometre_beside_the_paddock_is_refused_and_says_how_far() -> None:
    with pytest.raises(DayError, match=r"nearest fix is 0\.5 km away"):
        find(log(LINE), paddock(box(0, 500, 200, 700)), [RIGID], PLAIN)


def test_positions_all_too_coarse_say_what_to_do() -> None:
    given = log(LINE)
    coarse = Log(replace(given.fixes, acc_m=np.full(len(LINE.t_s), 20.0)), given.marks)
    with pytest.raises(TrackError, match="accuracy worse than 15 m") as refused:
        find(coarse, ROOM, [RIGID], PLAIN)
    assert "precise location" in refused.value.hint
