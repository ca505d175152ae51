"""Every way a command can end, as its user sees it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import smallday
import tallies
from unsown import __version__
from unsown.cli import COMMANDS, main
from unsown.commands import find
from unsown.core.plane import Plane
from unsown.core.words import Log, Tally

KEYS = {
    *("unsown", "paddock", "sown_ha", "part_ha", "bare_ha", "bare_low_ha", "bare_high_ha"),
    *("listed_ha", "twice_ha", "again_ha", "doubt_ha", "unreachable_ha", "outside_ha"),
    *("swept_ha", "down_km", "hours", "patches", "questions", "settle", "notes", "dropped"),
    *("rigs", "between"),
}
PATCH_KEYS = {
    *("number", "area_m2", "chance", "call", "kind", "lon", "lat", "width_m", "length_m"),
    "asks",
}


@pytest.fixture(scope="module")
def day(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str, str]:
    track, paddock, card = smallday.write(tmp_path_factory.mktemp("day"))
    return str(track), str(paddock), str(card)


@pytest.fixture(scope="module")
def given(day: tuple[str, str, str]) -> list[str]:
    track, paddock, card = day
    return ["find", "--paddock", paddock, "--rig", card, track]


def complaint(err: str) -> str:
    """Standard error without the progress that a slow machine makes it show."""
    return re.sub(r"^[a-z ]+( \d+ %)? \(\d+ s\)\n", "", err, flags=re.M)


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """The one line a refused command leaves; fails if it is not exactly that."""
    assert main(list(words)) == 2
    out, err = capsys.readouterr()
    err = complaint(err)
    assert out == ""
    assert err.endswith("\n")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err.strip()


def test_the_table_says_what_is_bare_and_where(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(given) == 0
    out, _ = capsys.readouterr()
    assert out.startswith("Small paddock: 0.96 ha to sow\n")
    assert "480 m²" in out
    assert "east, " in out
    assert "You decide" in out
    assert all(len(line) <= 120 for line in out.splitlines())


def test_json_is_one_object_with_exactly_the_stated_keys(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*given, "--json"]) == 0
    out, _ = capsys.readouterr()
    said = json.loads(out, parse_constant=lambda name: pytest.fail(f"JSON knows no {name}"))
    assert set(said) == KEYS
    assert said["unsown"] == 1
    assert set(said["paddock"]) == {"name", "net_ha", "keep_out_ha"}
    (patch,) = said["patches"]
    assert set(patch) == PATCH_KEYS
    assert patch["area_m2"] == pytest.approx(480, rel=0.02)
    assert 49.7300 < patch["lat"] < 49.7305
    assert -106.2100 < patch["lon"] < -106.2070


def test_the_areas_in_the_json_add_up_to_the_paddock(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main([*given, "--json"])
    said = json.loads(capsys.readouterr().out)
    states = ("sown_ha", "part_ha", "bare_ha", "doubt_ha", "unreachable_ha")
    assert sum(said[k] for k in states) == pytest.approx(said["paddock"]["net_ha"], abs=1e-4)
    # 200 m x 48 m: the closed form; the plane's own error is far below a square metre
    assert said["paddock"]["net_ha"] == pytest.approx(0.96, abs=1e-4)
    assert said["bare_ha"] == pytest.approx(0.048, abs=0.001)


def test_acres_change_the_table_and_nothing_in_the_json(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main([*given, "--acres"])
    assert capsys.readouterr().out.startswith("Small paddock: 2.37 ac to sow\n")  # 9600 / 4046.856
    main([*given, "--json"])
    plain = capsys.readouterr().out
    main([*given, "--json", "--acres"])
    assert capsys.readouterr().out == plain


@pytest.mark.parametrize("clearance_m", [0.0, 3.0])
def test_the_first_lap_can_be_the_boundary_and_the_fence_is_a_clearance_beyond_it(
    clearance_m: float,
    day: tuple[str, str, str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    track = tmp_path / "lap.jsonl"
    track.write_text(smallday.lap(), encoding="utf-8")
    words = ["find", "--paddock", "lap", "--clearance", str(clearance_m), "--rig", day[2]]
    assert main([*words, str(track), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    # the tool's outer end runs round 150 m x 100 m
    fence_ha = (150 + 2 * clearance_m) * (100 + 2 * clearance_m) / 1e4
    assert said["paddock"]["net_ha"] == pytest.approx(fence_ha, rel=0.01)
    assert said["paddock"]["name"] == "first lap"
    if clearance_m:
        assert said["unreachable_ha"] > 0.8 * (fence_ha - 1.5)


def test_map_and_geojson_are_written_and_the_table_says_so(
    given: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    svg, areas = tmp_path / "map.svg", tmp_path / "ground.geojson"
    assert main([*given, "--map", str(svg), "--geojson", str(areas)]) == 0
    assert f"Written: {svg}" in capsys.readouterr().out
    assert svg.read_text(encoding="utf-8").startswith("<?xml")
    features = json.loads(areas.read_text(encoding="utf-8"))["features"]
    assert {"sown", "bare"} <= {f["properties"]["state"] for f in features}
    assert sorted(p.name for p in tmp_path.iterdir()) == ["ground.geojson", "map.svg"]


def test_a_png_map_is_a_png(given: list[str], tmp_path: Path) -> None:
    png = tmp_path / "map.png"
    assert main([*given, "--map", str(png)]) == 0
    assert png.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")


def test_the_same_track_given_twice_counts_once(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main([*given, "--json"])
    once = json.loads(capsys.readouterr().out)
    main([*given, given[-1], "--json"])
    twice = json.loads(capsys.readouterr().out)
    for key in KEYS - {"dropped", "notes"}:
        assert twice[key] == once[key], key


def test_help_is_instant_because_the_engine_is_not_loaded_for_it() -> None:
    heavy = ["numpy", "scipy", "shapely", "pyproj", "gpxpy", "geojson", "pyogrio"]
    check = (
        "import sys; from unsown.cli import main\n"
        "main(['find', '--help'])\n"
        f"print([m for m in {heavy!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("[]")


@pytest.mark.parametrize("name", COMMANDS)
def test_help_has_an_example_and_explains_every_option(
    name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([name, "--help"]) == 0
    out, err = capsys.readouterr()
    assert f"  unsown {name} " in out
    assert err == ""


def test_without_words_the_help_is_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    assert "Start with: unsown demo" in capsys.readouterr().out


def test_version_is_the_packages_own(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"unsown {__version__}\n"


def test_the_module_runs_as_a_program() -> None:
    words = [sys.executable, "-m", "unsown", "--version"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, f"unsown {__version__}\n")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["sow"], "invalid choice"),
        (["find"], "the following arguments are required"),
        (["find", "--paddok", "x"], "did you mean --paddock?"),
        (["find", "--runs", "maybe"], "invalid choice"),
        (["find", "--draws", "none"], "invalid"),
        (["find", "--clearance", "-3"], "0 to 50 metres"),
        (["rig"], "required"),
    ],
)
def test_a_slip_in_the_command_is_one_line_that_points_to_help(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    line = refused(capsys, *words)
    assert says in line
    assert "--help" in line


def test_a_file_that_is_not_there_is_named(
    day: tuple[str, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    track, paddock, card = day
    for words in (
        ["find", "--paddock", paddock, "--rig", card, "gone.gpx"],
        ["find", "--paddock", "gone.geojson", "--rig", card, track],
        ["find", "--paddock", paddock, "--rig", "gone.toml", track],
        ["find", "--paddock", paddock, "--rig", card, track, "--answers", "gone.jsonl"],
    ):
        assert "gone." in refused(capsys, *words)


def test_a_name_with_line_breaks_in_it_still_makes_one_line(
    day: tuple[str, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    _, paddock, card = day
    refused(capsys, "find", "--paddock", paddock, "--rig", card, "a\nb\x1b[31m.gpx")


@pytest.mark.parametrize("junk", [b"", b"\x00\x01\x02" * 50, b"<gpx", b"{}", b"hello\n"])
def test_junk_is_refused_wherever_it_is_given(
    junk: bytes, day: tuple[str, str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    track, paddock, card = day
    bad = tmp_path / "junk"
    bad.write_bytes(junk)
    for words in (
        ["find", "--paddock", paddock, "--rig", card, str(bad)],
        ["find", "--paddock", str(bad), "--rig", card, track],
        ["find", "--paddock", paddock, "--rig", str(bad), track],
        ["rig", str(bad)],
    ):
        assert str(bad) in refused(capsys, *words)


def test_an_output_that_cannot_be_written_is_refused_before_the_work(
    given: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any
) -> None:
    monkeypatch.setattr(find, "read_day", lambda *_: pytest.fail("it began to work"))
    assert ".svg or .png" in refused(capsys, *given, "--map", str(tmp_path / "map.jpg"))
    assert "not there" in refused(capsys, *given, "--map", str(tmp_path / "no" / "map.svg"))
    assert "folder" in refused(capsys, *given, "--geojson", str(tmp_path))
    same = str(tmp_path / "a.svg")
    assert "same name" in refused(capsys, *given, "--map", same, "--geojson", same)


def test_an_input_is_never_written_over(
    given: list[str], day: tuple[str, str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    before = Path(day[1]).read_bytes()
    assert "written over" in refused(capsys, *given, "--geojson", day[1])
    assert Path(day[1]).read_bytes() == before


def test_an_answer_to_a_question_nobody_asked_is_refused(
    given: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert "no question 9" in refused(capsys, *given, "--answer", "9=down")
    assert "NUMBER=WORD" in refused(capsys, *given, "--answer", "down")
    assert "answered twice" in refused(capsys, *given, "--answer", "1=up", "--answer", "1=down")


def test_an_answer_is_computed_with_and_kept_as_a_log_entry(
    given: list[str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked = tallies.day()
    heard: list[list[str]] = []

    def engine(log: Log, *_: object) -> tuple[Tally, Plane]:
        heard.append([str(m.says["answer"]) for m in log.marks if m.kind == "blind"])
        return (replace(asked, questions=()) if heard[-1] else asked), tallies.PLANE

    monkeypatch.setattr("unsown.core.day.find", engine)
    kept = tmp_path / "answers.jsonl"
    assert main([*given, "--answer", "1=down", "--keep-answers", str(kept)]) == 0
    assert "Questions" not in capsys.readouterr().out
    assert heard == [[], ["down"]]
    assert main([*given, "--answers", str(kept)]) == 0
    assert heard[2:] == [["down"]]


def test_a_defect_of_ours_is_exit_1_with_the_way_to_see_it(
    given: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("no\nluck")

    monkeypatch.delenv("UNSOWN_TRACEBACK", raising=False)
    monkeypatch.setattr(find, "read_day", broken)
    assert main(given) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "UNSOWN_TRACEBACK=1" in err
    monkeypatch.setenv("UNSOWN_TRACEBACK", "1")
    with pytest.raises(ZeroDivisionError):
        main(given)


def test_ctrl_c_ends_with_130_and_no_traceback(
    given: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(find, "read_day", stopped)
    assert main(given) == 130
    assert capsys.readouterr().err == "unsown: stopped\n"


def test_a_reader_that_closes_early_is_no_error(given: list[str]) -> None:
    words = [sys.executable, "-m", "unsown", *given, "--json"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        said = running.stderr.read().decode()
    assert (running.returncode, complaint(said)) == (0, "")


def test_a_terminal_without_unicode_gets_plain_letters(given: list[str]) -> None:
    words = [sys.executable, "-m", "unsown", *given]
    plain = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(words, capture_output=True, env=plain, check=True)
    assert b"480 m2" in done.stdout


def test_a_rig_card_is_described_and_drawn(
    day: tuple[str, str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    svg = tmp_path / "rig.svg"
    assert main(["rig", day[2], "--svg", str(svg)]) == 0
    assert capsys.readouterr().out.startswith("Small bar: mounted, 8.00 m wide\n")
    assert "</svg>" in svg.read_text(encoding="utf-8")
