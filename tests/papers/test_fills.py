"""The table for fills and the form at home have one order, and a row becomes log entries."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from papers import given
from unsown.core.errors import UnsownError
from unsown.papers import sheet
from unsown.papers.fills import COLUMNS, entries, form
from unsown.service.intake import entry_schema


def moment(t_ms: int) -> str:
    return datetime.fromtimestamp(t_ms / 1000, UTC).isoformat()


def test_the_form_asks_in_the_order_of_the_paper() -> None:
    made = given.by_hand()
    html = sheet.page(made["work"], made["paddock"], made["rig"], given.SETTINGS, given.T_MS)
    heads = re.findall(r"<th>([^<]+)</th>", html.partition('class="fills"')[2])
    assert len(heads) == 6
    for head, column in zip(heads, form(), strict=True):
        assert head.startswith(column["head"])
        assert head.endswith(column["unit"] or column["head"])


def test_a_row_becomes_a_fill_for_each_product() -> None:
    row = {"time": "14:20", "seed_kg": 2400, "fuel_l": "180,5", "place": "gate", "driver": "night"}
    seed, fuel = entries([row], "2026-05-14", given.SETTINGS, "p1")
    assert moment(seed["t_ms"]) == "2026-05-14T20:20:00+00:00"  # Regina is six hours behind
    assert (seed["product"], seed["kg"], seed["paddock"]) == ("seed", 2400.0, "p1")
    assert (fuel["product"], fuel["l"]) == ("fuel", 180.5)
    assert "kg" not in fuel
    assert {seed["place"], seed["driver"]} == {"gate", "night"}


def test_the_entries_are_such_as_the_log_takes() -> None:
    import jsonschema_rs

    row = {"time": "9:05", "seed_kg": 1, "fertiliser_kg": 2, "fuel_l": 3}
    made = entries([row], "2026-05-14", given.SETTINGS)
    assert len(made) == 3
    for entry in made:
        assert jsonschema_rs.is_valid(entry_schema(), entry)


def test_after_midnight_it_is_still_the_farms_day() -> None:
    (late,) = entries([{"time": "01:30", "seed_kg": 500}], "2026-05-14", given.SETTINGS)
    (early,) = entries([{"time": "04:00", "seed_kg": 500}], "2026-05-14", given.SETTINGS)
    assert moment(late["t_ms"]) == "2026-05-15T07:30:00+00:00"
    assert moment(early["t_ms"]) == "2026-05-14T10:00:00+00:00"


def test_empty_rows_and_cells_are_left_out() -> None:
    rows = [{}, {c.name: "" for c in COLUMNS}, {"time": "10:00", "seed_kg": 5, "driver": None}]
    (one,) = entries(rows, "2026-05-14", given.SETTINGS)
    assert "driver" not in one


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"time": "25:00", "seed_kg": 1}, "14:20 were expected"),
        ({"seed_kg": 1}, "14:20 were expected"),
        ({"time": "10:00", "seed_kg": "a lot"}, "a number of kg"),
        ({"time": "10:00", "seed_kg": -5}, "a number of kg"),
        ({"time": "10:00", "seed_kg": float("nan")}, "a number of kg"),
        ({"time": "10:00"}, "Nothing was filled in"),
        ({"time": "10:00", "seed": 5}, "no column 'seed'"),
    ],
)
def test_a_cell_that_cannot_be_read_is_told_with_its_row(row: dict[str, object], said: str) -> None:
    with pytest.raises(UnsownError, match=said) as error:
        entries([{}, row], "2026-05-14", given.SETTINGS)
    assert error.value.where == "row 2"
