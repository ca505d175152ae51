"""The true label of a said patch: on small squares whose truth is drawn by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from shapely.geometry import Polygon, box

import tallies
from soak.dusk import FARM
from soak.labels import asked, labels, stands_for
from unsown.core.aim import Field, Reach, plans
from unsown.core.words import Ground, Patch, Tally
from unsown.core.worth import Circumstances, Worth, weighed

SQUARE = box(0, 0, 600, 600)
R = Reach(8.4, 6.65, 1.2, 17.7, 10.63)
HERE = Circumstances((300.0, 300.0, 0.0), (0.0, 300.0), 2.0)
WORTHY, SMALL = box(320, 400, 360, 407.5), box(320, 400, 324, 404)


def day(*shapes: Polygon) -> tuple[Tally, Worth]:
    """A square sown but for some patches that are sure, and what is told to go back for."""
    return told_of(
        *(tallies.patch(k, shape, 1.0, width_m=7.5) for k, shape in enumerate(shapes, 1))
    )


def told_of(*patches: Patch) -> tuple[Tally, Worth]:
    """The same of patches as they are given."""
    hole = shapely.union_all([p.outline for p in patches])
    ground = Ground(SQUARE, Polygon(), SQUARE.difference(hole), *[Polygon()] * 2, hole,
                    *[Polygon()] * 3)  # fmt: skip
    field = Field.of(SQUARE, Polygon(), hole, R)
    told = weighed(patches, plans(patches, [0.0] * len(patches), field, R), field, R, FARM, HERE)
    return replace(tallies.day(), ground=ground, patches=patches), told


def judged(said: tuple[Polygon, ...], true: tuple[Polygon, ...]) -> list[tuple[object, object]]:
    tally, told = day(*said)
    truth, known = day(*true)
    found = labels(tally, truth.patches, truth.ground.bare, told, known, FARM, R, 2.0)
    return [(x["said"], x["true"]) for x in found]


def test_what_is_as_it_was_said_has_the_label_that_was_said() -> None:
    assert judged((WORTHY,), (WORTHY,)) == [("worth it", "worth it")]
    assert judged((SMALL,), (SMALL,)) == [("your call", "your call")]


def test_where_nothing_is_bare_leave_is_true_and_nothing_else() -> None:
    elsewhere = box(100, 100, 140, 107.5)
    assert judged((WORTHY,), (elsewhere,)) == [("worth it", "leave")]
    corner = box(0, 0, 12, 12)
    assert judged((corner,), (elsewhere,)) == [("leave", "leave")]


def test_ground_truly_smaller_or_larger_has_its_own_label() -> None:
    assert judged((WORTHY,), (SMALL,)) == [("worth it", "your call")]
    assert judged((SMALL,), (WORTHY,)) == [("your call", "worth it")]


def test_a_plan_that_misses_true_ground_is_no_excuse() -> None:
    # the said shape is a sliver of the true one: its run sows little, the truth has a better one
    sliver = box(320, 400, 360, 400.6)
    assert judged((sliver,), (WORTHY,)) == [("leave", "worth it")]


def test_a_run_told_that_truly_repays_is_right_where_it_lies_a_little_aside() -> None:
    aside = shapely.affinity.translate(WORTHY, 0.0, 0.8)
    assert judged((aside,), (WORTHY,)) == [("worth it", "worth it")]


def test_parts_of_one_true_patch_count_once_and_the_largest_does() -> None:
    parts = box(320, 400, 336, 407.5), box(338, 400, 360, 407.5)
    assert len(judged(parts, (WORTHY,))) == 1


@pytest.mark.parametrize("there", [False, True])
def test_a_patch_that_an_open_answer_may_close_is_told_apart_with_what_of_it_is_bare(
    there: bool,
) -> None:
    hanging = tallies.patch(1, WORTHY, 0.7, width_m=7.5, asks=(4,))
    sure = tallies.patch(2, box(320, 200, 360, 207.5), 1.0, width_m=7.5)
    tally, told = told_of(hanging, sure)
    # half of what hangs on the answer is bare, or nothing of it
    half = box(320, 400, 340, 407.5)
    truth, known = day(sure.outline, *([half] if there else []))
    bare = truth.ground.bare
    found = labels(tally, truth.patches, bare, told, known, FARM, R, 2.0)
    assert [x["m2"] for x in found] == [sure.area_m2]
    (apart,) = asked(tally, truth.patches, bare, told)
    assert apart == {
        **{"m2": 300.0, "said": "ask first"},
        **{"bare": there, "bare_m2": pytest.approx(150.0 if there else 0.0)},
    }


def test_a_sure_patch_that_is_told_with_one_to_be_asked_about_is_told_apart_too() -> None:
    sure = tallies.patch(1, WORTHY, 1.0, width_m=7.5)
    tally, told = told_of(sure)
    first = replace(told, groups=tuple(replace(g, label="ask first") for g in told.groups))
    truth, known = day(WORTHY)
    bare = truth.ground.bare
    assert labels(tally, truth.patches, bare, first, known, FARM, R, 2.0) == []
    (apart,) = asked(tally, truth.patches, bare, first)
    assert (apart["said"], apart["bare"]) == ("ask first", True)
    assert asked(tally, truth.patches, bare, told) == []


@pytest.mark.parametrize(("part", "stands"), [(0.2, False), (0.3, True)])
def test_a_patch_stands_for_one_that_it_shares_a_quarter_of_the_smaller_with(
    part: float, stands: bool
) -> None:
    said: Patch = tallies.patch(1, WORTHY, 1.0, width_m=7.5)
    true = tallies.patch(2, shapely.affinity.translate(WORTHY, 40.0 * (1 - part)), 1.0, width_m=7.5)
    assert (stands_for(said, [true]) is true) is stands
