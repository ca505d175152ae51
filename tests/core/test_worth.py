"""What is worth going back for, by the job paper's examples and by plain reasoning."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import Field, Reach, opens, plans, reach
from unsown.core.compass import side
from unsown.core.price import Prices
from unsown.core.words import Patch, Rig, Tool
from unsown.core.worth import Circumstances, Worth, worth

# job paper 7: the invented farm and its rig
FARM = Prices(118, 0.46, 105, 0.88, 5.2, 1.35, 58, 2.4, 330, 150)
DRILL = Rig(
    "Ninepost hoe drill",
    "towed",
    Tool(8.4, pin_to_axle_m=6.1, front_rank_m=1.7, rear_rank_m=-0.7),
    axle_to_pin_m=1.05,
    tightest_m=9.0,
)
SQUARE = box(0, 0, 700, 700)
HERE = Circumstances((350.0, 350.0, 0.0), (0.0, 0.0), 7.5 / 3.6)


def patch(number: int, shape: BaseGeometry, chance: float = 0.97) -> Patch:
    call = "sure" if chance >= 0.9 else "likely" if chance >= 0.6 else "can't tell"
    sides = np.hypot(*np.diff(shapely.get_coordinates(shape.minimum_rotated_rectangle), axis=0).T)
    return Patch(number, shape, shape.area, float(min(sides[:2])), float(max(sides[:2])),
        "pocket", chance, call, Point(0, 0))  # fmt: skip


def weigh(
    patches: list[Patch], here: Circumstances = HERE, keep_out: BaseGeometry | None = None
) -> Worth:
    r = reach(DRILL)
    bare = shapely.union_all([p.outline for p in patches])
    field = Field.of(SQUARE, keep_out or Polygon(), bare, r)
    return worth(patches, [0.0] * len(patches), field, r, FARM, here)


def test_the_reach_of_the_demo_rig_is_what_the_paper_computes() -> None:
    r = reach(DRILL)
    assert r.ahead_m == pytest.approx(1.05 + 6.1 - 0.5)
    assert r.half_m == pytest.approx(1.2)
    assert r.turn_m == pytest.approx(6.1 / np.sin(np.radians(35)))  # 3.13: more than 9 m


def test_a_corner_of_190_square_metres_here_is_worth_the_paper_s_15() -> None:
    # job paper 3.13: V 15.1 at a chance near 1; here it is a patch as wide as the tool
    corner = patch(1, box(400, 400, 400 + 190 / 7.8, 407.8), chance=1.0)
    (group,) = weigh([corner]).groups
    assert group.value == pytest.approx(15.1, abs=0.05)
    assert group.label == "worth it"
    assert group.left_m2 == pytest.approx(0.0, abs=0.5)
    minutes = group.seconds / 60
    assert 0.5 < minutes < 3.0
    assert group.cost == pytest.approx(
        group.twice_m2 / 1e4 * 153.7 + group.seconds / 3600 * 58, abs=0.02
    )


def test_the_same_corner_from_outside_does_not_repay_the_road_but_twelve_do() -> None:
    # job paper 3.13: the trip of 56 minutes costs 54
    away = replace(HERE, road_s=56 * 60.0)
    corner = [patch(1, box(400, 400, 424, 407.8), 1.0)]
    assert weigh(corner, away).net < 0
    many = [patch(k + 1, box(100 + 40 * k, 400, 124 + 40 * k, 407.8), 1.0) for k in range(12)]
    assert weigh(many, away).net > 50


def test_patches_in_one_line_are_finished_by_one_run() -> None:
    diagonal = [
        patch(k + 1, shapely.affinity.translate(Polygon([(0, 0), (9, 1), (10, 10), (1, 9)]), d, d))
        for k, d in enumerate((200.0, 209.0, 218.0, 227.0))
    ]
    w = weigh(diagonal)
    (group,) = [g for g in w.groups if g.runs]
    assert group.patches == (1, 2, 3, 4)
    assert len(group.runs) == 1
    heading = np.degrees(group.runs[0].heading_rad) % 180
    assert heading == pytest.approx(45.0, abs=5.0)


def test_a_possible_missed_run_is_always_worth_a_look() -> None:
    # job paper 3.13: 0.67 ha may be worth 530, so a look pays even at a tenth
    strip = patch(1, box(20, 300, 680, 308.1), chance=0.1)
    speck = patch(2, box(500, 100, 504, 104), chance=0.1)
    labels = {g.patches: g.label for g in weigh([strip, speck]).groups}
    assert labels == {(1,): "look first", (2,): "leave"}
    assert weigh([strip, speck]).stops == ()


def test_no_run_and_no_way_crosses_a_keep_out() -> None:
    slough = Point(430, 404).buffer(15)
    patches = [
        patch(1, box(330, 400, 380, 407.8), 1.0),
        patch(2, box(470, 400, 520, 407.8), 1.0),
        patch(3, box(330, 480, 520, 487.8), 1.0),
    ]
    w = weigh(patches, keep_out=slough)
    assert not w.route.blocked
    line = shapely.linestrings(w.route.poses[:, :2])
    assert shapely.distance(line, slough) > DRILL.tool.width_m / 2
    assert {g.label for g in w.groups} == {"worth it"}


def test_ground_that_no_straight_run_reaches_is_said_and_left_to_the_driver() -> None:
    corner = patch(1, box(0, 0, 12, 12), 1.0)
    (group,) = weigh([corner]).groups
    assert group.left_m2 > 0.5 * corner.area_m2
    assert group.label in ("your call", "leave")


def test_the_way_is_told_by_the_side_one_enters_from() -> None:
    assert [side(np.radians(a)) for a in (0, 90, 180, 270, 45)] == [
        "west", "south", "east", "north", "south-west",
    ]  # fmt: skip


def test_a_run_leaves_room_to_come_straight() -> None:
    r = Reach(8.4, 6.65, 1.2, 15.0, 10.6)
    field = Field.of(SQUARE, Polygon(), box(300, 300, 340, 307), r)
    made = plans([patch(1, box(300, 300, 340, 307))], [0.0], field, r)
    east = next(p.runs[0] for p in made if np.cos(p.runs[0].heading_rad) > 0.99)
    before = east.start[0] + r.ahead_m - east.enter[0]
    assert before == pytest.approx(r.lead_m)
    assert east.leave[0] == pytest.approx(east.end[0] + r.ahead_m)
    assert east.start[0] + r.half_m < 300
    assert east.end[0] - r.half_m > 340


def test_situation_20_a_last_narrow_strip_beside_a_fence_at_night_is_worth_it_but_tight() -> None:
    # job paper 6: 800 m x 1.9 m: 0.15 ha worth 121, 0.52 ha sown twice 80, 6.5 minutes 6
    strip = patch(1, box(0, 100, 800, 101.9), 1.0)
    value = strip.area_m2 / 1e4 * FARM.bare_ha()
    twice = (8.4 - 1.9) * 800 / 1e4
    ground = twice * (FARM.seed_and_fertiliser_ha + FARM.fuel_l_ha * FARM.fuel_price_l)
    time = 800 / (7.5 / 3.6) / 3600 * FARM.tractor_h
    assert value == pytest.approx(121, abs=0.5)
    assert ground == pytest.approx(80, abs=0.5)
    assert time == pytest.approx(6, abs=0.5)
    r = reach(DRILL)
    long = box(-60, 0, 860, 300)
    field = Field.of(long, Polygon(), strip.outline, r)
    w = worth([strip], [0.0], field, r, FARM, replace(HERE, start=(-40.0, 101.0, 0.0)))
    (group,) = w.groups
    assert group.label == "worth it"
    assert group.net == pytest.approx(value - ground - time, abs=8)


@pytest.mark.parametrize(
    "shape", [box(300, 300, 360, 330), Polygon([(300, 300), (364, 300), (300, 348)])]
)
def test_a_patch_wider_than_the_tool_is_finished_whole(shape: BaseGeometry) -> None:
    (group,) = weigh([patch(1, shape, 1.0)]).groups
    assert group.label == "worth it"
    assert group.left_m2 < 0.01 * shape.area
    assert len(group.runs) >= 4


def test_what_lies_nearly_on_the_way_is_worth_it_for_the_little_that_it_adds() -> None:
    ends = [patch(1, box(400, 400, 424, 407.8), 1.0), patch(3, box(600, 400, 630, 407.8), 1.0)]
    small = patch(2, box(520, 400, 527, 407), 1.0)
    here = replace(HERE, start=(300.0, 404.0, 0.0), gate=(690.0, 404.0))
    alone = weigh([small], replace(here, start=(300.0, 100.0, 0.0))).groups[0]
    between = next(g for g in weigh([ends[0], small, ends[1]], here).groups if g.patches == (2,))
    assert alone.label != "worth it"
    assert between.label == "worth it"
    assert between.seconds < 10 < alone.seconds


def test_groups_that_share_a_far_corner_are_not_left_out_all_at_once() -> None:
    # each alone would be left out for the way that the others pay: together they repay it
    far = [patch(k + 1, box(620, 500 + 30 * k, 640, 507 + 30 * k), 1.0) for k in range(4)]
    here = replace(HERE, start=(60.0, 60.0, 0.0), gate=(30.0, 30.0))
    w = weigh(far, here)
    driven = {n for k, _ in w.stops for n in w.groups[k].patches}
    assert len(driven) >= 3
    assert w.net > 3


def test_runs_are_moved_aside_where_a_keep_out_is_too_near() -> None:
    slough = Point(430, 404).buffer(15)
    beside = patch(1, box(446, 385, 453, 425), 1.0)
    (group,) = weigh([beside], keep_out=slough).groups
    assert group.label == "worth it"
    assert group.left_m2 < 0.2 * beside.area_m2  # straight over its middle there is no run at all
    for run in group.runs:
        line = shapely.linestrings([run.enter[:2], run.leave[:2]])
        assert shapely.distance(line, slough) >= DRILL.tool.width_m / 2 + 0.99


def test_a_way_round_is_found_where_no_way_of_three_parts_is_free() -> None:
    wall = box(350, 200, 356, 420)
    here = replace(HERE, start=(400.0, 304.0, np.pi), gate=(690.0, 304.0))
    w = weigh([patch(1, box(300, 300, 330, 308), 1.0)], here, keep_out=wall)
    assert w.stops
    assert not w.route.blocked
    line = shapely.linestrings(w.route.poses[:, :2])
    assert shapely.distance(line, wall) > DRILL.tool.width_m / 2


def test_a_run_is_not_turned_about_where_its_other_end_has_no_way_out() -> None:
    r = reach(DRILL)
    clear = box(0, 0, 300, 60)
    field = Field.of(clear, Polygon(), box(200, 20, 240, 28), r)
    made = plans([patch(1, box(200, 20, 240, 28))], [0.0], field, r)
    for run in (run for plan in made for run in plan.runs):
        ends = [(*run.leave[:2], run.heading_rad), (*run.enter[:2], run.heading_rad + np.pi)]
        assert opens(field.room, ends, r.turn_m).all()


def test_the_tool_is_down_on_a_run_and_no_further() -> None:
    w = weigh([patch(1, box(400, 400, 424.3, 407.8), 1.0)])
    (_, run), route = w.stops[0], w.route
    length = float(np.hypot(*np.diff(route.poses[route.tool_down, :2], axis=0).T).sum())
    assert length == pytest.approx(run.length_m, abs=1e-6)
