"""The table a farmer reads and the object a program reads."""

from __future__ import annotations

import json
import math

import pytest
from shapely.geometry import box

import tallies
from unsown.core.place import place_of
from unsown.formats.place import degrees, in_words
from unsown.formats.report import to_json, to_object, to_table
from unsown.formats.units import Units


def test_the_object_survives_its_text() -> None:
    day = tallies.day()
    assert json.loads(to_json(day, "Dry Ladle")) == to_object(day, "Dry Ladle")


def test_the_objects_areas_still_add_up_after_rounding() -> None:
    said = to_object(tallies.day(), "Dry Ladle")
    states = ("sown_ha", "part_ha", "bare_ha", "doubt_ha", "unreachable_ha")
    assert sum(said[k] for k in states) == pytest.approx(said["paddock"]["net_ha"], abs=1e-4)


def test_a_number_the_day_does_not_have_is_null_and_never_nan() -> None:
    text = to_json(tallies.day(hours=math.nan), "Dry Ladle")
    assert json.loads(text)["hours"] is None
    assert "NaN" not in text


def test_the_json_is_plain_ascii_so_that_no_pipe_can_spoil_it() -> None:
    text = to_json(tallies.day(), "Grüne Höhe 東")
    assert text.isascii()
    assert json.loads(text)["paddock"]["name"] == "Grüne Höhe 東"


def test_settling_that_was_off_is_null() -> None:
    assert to_object(tallies.day(settle=None), "x")["settle"] is None


def test_the_table_says_how_sure_each_patch_is() -> None:
    rows = to_table(tallies.day(), "Dry Ladle").splitlines()
    assert any(r.split()[:4] == ["1", "280", "m²", "sure"] for r in rows)
    assert any("can't tell  strip" in r for r in rows)
    assert any("Look at the furrow" in r for r in rows)


def test_without_a_doubtful_patch_there_is_no_advice_to_look() -> None:
    sure = tuple(p for p in tallies.day().patches if p.call == "sure")
    assert "Look at the furrow" not in to_table(tallies.day(patches=sure), "Dry Ladle")


def test_a_day_with_nothing_bare_says_so() -> None:
    assert "No bare patch was found." in to_table(tallies.day(patches=()), "Dry Ladle")


def test_every_question_stands_with_its_answers_and_their_areas() -> None:
    table = to_table(tallies.day(), "Dry Ladle")
    assert "03 May 14:10:00 to 14:12:40" in table
    assert "down (3400 m² sown)   up   unsure" in table
    assert "times are UTC" in table


def test_the_table_always_ends_with_who_decides() -> None:
    for day in (tallies.day(), tallies.day(patches=(), questions=(), notes=(), dropped={})):
        assert "You decide and you drive" in to_table(day, "x").splitlines()[-2]


def test_a_long_list_is_cut_and_says_by_how_much() -> None:
    many = tuple(tallies.patch(i, box(i, 0, i + 10, 10)) for i in range(1, 41))
    table = to_table(tallies.day(patches=many), "x")
    assert "and 25 more: --json lists them all" in table


@pytest.mark.parametrize(
    ("m2", "metric", "acres"),
    [
        (6.4, "6.4 m²", "0.0016 ac"),
        (287.0, "290 m²", "0.071 ac"),
        (1061.0, "1100 m²", "0.26 ac"),
        (6700.0, "0.67 ha", "1.7 ac"),
        (99.6, "100 m²", "0.025 ac"),
    ],
)
def test_a_patch_is_told_to_two_figures(m2: float, metric: str, acres: str) -> None:
    assert Units().size(m2) == metric
    # the international acre is 4046.8564224 m² by definition
    assert Units(acres=True).size(m2) == acres


def test_distances_are_told_as_they_would_be_paced() -> None:
    assert [Units().distance(m) for m in (2.4, 23.0, 478.0)] == ["2 m", "25 m", "480 m"]
    assert Units(acres=True).distance(30.48) == "100 ft"


@pytest.mark.parametrize(
    ("corner", "side"),
    [
        ((-415, 410), "north-west"),
        ((45, 410), "north"),
        ((500, -470), "south-east"),
        ((20, -20), "middle"),
        ((-415, -40), "west"),
    ],
)
def test_a_place_is_named_by_the_thirds_of_the_paddock(corner: tuple[int, int], side: str) -> None:
    x, y = corner
    assert place_of(box(x, y, x + 5, y + 5), tallies.outline()).side == side


def test_a_patch_at_the_fence_says_so_and_one_inside_says_how_far() -> None:
    at, inside = box(-420, 100, -410, 110), box(-380, 100, -370, 110)
    assert in_words(place_of(at, tallies.outline()), Units()).endswith("at the fence")
    assert in_words(place_of(inside, tallies.outline()), Units()).endswith("40 m in from the fence")


def test_a_patch_behind_an_obstacle_is_told_by_it() -> None:
    net = tallies.day().ground.net
    assert "beside a keep-out" in in_words(place_of(box(-150, -78, -140, -74), net), Units())


def test_the_nearer_end_of_a_side_is_named() -> None:
    place = place_of(box(-425, 300, -415, 310), box(-420, -480, 520, 420))
    assert (place.side, place.end) == ("north-west", "")
    place = place_of(box(0, 405, 10, 415), box(-420, -480, 520, 420))
    assert (place.side, place.end) == ("north", "west")
    assert place.along_m == pytest.approx(425)


@pytest.mark.parametrize(
    ("lon", "lat", "said"),
    [(-106.21, 49.73, "49.73000 N 106.21000 W"), (179.999, -41.5, "41.50000 S 179.99900 E")],
)
def test_a_position_says_its_hemispheres(lon: float, lat: float, said: str) -> None:
    assert degrees(lon, lat) == said
