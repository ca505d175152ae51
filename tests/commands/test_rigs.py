"""``unsown find`` with a rig card for each phone: what it takes; the order does not matter."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import numpy as np
import pytest

import pairs
from drives import START_MS, picked
from unsown.cli import main
from unsown.commands import riders
from unsown.core.errors import UnsownError
from unsown.core.words import Log
from unsown.formats.log import write

CARD = """\
name = "{name}"
kind = "mounted"

[phone]
ahead_of_axle_m = 0

[tool]
width_m = {width}
"""


@pytest.fixture(scope="module")
def given(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the two phones' logs, the two cards and the paddock."""
    folder = tmp_path_factory.mktemp("rigs")
    log = pairs.both()
    for phone in "ab":
        mine = np.flatnonzero(log.fixes.phone == log.fixes.phones.index(phone))
        marks = tuple(m for m in log.marks if m.phone == phone)
        one = Log(picked(log.fixes, mine), marks)
        (folder / f"{phone}.jsonl").write_text(write(one))
    for name, width in (("big", 8.4), ("small", 6.0)):
        (folder / f"{name}.toml").write_text(CARD.format(name=name, width=width))
    outline = pairs.ground().area
    (folder / "land.geojson").write_text(
        json.dumps({"type": "Feature", "properties": {"name": "land"},
                    "geometry": outline.__geo_interface__})
    )  # fmt: skip
    return folder


def told(capsys: pytest.CaptureFixture[str], folder: Path, *words: str) -> str:
    start = ["find", "--paddock", str(folder / "land.geojson"), "--draws", "5"]
    assert main([*start, *words]) == 0
    return capsys.readouterr().out


def cards(folder: Path) -> list[str]:
    return ["--rig", f"a={folder / 'big.toml'}", "--rig", f"b={folder / 'small.toml'}"]


def test_two_logs_and_two_cards_are_two_rigs_in_the_json_and_the_table(
    capsys: pytest.CaptureFixture[str], given: Path
) -> None:
    logs = [str(given / "a.jsonl"), str(given / "b.jsonl")]
    said = json.loads(told(capsys, given, *cards(given), *logs, "--json"))
    assert [(r["name"], r["phones"]) for r in said["rigs"]] == [("big", ["a"]), ("small", ["b"])]
    swept = [pairs.ROWS * pairs.LONG_M * width / 1e4 for width in (8.4, 6.0)]
    assert [r["swept_ha"] for r in said["rigs"]] == pytest.approx(swept, rel=1e-3)
    assert said["swept_ha"] == pytest.approx(sum(swept), rel=1e-3)
    (seam,) = said["between"]
    assert seam["rigs"] == [0, 1]
    table = told(capsys, given, *cards(given), *logs)
    assert "big (a): " in table
    assert "small (b): " in table


def test_joining_is_the_same_in_any_order_and_any_number_of_times(
    capsys: pytest.CaptureFixture[str], given: Path
) -> None:
    a, b = str(given / "a.jsonl"), str(given / "b.jsonl")
    card = cards(given)
    want = json.loads(told(capsys, given, *card, a, b, "--json"))
    for logs in [*permutations((a, b, b)), (b, a, a, b)]:
        for order in (card, card[2:] + card[:2]):
            said = json.loads(told(capsys, given, *order, *logs, "--json"))
            # notes on the cards stand in their order, and how often an entry came is told
            assert sorted(said.pop("notes")) == sorted(want["notes"])
            assert {k: v for k, v in said.items() if k != "dropped"} == {
                k: v for k, v in want.items() if k not in ("dropped", "notes")
            }


def test_a_card_of_a_phone_that_logged_nothing_is_refused_with_those_that_did(
    capsys: pytest.CaptureFixture[str], given: Path
) -> None:
    words = ["--rig", f"c={given / 'big.toml'}", str(given / "a.jsonl")]
    assert main(["find", "--paddock", str(given / "land.geojson"), *words]) == 2
    assert "no phone 'c' logged a position; there are 'a'" in capsys.readouterr().err


def test_cards_that_the_logs_name_need_no_phone_before_them(
    capsys: pytest.CaptureFixture[str], given: Path, tmp_path: Path
) -> None:
    logs = []
    for phone, card in (("a", "big"), ("b", "small")):
        named = {"v": 1, "dev": phone, "t_ms": START_MS - 1000, "kind": "rig", "card": card}
        text = (given / f"{phone}.jsonl").read_text()
        (tmp_path / f"{phone}.jsonl").write_text(json.dumps(named) + "\n" + text)
        logs.append(str(tmp_path / f"{phone}.jsonl"))
    both = ["--rig", str(given / "big.toml"), "--rig", str(given / "small.toml")]
    said = json.loads(told(capsys, given, *both, *logs, "--json"))
    want = json.loads(
        told(capsys, given, *cards(given), str(given / "a.jsonl"), str(given / "b.jsonl"), "--json")
    )
    assert said["rigs"] == want["rigs"]
    # one card that names no phone, and logs that name none: nobody can know the second rig
    plain = ["--rig", str(given / "big.toml"), str(given / "a.jsonl"), str(given / "b.jsonl")]
    assert main(["find", "--paddock", str(given / "land.geojson"), *plain]) == 2
    assert "m apart at the same time" in capsys.readouterr().err


def test_several_phones_of_one_cab_are_named_before_the_card(tmp_path: Path) -> None:
    card = tmp_path / "drill.toml"
    assert riders.given(str(card)) == riders.Given(card)
    assert riders.given(f"a, b={card}") == riders.Given(card, ("a", "b"))
    odd = tmp_path / "a=b.toml"
    odd.write_text("")
    assert riders.given(str(odd)) == riders.Given(odd)


def test_cards_without_a_phone_stay_as_they_are() -> None:
    one = replace(pairs.BIG, phones=())
    assert riders.named([one], [riders.Given(Path("x"))], ["a"]) == (one,)
    with pytest.raises(UnsownError):
        riders.named([one], [riders.Given(Path("x"), ("z",))], ["a"])
