"""The next action follows from what is known, and nothing in it was not computed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from shapely.geometry import box

import tallies
from papers import given
from unsown.formats.units import Units
from unsown.papers.advice import Advice, advice, left_over
from unsown.papers.going import going_of
from unsown.papers.lines import ground
from unsown.papers.scene import Scene, scene_of


def scene(made: dict[str, Any] | None = None) -> Scene:
    made = made or given.by_hand()
    return scene_of(
        "Dry Ladle", made["paddock"]["geojson"], made["work"]["ground"], at_ms=given.T_MS
    )


def told(shown: Scene, state: str = "ready", **changes: Any) -> Advice:
    tally = given.by_hand()["work"]["tally"] | {"questions": [], "doubt_ha": 0.0} | changes
    return advice(state, tally, shown, Units())


def with_patches(*patches: Any) -> Scene:
    return replace(scene(), patches=patches)


def test_bare_patches_are_told_with_their_number_size_and_how_sure() -> None:
    said = told(scene())
    assert said.first == (
        "Go back for 3 bare patches, 1100 m² in all: 2 sure and 1 likely. Largest: "
        "4 (640 m², pocket, middle), 1 (280 m², corner, north-west) and 2 (150 m², finish, north)."
    )
    assert said.then == ("Look at the furrow at patch 3: can't tell, it could be the satellites.",)


def test_a_large_part_that_was_never_reached_comes_first_and_is_no_loose_end() -> None:
    rest = tallies.patch(1, box(-400, -450, 100, -100), width_m=350.0)
    small = tallies.patch(2, box(300, -300, 330, -280), 0.7)
    shown = with_patches(rest, small)
    assert left_over(shown) == [rest]
    said = told(shown)
    assert said.first == "Carry on sowing: 17.50 ha (patch 1, in the south) not sown yet."
    assert said.then[0].startswith("Then go back for 1 bare patch, 600 m² in all: 1 likely.")


def test_a_long_narrow_strip_is_a_loose_end_however_large() -> None:
    strip = tallies.patch(1, box(-400, -450, 480, -450 + 40), width_m=16.0)
    assert left_over(with_patches(strip)) == []


def test_where_more_is_in_doubt_than_bare_the_driver_is_asked_first() -> None:
    questions = given.by_hand()["work"]["tally"]["questions"]
    said = told(scene(), questions=questions, doubt_ha=0.5)
    assert said.first == "Ask the driver first: 1 question about 0.50 ha of doubt."
    last = told(scene(), questions=questions, doubt_ha=0.01)
    assert last.first.startswith("Go back")
    assert last.then[-1] == "Ask the driver: 1 question about 0.01 ha of doubt."


def test_what_may_be_none_after_an_answer_is_asked_about_before_it_is_driven_for() -> None:
    questions = given.by_hand()["work"]["tally"]["questions"]
    beside = tallies.patch(5, box(300, -300, 330, -280), 0.7, asks=(1,))
    far = tallies.patch(7, box(300, -200, 330, -180), 0.7)
    said = told(with_patches(beside, far), questions=questions, doubt_ha=0.01)
    assert said.first == (
        "Ask the driver first: 1 question about 0.01 ha of doubt; patch 5 may be sown after all."
    )
    assert said.then[0].startswith("Go back for 2 bare patches")
    rest = tallies.patch(1, box(-400, -450, 100, -100), width_m=350.0)
    said = told(with_patches(rest, beside), questions=questions, doubt_ha=0.01)
    assert said.first.startswith("Carry on sowing")
    assert said.then[0].startswith("Ask the driver first")


def test_nothing_bare_is_told_with_what_a_phone_cannot_find() -> None:
    said = told(with_patches())
    assert said.first.startswith("No bare patch to go back for was found.")
    assert "30 cm miss" in said.first
    assert "blocked opener" in said.first
    acres = advice("ready", given.by_hand()["work"]["tally"] | {"questions": []},
                   with_patches(), Units(acres=True))  # fmt: skip
    assert "1 ft miss" in acres.first


def test_only_a_cannot_tell_is_looked_at_and_not_driven() -> None:
    said = told(with_patches(tallies.patch(7, box(-300, -475, 100, -473), 0.3)))
    assert said.first == "Look at the furrow at patch 7: can't tell, it could be the satellites."
    assert "No bare patch" in said.then[0]


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("none", "Not begun"),
        ("computing", "Still being computed"),
        ("failed", "could not be computed"),
        ("ready", "Worked again on a later day"),
    ],
)
def test_without_a_tally_it_says_why_and_gives_no_number(state: str, said: str) -> None:
    found = advice(state, None, scene(), Units(), why="There is no rig card.")
    assert said in found.first
    assert not any(letter.isdigit() for letter in found.first)
    assert found.then == ("There is no rig card.",)


def test_the_way_back_begins_at_a_named_patch_from_a_named_side_with_no_false_precision() -> None:
    made = given.with_upshot(given.by_hand())
    work = made["work"]
    going = going_of(work["worth"] | {"currency": "C$"})
    assert going is not None
    run = work["worth"]["now"]["stops"][0]["run"]
    tally = work["tally"] | {"questions": []}
    said = advice("ready", tally, scene(made), Units(), going=going)
    assert said.first.startswith("Go back for 2 patches worth it: 790 m², about 1 min. ")
    assert f"First patch {min(map(int, run['covers']))} (640 m², pocket, middle)" in said.first
    assert said.first.endswith(f", from the {run['from_side']}.")
    net = next(x for x in said.then if x.startswith("Net "))
    assert net.startswith(f"Net about C$ {work['worth']['now']['net']:.0f} going now; coming back")


@pytest.mark.parametrize(
    ("value", "said"),
    [(339.4, "about C$ 340"), (1612.0, "about C$ 1600"), (-43.2, "about −C$ 43"),
     (0.2, "about C$ 0"), (-0.2, "about C$ 0"), (8.6, "about C$ 9")],
)  # fmt: skip
def test_money_on_paper_has_two_figures(value: float, said: str) -> None:
    going = going_of(given.with_upshot(given.by_hand())["work"]["worth"])
    assert going is not None
    assert going.money(value) == said


def test_old_numbers_are_called_old_while_new_entries_are_computed() -> None:
    said = told(scene(), state="computing")
    assert said.first.startswith("Go back")
    assert "print again" in said.then[-1]


RIGS = [{"name": "big", "sown_ha": 3.2288}, {"name": "small", "sown_ha": 2.2681}]


def between(**changes: Any) -> dict[str, Any]:
    """A seam of 324 m in the middle of the paddock."""
    middle = scene().net.centroid
    lon, lat = scene().plane.to_degrees([middle.x], [middle.y])
    seam = {"rigs": [0, 1], "length_m": 324.0, "gap_m": 1.29, "sigma_m": 2.71, "chance": 0.567}
    return seam | {"lon": float(lon[0]), "lat": float(lat[0])} | changes


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "can't tell, the phones may lie 5.4 m apart."),
        ({"sigma_m": 0.5}, "about 1.3 m left, give or take 0.5 m."),
        ({"sigma_m": 0.5, "gap_m": -0.4}, "about 0.4 m of overlap, give or take 0.5 m."),
    ],
)
def test_a_seam_between_rigs_that_is_not_known_is_to_be_looked_at(
    changes: dict[str, Any], words: str
) -> None:
    said = told(scene(), rigs=RIGS, between=[between(**changes)])
    where = "Look at the furrow along the seam between big and small (middle, 320 m): "
    assert where + words in said.then


def test_an_open_seam_is_to_be_sown_and_a_closed_one_is_not_told() -> None:
    said = told(scene(), rigs=RIGS, between=[between(chance=0.95)])
    assert any(x.startswith("Go back along the seam") and "1.3 m left" in x for x in said.then)
    shut = told(scene(), rigs=RIGS, between=[between(chance=0.05)])
    assert "seam" not in " ".join((shut.first, *shut.then))


def test_where_no_patch_is_worth_it_what_is_to_be_looked_at_comes_first() -> None:
    made = given.with_upshot(given.by_hand())
    made["work"]["worth"]["now"]["groups"] = [
        group | {"label": "leave"} for group in made["work"]["worth"]["now"]["groups"]
    ]
    tally = made["work"]["tally"] | {"questions": [], "rigs": RIGS, "between": [between()]}
    said = advice("ready", tally, scene(made), Units(), going=going_of(made["work"]["worth"]))
    assert said.first.startswith("Look at the furrow along the seam")
    assert any(x.startswith("No patch is worth going back for") for x in said.then)


def test_what_each_of_several_rigs_sowed_stands_beside_the_whole() -> None:
    tally = given.by_hand()["work"]["tally"]
    assert "(big 3.23&nbsp;ha, small 2.27&nbsp;ha)" in ground(
        tally | {"rigs": RIGS}, scene(), Units()
    )
    assert "big" not in ground(tally | {"rigs": RIGS[:1]}, scene(), Units())


@pytest.mark.parametrize(
    ("examples", "words"),
    [
        (("trip_min",), "The time of the road is an example: set your own."),
        (("seed_price_kg",), "One of the prices is an example: set your own."),
        (("seed_price_kg", "grain_price_t"), "2 of the prices are examples: set your own."),
        (
            ("seed_price_kg", "trip_min"),
            "One of the prices and the time of the road are examples: ",
        ),
        ((), ""),
    ],
)
def test_what_is_an_example_is_said_as_a_sentence(examples: tuple[str, ...], words: str) -> None:
    made = given.with_upshot(given.by_hand())
    going = going_of(made["work"]["worth"])
    assert going is not None
    told = replace(going, examples=examples).borrowed()
    assert told.startswith(words)
    assert bool(told) == bool(words)
