"""What the second driver reads, who has the paper and nothing else."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

import tallies
from papers import given
from papers.test_sheet import plain
from unsown.papers import handover, sheet, slip
from unsown.papers.furniture import numbers

MADE_MS = given.T_MS + 86_400_000


def handed(made: Mapping[str, Any]) -> str:
    return handover.page(made["work"], made["paddock"], given.SETTINGS, MADE_MS)


def slipped(*makes: Mapping[str, Any]) -> str:
    rows = [given.today(made) | {"id": f"p{n}"} for n, made in enumerate(makes)]
    return slip.page({"day": "2025-05-03", "paddocks": rows}, given.SETTINGS, MADE_MS)


def test_it_asks_what_only_the_driver_who_goes_can_answer_with_a_box_for_each_answer() -> None:
    text = plain(handed(given.with_upshot(given.crowded())))
    assert "Ask who drove ?1 3 May 08:10 to 08:12: no position the tool was down up unsure" in text
    assert "and 4 more questions at home" in text
    assert "Ask who drove" not in plain(handed(given.nothing("none")))


def test_all_stops_of_the_way_are_told_in_order_those_without_room_by_number() -> None:
    made = given.with_upshot(given.by_hand())
    html = handed(made)
    assert "then the gate" not in html
    now = made["work"]["worth"]["now"]
    now["blocks"] = [[0]] * 9 + [[0, 1], [1]]
    html = handed(made)
    assert html.count('<td class="box">') == 8
    assert "Then 4, 2+4, 2, then the gate." in html
    assert "the way: tool up, down" in html


def test_what_can_hurt_is_said_on_the_handover_and_on_every_slip() -> None:
    text = plain(handed(given.with_upshot(given.crowded())))
    for needed in (
        *("3 m (10 ft) from any line", "engine off, key out", "Never under a raised tool"),
        *("overhead wire 2 (hazard)", "survey pin by the cul… (hazard)", "not where to steer"),
    ):
        assert needed in text, needed
    for makes in ([], [given.by_hand()], [given.crowded()] * 5, [given.crowded()] * 6):
        assert "3 m (10 ft) from any line" in plain(slipped(*makes))


def test_a_paddock_not_begun_leaves_a_rule_for_the_pen_wherever_nothing_is_known() -> None:
    html = handed(given.nothing("none"))
    text = plain(html)
    for needed in ("seed kg = ha = rounds", "at going", "B pole", "from to"):
        assert needed in text, needed
    assert html.count('class="blank') >= 14
    assert "Read out" not in text


def test_a_day_without_work_says_what_to_do_if_there_was_some() -> None:
    text = plain(slipped())
    assert "Nothing was logged on this day. If there was work, carry the phone's log in" in text


def test_the_numbers_on_a_small_map_are_those_of_the_list_beside_it() -> None:
    html = slipped(*[given.with_upshot(given.crowded())] * 3)
    block = html.split('<section class="block">')[1]
    rows = set(re.findall(r"<th>(\d+)</th>", block))
    drawn = set(re.findall(r'<circle [^>]*r="1[234]"[^>]*/><text[^>]*>(\d+)</text>', block))
    assert rows == drawn == {"4", "2", "1"}


def test_what_is_not_listed_is_told_by_number_in_its_order() -> None:
    made = given.with_upshot(given.crowded())
    html = sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, MADE_MS)
    assert "more on the map: " in plain(html)
    assert numbers([9, 8, 12, 13, 19, 20, 21, 22]) == "9, 8, 12, 13, 19 to 22"
    assert numbers([]) == ""


@pytest.mark.parametrize("pegs", [["gate"], ["gate", "corner"]])
def test_the_peg_line_says_what_to_do_at_the_peg(pegs: list[str]) -> None:
    made = given.by_hand()
    peg = made["work"]["pegs"][0]
    made["work"]["pegs"] = [{**peg, "name": name} for name in pegs]
    html = sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, MADE_MS)
    assert f"peg check first at {' or '.join(pegs)} (3 May)" in plain(html)


def test_where_two_rigs_were_out_it_says_whose_the_bins_and_the_restart_are() -> None:
    made = given.with_upshot(given.by_hand())
    cards = [
        {"id": i, "name": n, "version": 1} for i, n in (("a", "Long drill"), ("b", "Wide bar"))
    ]
    one = plain(handed(made))
    assert "worked here too" not in one
    made["work"] |= {"rig": "Long drill", "rigs": cards}
    told = "Wide bar worked here too: bins and restart are of Long drill alone"
    html = sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, MADE_MS)
    assert told in plain(handed(made))
    assert told in plain(html)


def test_a_stop_that_hangs_on_an_answer_says_so_in_the_way_in_the_list_and_by_radio() -> None:
    made = given.with_upshot(given.by_hand())
    assert "ask first" not in plain(handed(made)).lower()
    tally = tallies.day()
    hangs = replace(tally.patches[3], call="likely", chance=0.7, asks=(1,))
    tally = replace(tally, patches=(*tally.patches[:3], hangs))
    for feature in made["work"]["ground"]["features"]:
        if feature["properties"].get("number") == 4:
            feature["properties"] |= {"call": "likely", "chance": 0.7, "asks": [1]}
    made = given.with_upshot(made, tally)
    text = plain(handed(made))
    assert (
        "Ask the driver first: 1 question about 0.34 ha of doubt; patch 4 may be sown after all"
        in text
    )
    assert re.search(r"4 middle, [^;]*; from the [a-z-]+, [^;]*; ask first \(\?1\)", text)
    assert "Next: ask first, patch 4 may be sown; then go back for" in text
    html = sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, MADE_MS)
    assert "4 640 m² likely ask first middle" in plain(html)


def test_each_cause_says_how_far_it_may_be_off_where_that_is_known() -> None:
    made = given.with_upshot(given.by_hand())
    waste = made["work"]["waste"]
    assert "±" not in plain(slipped(made))
    waste["spread_ha"] = {"between runs": 0.13, "headland ends": 0.03}
    text = plain(slipped(made))
    assert "2.43 ± 0.13 ha C$ 4" in text
    assert "0.40 ± 0.03 ha" in text
    assert "0.14 ha C$" in text
