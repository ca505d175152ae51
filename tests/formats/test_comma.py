"""Tables that leave the house: RFC 4180, and nothing in them that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from unsown.formats import comma


def read(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_lines_end_as_rfc_4180_says_and_cells_with_commas_are_quoted() -> None:
    data = comma.write(("name", "area_m2"), [{"name": 'Dry, "Ladle"', "area_m2": 12.5}])
    assert data == b'\xef\xbb\xbfname,area_m2\r\n"Dry, ""Ladle""",12.5\r\n'


def test_what_is_not_known_is_an_empty_cell() -> None:
    data = comma.write(("a", "b", "c"), [{"a": None, "b": math.nan}])
    assert read(data)[1] == ["", "", ""]


def test_numbers_stay_numbers_also_below_zero_and_very_small() -> None:
    row = {"lon": -106.2100948, "tiny": 1e-5, "whole": -3, "big": 1234567.0, "yes": True}
    told = read(comma.write(tuple(row), [row]))[1]
    assert told == ["-106.2100948", "0.00001", "-3", "1234567", "yes"]


# what begins a formula, from the list of the OWASP page on CSV injection
@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_a_text_that_would_be_a_formula_gets_an_apostrophe(sign: str) -> None:
    for text in (f"{sign}1+1", f"  {sign}cmd|' /C calc'!A0"):
        assert read(comma.write(("name",), [{"name": text}]))[1] == [f"'{text}"]


@given(st.lists(st.tuples(st.text(), st.text()), min_size=1, max_size=5))
def test_every_text_comes_back_and_none_begins_a_formula(rows: list[tuple[str, str]]) -> None:
    rows = [(a.replace("\x00", ""), b.replace("\x00", "") + ".") for a, b in rows]
    told = read(comma.write(("a", "b"), [{"a": a, "b": b} for a, b in rows]))[1:]
    for cells, texts in zip(told, rows, strict=True):
        for cell, text in zip(cells, texts, strict=True):
            assert cell in (text, f"'{text}")
            assert not cell.lstrip(" ").startswith(("=", "+", "-", "@"))
