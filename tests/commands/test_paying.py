"""``unsown find --back``: what is worth going back for, on the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import smallday
from unsown.cli import main
from unsown.commands.paying import prices
from unsown.core.errors import UnsownError
from unsown.core.price import EXAMPLE


def find(tmp_path: Path, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str, str]:
    track, fence, card = smallday.write(tmp_path)
    code = main(["find", str(track), "--paddock", str(fence), "--rig", str(card), *more])
    said = capsys.readouterr()
    return code, said.out, said.err


def test_prices_that_are_not_given_are_an_example_and_are_named() -> None:
    made, trip, examples = prices(["seed_price_kg=0.5", "trip_min=20"])
    assert (made.seed_price_kg, made.tractor_h, trip) == (0.5, EXAMPLE.tractor_h, 20.0)
    assert not {"seed_price_kg", "trip_min"} & set(examples)
    assert "tractor_h" in examples
    assert len(examples) == 9


@pytest.mark.parametrize("text", ["seed=1", "tractor_h", "tractor_h=", "tractor_h=-1", "x=nan",
                                  "tractor_h=nan", "trip_min=inf"])  # fmt: skip
def test_a_price_that_is_none_is_refused_before_anything_is_computed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    with pytest.raises(UnsownError) as told:
        prices([text])
    assert told.value.code == "price"
    code, out, err = find(tmp_path, capsys, "--back", "--price", text)
    assert (code, out) == (2, "")
    assert "seed_price_kg=0.46 was expected" in err


def test_the_missed_end_is_told_with_its_worth_and_whose_judgement_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, _ = find(tmp_path, capsys, "--back")
    assert code == 0
    assert "Going back now: net " in out
    assert "  worth it   1" in out
    assert "yours to judge" in out
    assert "prices of an invented farm" in out
    assert re.search(r"Enter from the \w+, \d+ m\b", out)
    _, feet, _ = find(tmp_path, capsys, "--back", "--acres")
    assert re.search(r"Enter from the \w+, \d+ ft\b", feet)


def test_programs_get_it_as_a_key_always_metric(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = find(tmp_path, capsys, "--back", "--json", "--acres", "--price", "trip_min=0")
    worth = json.loads(out)["worth"]
    assert worth["trip_s"] == 0
    assert worth["now"]["groups"][0]["label"] == "worth it"
    assert re.search(r"\d m\b", worth["now"]["sentences"][0])
    _, plain, _ = find(tmp_path, capsys, "--json")
    assert "worth" not in json.loads(plain)
