"""Sown again, as a table and as a key of the JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from unsown.cli import main
from unsown.core.waste import Waste
from unsown.formats.again import again_rows, to_waste
from unsown.formats.units import Units

SAMPLE = Path(__file__).resolve().parents[2] / "sample_tracks" / "corners-lifted"
CAUSES = {"between runs": 1.2, "headland ends": 0.3, "turns": 0.001}
SPREAD = {"between runs": 0.26, "headland ends": 0.05, "turns": 0.002}
AGAIN = Waste(1.6, 1.4, 1.9, 0.052, CAUSES, SPREAD, 0.7, 0.099, 32.0, True)


def test_the_table_says_how_much_of_what_and_what_is_not_explained() -> None:
    text = "\n".join(again_rows(AGAIN, Units()))
    assert text.startswith(
        "Sown again, by width times way: 1.60 ha (1.40 to 1.90 ha), 5.2 % of the sown ground:"
    )
    assert text.index("between runs") < text.index("headland ends") < text.index("not explained")
    assert "turns" not in text
    assert "0.70 ha is your own choice" in text
    assert "not finished" not in text


def test_every_cause_says_how_far_it_may_be_off_and_none_finer_than_a_hundredth() -> None:
    rows = again_rows(AGAIN, Units())
    assert any(row.split() == ["between", "runs", "1.20", "ha", "±", "0.26"] for row in rows)
    fine = replace(AGAIN, spread_ha={**SPREAD, "headland ends": 0.0004})
    assert any(row.endswith("0.30 ha  ± 0.01") for row in again_rows(fine, Units()))


def test_acres_are_told_in_acres() -> None:
    assert "3.95 ac" in again_rows(AGAIN, Units(True))[0]


def test_an_unfinished_paddock_is_said() -> None:
    unfinished = Waste(1.6, 1.4, 1.9, 0.05, CAUSES, SPREAD, 0.0, 0.1, 32.0, False)
    rows = again_rows(unfinished, Units())
    assert "not finished" in rows[-1]
    assert not any("your own choice" in row for row in rows)


def test_the_json_adds_up() -> None:
    told = to_waste(AGAIN)
    assert sum(told["causes"].values()) + told["unexplained_ha"] == pytest.approx(told["again_ha"])


def test_the_command_says_it_only_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["find", "--json", "--draws", "5", "--paddock", str(SAMPLE / "paddock.geojson")]
    words += ["--rig", str(SAMPLE / "rig.toml"), str(SAMPLE / "track.gpx")]
    assert main(words) == 0
    plain = json.loads(capsys.readouterr().out)
    assert main([*words, "--twice"]) == 0
    asked = json.loads(capsys.readouterr().out)
    again = asked.pop("waste")
    assert asked == plain
    assert again["low_ha"] <= again["again_ha"] <= again["high_ha"]
    assert again["again_ha"] == pytest.approx(plain["again_ha"], rel=0.2)
