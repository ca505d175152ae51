"""Two phones that both keep one log after a handover: home has both, and says so."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

import farms
from keepers import FIRST, MINUTE, T0, Entry, at, presses, taking, text
from unsown.service.farm import Farm


@pytest.fixture
def farm(tmp_path: Path) -> Any:
    with farms.computing(tmp_path, clock=farms.Clock(T0 + 120 * MINUTE)) as made:
        yield made


def come_home(farm: Farm, logs: Mapping[str, list[Entry]]) -> list[dict[str, Any]]:
    """Both phones are at home; what the board says of them."""
    for dev, entries in logs.items():
        farm.take_entries(dev, 1, text(dev, entries))
    found: list[dict[str, Any]] = farm.board()["rivals"]
    return found


@pytest.mark.parametrize("order", [("first", "second"), ("second", "first")])
def test_two_keepers_after_a_handover_are_told_on_the_board_whoever_comes_home_first(
    farm: Farm, order: tuple[str, str]
) -> None:
    logs = {
        "first": [*FIRST, *presses(20, 25, 30, 40)],
        "second": [*taking(10, "first", 2), *presses(15, 22, 35, 50)],
    }
    [told] = come_home(farm, {dev: logs[dev] for dev in order})
    assert (told["earlier"], told["later"]) == ("first", "second")
    assert told["since_ms"] == T0 + 20 * MINUTE
    assert told["until_ms"] == T0 + 40 * MINUTE


def test_each_of_two_keepers_hears_of_the_other_when_it_carries_home(farm: Farm) -> None:
    come_home(farm, {"first": [*FIRST, *presses(20, 25)],
                     "second": [*taking(10, "first", 2), *presses(15, 22, 35)]})  # fmt: skip
    assert farm.held("first").also == "second"
    assert farm.held("second").also == "first"
    assert farm.held("third").also is None


def test_hours_after_only_one_went_on_the_phones_are_told_no_more(tmp_path: Path) -> None:
    with farms.computing(tmp_path, clock=farms.Clock(T0 + 6 * 60 * MINUTE)) as farm:
        logs = {"first": [*FIRST, *presses(20, 25)],
                "second": [*taking(10, "first", 2), *presses(15, 22, 35)]}  # fmt: skip
        assert len(come_home(farm, logs)) == 1
        assert farm.held("first").also is None


def test_a_log_that_was_handed_on_as_it_should_be_is_told_of_by_nobody(farm: Farm) -> None:
    walked = at(12, "phone", what="page", now="hidden")
    logs = {"first": [*FIRST, walked], "second": [*taking(10, "first", 2), *presses(15, 22)]}
    assert come_home(farm, logs) == []


def test_a_log_that_was_taken_back_the_same_way_has_one_keeper_at_a_time(farm: Farm) -> None:
    logs = {
        "first": [*FIRST, *taking(30, "second", 4), *presses(35, 40, 45)],
        "second": [*taking(10, "first", 2), *presses(15, 25)],
    }
    assert come_home(farm, logs) == []


def test_a_phone_that_took_a_log_over_and_never_pressed_is_no_keeper(farm: Farm) -> None:
    logs = {"first": [*FIRST, *presses(20, 25, 30)], "second": taking(10, "first", 2)}
    assert come_home(farm, logs) == []


def test_phones_that_named_different_rig_cards_keep_a_log_each(farm: Farm) -> None:
    logs = {
        "first": [at(-1, "rig", card="big"), *FIRST, *presses(20, 25)],
        "second": [*taking(10, "first", 3), at(11, "rig", card="small"), *presses(15, 22, 35)],
    }
    assert come_home(farm, logs) == []
    logs["second"][2]["card"] = "big"
    logs = {f"{dev}-2": entries for dev, entries in logs.items()}
    logs["second-2"][1]["from_dev"] = "first-2"
    [told] = come_home(farm, logs)
    assert told["earlier"] == "first-2"
