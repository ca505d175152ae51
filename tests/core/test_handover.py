"""What is handed over after a computed day, by days whose truth is plain."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box

import tallies
from unsown.core.handover import Aboard, Beside, Handover, Spot, handover, not_reached
from unsown.core.place import Place
from unsown.core.rigs import Between, Share
from unsown.core.words import Way
from unsown.formats.eight import BLANK, eight
from unsown.formats.handed import from_json, to_json
from unsown.formats.script import MOST, script, spoken
from unsown.formats.units import Units

T0 = 1_778_745_600_000
HA, AC = Units(), Units(acres=True)


def way(run: int, from_s: float, x: list[float], y: list[float]) -> Way:
    n = len(x)
    t = from_s + np.arange(n, dtype=float)
    return Way(run, "cab", 8.4, 100.0, t, np.asarray(x), np.asarray(y), np.zeros(n))


WAYS = (
    way(2, 500.0, [0.0, 0.0, 0.0], [-300.0, -200.0, -100.0]),
    way(1, 100.0, [0.0, 100.0, 200.0], [-300.0, -300.0, -300.0]),
)


def made(beside: Beside | None = None, **changes: object) -> Handover:
    tally = replace(tallies.day(), **{"ways": WAYS, **changes})
    return handover(tally, tallies.PLANE, T0, T0 + 600_000, beside or Beside("Dry Ladle"))


def test_the_openers_stopped_where_the_last_stretch_ends_and_going_the_way_it_went() -> None:
    stopped = made().stopped
    assert stopped is not None
    assert stopped.t_ms == T0 + 502_000
    x, y = tallies.PLANE.to_xy(np.asarray([stopped.lon_deg]), np.asarray([stopped.lat_deg]))
    assert (x[0], y[0]) == (pytest.approx(0.0, abs=1e-3), pytest.approx(-100.0, abs=1e-3))
    assert stopped.going == "north"


def test_a_stretch_of_one_position_has_no_direction_and_no_stretch_no_stop() -> None:
    one = made(ways=(way(1, 5.0, [10.0], [20.0]),)).stopped
    assert one is not None
    assert one.going == ""
    assert made(ways=()).stopped is None


def test_listed_patches_are_loose_ends_and_those_that_cannot_be_told_are_for_a_look() -> None:
    h = made()
    assert {s.number for s in h.loose} == {1, 2, 4}
    assert [s.number for s in h.look] == [3]
    assert [s.area_m2 for s in h.loose] == sorted((s.area_m2 for s in h.loose), reverse=True)
    assert h.rest == ()


def test_a_large_piece_is_not_a_loose_end_but_ground_not_reached_yet() -> None:
    tally = tallies.day()
    big = tallies.patch(9, box(100, -480, 480, -100), width_m=300.0)
    strip = tallies.patch(8, box(-420, -480, 520, -440), width_m=19.0)
    h = made(patches=(*tally.patches, big, strip))
    assert [s.number for s in h.rest] == [9]
    assert 8 in {s.number for s in h.loose}
    assert h.steps[0].todo == "carry on"
    assert not_reached([big], 1e9) == []


def test_nothing_sown_yet_says_to_begin() -> None:
    h = made(sown_ha=0.0, part_ha=0.0, doubt_ha=0.0, patches=(), ways=(), questions=())
    assert [s.todo for s in h.steps] == ["begin"]


def test_the_way_back_is_of_what_is_worth_it_with_its_minutes() -> None:
    labels = {1: "worth it", 2: "your call", 3: "look first", 4: "leave"}
    h = made(Beside("Dry Ladle", labels=labels, minutes=7.4), doubt_ha=0.0, questions=())
    assert [(s.todo, s.patches, s.minutes) for s in h.steps] == [
        ("go back", (1,), 7.4),
        ("look", (3,), None),
    ]


def test_a_seam_between_two_rigs_that_is_not_known_to_be_closed_is_to_be_looked_at() -> None:
    drill, bar = (Share(name, (name,), 1.0, 1.0, 1.0, 1.0) for name in ("drill", "long bar"))
    lon, lat = tallies.PLANE.to_degrees(np.asarray([0.0, 300.0]), np.asarray([0.0, 0.0]))
    middle, east = (Point(*at) for at in zip(lon, lat, strict=True))
    closed = Between((0, 1), 900.0, 0.0, 0.3, 0.02, east)
    short = Between((1, 0), 60.0, 1.2, 0.3, 0.97, east)
    long_ = Between((0, 1), 324.0, 1.29, 2.71, 0.57, middle)
    seams = (closed, short, long_)
    h = made(rigs=(drill, bar), between=seams, doubt_ha=0.0, questions=(), patches=())
    # the longest first, and the closed one not at all
    assert [(s.todo, s.side) for s in h.steps] == [("seam", "middle"), ("seam", "east")]
    assert [s.seam and s.seam.rigs for s in h.steps] == [
        ("drill", "long bar"),
        ("long bar", "drill"),
    ]
    assert dict(eight(h, HA, str))["Next"] == (
        "Look at the furrow along the seam between drill and long bar (middle, 320 m): "
        "can't tell, the phones may lie 5.4 m apart. "
        "Then go back along the seam between long bar and drill (east, 60 m): "
        "it is open, about 1.2 m left."
    )
    assert "Next: look at the seam between drill and long bar, middle" in script(h, HA)
    assert from_json(json.loads(json.dumps(to_json(h)))) == h


def test_what_was_handed_over_before_seams_were_told_can_still_be_read() -> None:
    h = made()
    older = to_json(h)
    older["steps"] = [{k: v for k, v in s.items() if k != "seam"} for s in older["steps"]]
    assert from_json(older) == h


def test_how_far_a_product_surely_goes_is_nine_times_in_ten() -> None:
    assert Aboard("seed", 800, "kg", 6.0, 1.0).ha_sure == pytest.approx(6.0 - 1.2816)
    assert Aboard("seed", 10, "kg", 0.1, 1.0).ha_sure == 0.0


def test_the_settled_picture_is_told_and_none_is_not_made_up() -> None:
    assert made().moved_m == 1.4
    assert made(settle=None).moved_m is None
    lines = dict(eight(made(settle=None), HA, str))
    assert "shifted" not in lines["Peg"]
    assert "shifted about 1.4 m to fit" in dict(eight(made(), HA, str))["Peg"]


def test_eight_lines_with_a_blank_for_what_is_not_known() -> None:
    lines = dict(eight(made(), HA, str))
    assert list(lines) == [
        *("Ground", "Next", "Bins", "Restart", "Hazards", "Machine", "Peg", "Who"),
    ]
    assert lines["Bins"] == f"seed {BLANK} kg; fertiliser {BLANK} kg; fuel {BLANK} L"
    assert lines["Machine"] == BLANK


def test_acres_are_said_in_acres_and_feet() -> None:
    lines = dict(eight(made(), AC, str))
    assert " ha" not in " ".join(lines.values())
    assert "about 5 ft" in lines["Peg"]


@pytest.mark.parametrize(
    ("text", "words"),
    [("0", 1), ("19", 1), ("20", 1), ("21", 2), ("100", 2), ("999", 4), ("120000", 4), ("7.05", 4)],
)
def test_a_number_has_as_many_words_as_it_is_spoken_with(text: str, words: int) -> None:
    assert spoken(text) == words  # counted by hand: nine hundred ninety nine


NAMES = st.text(st.characters(categories=["L", "N", "P", "Zs"]), max_size=60)
SPOTS = st.builds(
    Spot,
    number=st.integers(1, 99),
    area_m2=st.floats(6, 1e6),
    kind=st.just("corner"),
    call=st.sampled_from(["sure", "likely"]),
    place=st.builds(Place, st.just("north-west"), st.just(""), st.just(0.0), st.just("fence"),
                    st.just(1.0)),
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    name=NAMES,
    hazards=st.lists(NAMES, max_size=8),
    product=NAMES,
    ha=st.floats(0, 900),
    loose=st.lists(SPOTS, max_size=9),
    questions=st.integers(0, 40),
    acres=st.booleans(),
)
def test_a_script_is_never_longer_than_sixty_spoken_words(
    name: str,
    hazards: list[str],
    product: str,
    ha: float,
    loose: list[Spot],
    questions: int,
    acres: bool,
) -> None:
    aboard = (Aboard(product, 1000.0, "kg", ha, 0.5, 3),)
    h = made(Beside(name, aboard=aboard, hazards=tuple(hazards)), sown_ha=ha)
    said = script(replace(h, loose=tuple(loose), questions=questions), Units(acres))
    assert spoken(said) <= MOST
    assert all(word in said for word in ("Sown ", "Next: ", "hazard"))
