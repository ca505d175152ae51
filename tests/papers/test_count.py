"""The count sticker says what the rig card allows, and a blank for what it does not."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from shapely.geometry import LineString

from papers import given
from unsown.formats.units import Units
from unsown.papers.count import margin_of, rig_of, sticker, working_speed
from unsown.papers.scene import Way

HA, ACRES = Units(), Units(acres=True)
LINE = LineString([(0, 0), (450, 0)])


def way(speed_m_s: float, length_m: float = 450.0) -> Way:
    ms = round(1000 * length_m / speed_m_s)
    return Way(1, LINE, 0, ms, ms, length_m)


def plain(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def card(times: str) -> dict[str, object]:
    return given.rig_json(given.CARD.partition("[times]")[0] + times)


def test_the_demo_rig_at_the_speed_driven_counts_four_and_three_and_a_half() -> None:
    # job paper 3.14: 4.2 s after, 3.4 s before; here by the eye's spread and the farm's prices
    said = plain(sticker(given.rig_json(given.CARD), [way(7.5 / 3.6)], given.SETTINGS, HA))
    assert "at 7.5 km/h (holds from 6.4 km/h to 8.6 km/h)" in said
    assert "Lift count 4 after the phone crosses the line (8 m)" in said
    assert "Lower 3½ s before the phone crosses the line (7 m)" in said
    assert "each 1 m behind it: ½ s sooner" in said


def test_a_card_that_knows_the_seat_counts_from_the_seat() -> None:
    # a metre ahead of the seat is half a second at that speed
    toml = given.CARD.replace("[phone]\n", "[phone]\nahead_of_seat_m = 1.0\n")
    assert "ahead_of_seat" in toml
    said = plain(sticker(given.rig_json(toml), [way(7.5 / 3.6)], given.SETTINGS, HA))
    assert "Lift count 3½ after your seat crosses the line (7 m)" in said
    assert "Lower 4 s before your seat crosses the line (8 m)" in said
    assert "By the phone" not in said


def test_with_acres_it_is_miles_an_hour_and_feet() -> None:
    said = plain(sticker(given.rig_json(given.CARD), [way(7.5 / 3.6)], given.ACRES, ACRES))
    assert "at 4.7 mph" in said
    assert "(28 ft)" in said
    assert "each 3 ft behind it" in said


def test_without_a_run_it_stands_for_three_usual_speeds() -> None:
    said = plain(sticker(given.rig_json(given.CARD), [], given.SETTINGS, HA))
    assert "6.0 km/h 7.5 km/h 9.0 km/h" in said
    assert "lift 5 s after 4 s after 3½ s after" in said


def test_a_card_without_times_gives_blanks_and_says_what_to_do() -> None:
    said = plain(sticker(card(""), [way(2.0)], given.SETTINGS, HA))
    assert "no times: measure them" in said
    assert said.count("______") == 2
    assert not re.search(r"count \d", said)


def test_a_time_that_was_not_measured_is_not_taken_for_zero() -> None:
    said = plain(sticker(card("[times]\nraise_s = 0.6\n"), [way(2.0)], given.SETTINGS, HA))
    assert re.search(r"Lift count [\d½]+ after", said)
    assert "Lower ______" in said


def test_without_a_card_there_is_no_count() -> None:
    said = plain(sticker(None, [way(2.0)], given.SETTINGS, HA))
    assert "no rig card" in said
    assert not re.search(r"\d", said)


def test_safety_stands_on_every_sticker() -> None:
    for rig in (None, card(""), given.rig_json(given.CARD)):
        assert "Never under a raised tool" in plain(sticker(rig, [], given.SETTINGS, HA))


def test_the_speed_is_the_middle_of_the_long_stretches() -> None:
    ways = [way(2.0), way(2.1), way(2.2), way(0.4, 30.0)]
    assert working_speed(ways) == pytest.approx(2.1, abs=1e-3)
    assert working_speed([way(2.0, 50.0)]) is None
    assert working_speed([replace(way(2.0), to_ms=0)]) is None


def test_the_margin_comes_from_the_farms_prices_and_is_half_a_metre_without() -> None:
    rig = rig_of(given.rig_json(given.CARD))
    assert rig is not None
    assert margin_of(rig, 7.5 / 3.6, given.PRICES) == pytest.approx(0.94, abs=0.01)
    assert margin_of(rig, 7.5 / 3.6, given.PRICES | {"seed_price_kg": None}) == 0.5
    assert margin_of(rig, 7.5 / 3.6, {}) == 0.5
    worthless = given.PRICES | {"grain_price_t": 0.0, "weed_penalty_ha": 0.0}
    assert margin_of(rig, 7.5 / 3.6, worthless) == 0.5
