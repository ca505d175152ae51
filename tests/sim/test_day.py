"""Simulated days look like sowing: repeatable, inside the fence, no jumps, no racing."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from unsown.core.errors import PaddockError, RigError
from unsown.core.plane import area_m2
from unsown.sim import SimDay, day, hard_taps, trial
from unsown.sim.paddocks import SHAPES
from unsown.sim.rigs import rig_named


@cache
def small(seed: int = 3) -> SimDay:
    return day(seed, size="small", rig="demo", area_ha=5.0, truck_trips=1, backing_turns=0.3)


def test_the_same_seed_gives_the_same_day() -> None:
    one, two = (day(4, size="small", preset="typical", rig="six", area_ha=3.5) for _ in range(2))
    assert np.array_equal(one.log.fixes.lat_deg, two.log.fixes.lat_deg)
    assert one.log.marks == two.log.marks
    assert one.truth.bare_m2 == two.truth.bare_m2


def test_another_seed_gives_another_day() -> None:
    assert small(3).truth.net_m2 != small(4).truth.net_m2 or (
        small(3).truth.bare_m2 != small(4).truth.bare_m2
    )


def test_the_receiver_changes_the_log_and_nothing_else() -> None:
    made = small()
    for preset in ("rtk", "poor"):
        other = made.logged(preset)
        assert other.truth is made.truth
        assert [m.t_ms for m in other.log.marks] == [m.t_ms for m in made.log.marks]
        assert not np.array_equal(other.log.fixes.lat_deg, made.log.fixes.lat_deg)


def test_without_noise_the_log_has_the_phones_true_place() -> None:
    made = small()
    x, y = made.plane.to_xy(made.log.fixes.lon_deg, made.log.fixes.lat_deg)
    assert np.hypot(x - made.error.x_m, y - made.error.y_m).max() < 0.002


def test_nothing_jumps_and_nothing_races() -> None:
    made = small()
    gone = np.hypot(np.diff(made.error.x_m), np.diff(made.error.y_m))
    assert gone.max() < 4.5
    speed = made.log.fixes.speed_m_s
    down = made.lever_down(made.error.t_s) & (speed > 0.5)
    assert np.median(speed[down]) == pytest.approx(made.story.speed_m_s, rel=0.05)
    gain = np.diff(speed)
    assert np.abs(gain).max() < 1.5


def test_the_rig_stays_inside_the_fence_and_off_the_keep_outs() -> None:
    for made in (small(), day(12, size="small", rig="six", shape="ell", area_ha=6.0, keep_outs=2)):
        poses = made.drive.poses
        inside = shapely.contains_xy(made.field.outline, poses.x, poses.y)
        assert inside.mean() > 0.999
        for _, thing in made.field.holes:
            assert not shapely.contains_xy(thing, poses.x, poses.y).any()
        assert made.truth.outside_m2 < 0.01 * made.truth.net_m2


def test_the_tractor_bends_no_tighter_than_it_can() -> None:
    made = small()
    forward = made.drive.poses.gear == 1
    tightest = made.rig.tightest_m or 9.0
    bend = np.abs(made.drive.poses.kappa)[forward]
    assert np.quantile(bend, 0.999) < 1.15 / tightest


def test_the_day_has_laps_runs_turns_a_trip_and_a_reverse() -> None:
    kinds = set(small().kind_at(np.arange(0.0, small().drive.time.t[-1], 1.0)))
    assert {"lap", "run", "turn", "road", "back"} <= kinds


def test_lever_down_and_up_alternate_and_come_in_order() -> None:
    made = small()
    edges = [t for s in made.truth.sowings for t in (s.down_s, s.up_s)]
    assert all(a < b for a, b in zip(edges, edges[1:], strict=False))
    said = [m.says["lever"] for m in made.log.marks if m.kind == "lever"]
    assert said == ["down", "up"] * (len(said) // 2)


def test_seed_lands_only_after_the_lever_went_down() -> None:
    made = small()
    t = np.arange(0.0, made.drive.time.t[-1], 0.5)
    down, seeding = made.lever_down(t), made.seeding(t)
    assert seeding.mean() < down.mean()
    late = np.array([s.off_s - s.up_s for s in made.truth.sowings])
    assert late.max() < 1.0


def test_no_seed_lands_while_reversing() -> None:
    made = small()
    t = np.arange(0.0, made.drive.time.t[-1], 0.5)
    back = np.array(made.kind_at(t)) == "back"
    assert back.any()
    assert not (made.seeding(t) & back).any()


@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_has_the_area_asked_for(shape: str) -> None:
    made = day(6, size="small", rig="six", shape=shape, area_ha=4.0, keep_outs=0)
    assert made.paddock.area is not None
    assert area_m2(made.paddock.area) == pytest.approx(4e4, rel=1e-4)


def test_a_paddock_across_the_date_line_is_the_same_day_elsewhere() -> None:
    here = day(7, size="small", rig="six", area_ha=3.5, lat_deg=40.0, lon_deg=10.0)
    there = day(7, size="small", rig="six", area_ha=3.5, lat_deg=-40.0, lon_deg=180.0)
    assert there.truth.bare_m2 == here.truth.bare_m2
    lon = there.log.fixes.lon_deg
    assert lon.min() < -179.9
    assert lon.max() > 179.9


def test_round_and_round_reaches_the_middle() -> None:
    made = day(9, size="small", rig="demo", style="round", area_ha=5.0, shape="quad", keep_outs=0)
    assert made.truth.bare_m2 < 0.16 * made.truth.net_m2
    assert len([w for w in made.drive.route.works if w.kind == "lap"]) > 6


def test_what_does_not_exist_is_refused_by_name() -> None:
    with pytest.raises(RigError, match="demo"):
        rig_named("forty metre")
    with pytest.raises(PaddockError, match="quad"):
        day(1, size="small", shape="star")
    with pytest.raises(TypeError, match="lapz"):
        day(1, size="small", lapz=3)


@pytest.mark.soak
def test_trial_days_have_the_stated_range_of_bare_ground() -> None:
    shares = []
    for seed in range(40):
        made = trial(seed, preset="none")
        assert 27.0 < made.truth.net_m2 / 1e4 < 80.0
        shares.append(made.truth.bare_m2 / 1e4)
    assert 0.2 < np.median(shares) < 1.0
    assert np.quantile(shares, 0.9) < 2.0


def test_a_hard_day_has_runs_with_the_tool_up_and_taps_gone() -> None:
    made = hard_taps(3, rig="eighteen", area_ha=20.0, shape="quad")
    assert sum(w.up for w in made.drive.route.works) in (1, 2)
    levers = [m for m in made.log.marks if m.kind == "lever"]
    assert len(levers) < 2 * len(made.truth.sowings)
