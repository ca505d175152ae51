"""``unsown take``, ``backup``, ``restore`` and ``rebuild`` as they are typed."""

from __future__ import annotations

from pathlib import Path

import pytest

import farms
from unsown.cli import main


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    code = main([str(w) for w in words])
    out = capsys.readouterr()
    return code, out.out, out.err


@pytest.fixture
def log(tmp_path: Path) -> Path:
    path = tmp_path / "cab.jsonl"
    path.write_bytes(farms.body(farms.day()))
    return path


def test_take_puts_a_log_in_and_says_what_it_was(tmp_path: Path, log: Path, capsys) -> None:
    code, out, err = said(capsys, "take", log, "--data", tmp_path / "farm")
    assert (code, err) == (0, "")
    assert "618 entries taken (2025-05-03)" in out
    code, out, _ = said(capsys, "take", log, "--data", tmp_path / "farm")
    assert "0 entries taken, 618 had already" in out
    assert "nothing changed" in out
    with farms.farm_in(tmp_path / "farm") as farm:
        assert farm.held("cab").held == 618


def test_take_stops_at_a_file_that_is_no_track_and_keeps_those_before(
    tmp_path: Path, log: Path, capsys
) -> None:
    bad = tmp_path / "photo.gpx"
    bad.write_bytes(b"\x89PNG not a track")
    code, out, err = said(capsys, "take", log, bad, "--data", tmp_path / "farm")
    assert code == 2
    assert "618 entries taken" in out
    assert "photo.gpx" in err
    with farms.farm_in(tmp_path / "farm") as farm:
        assert farm.held("cab").held == 618


def test_commands_that_write_are_refused_while_the_folder_is_in_use(
    tmp_path: Path, log: Path, capsys
) -> None:
    folder = tmp_path / "farm"
    with farms.farm_in(folder):
        code, _, _ = said(capsys, "backup", tmp_path / "a.db", "--data", folder)
        assert code == 0  # a copy may be made at any time
        for words in (("take", log), ("rebuild",), ("restore", tmp_path / "a.db")):
            code, _, err = said(capsys, *words, "--data", folder)
            assert code == 2
            assert "Another unsown (process" in err


def test_backup_and_restore_bring_the_farm_back_and_say_what_is_sent_again(
    tmp_path: Path, capsys
) -> None:
    folder, file = tmp_path / "farm", tmp_path / "unsown.db"
    with farms.farm_in(folder) as farm:
        farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 100)))
    code, out, _ = said(capsys, "backup", file, "--data", folder)
    assert code == 0
    assert str(file) in out
    with farms.farm_in(folder) as farm:
        farm.take_entries("cab", 101, farms.body(farms.fixes("cab", 101, 23)))
    code, out, _ = said(capsys, "restore", file, "--data", folder)
    assert code == 0
    assert "unsown-before-" in out
    assert "cab sends 23 entries again" in out
    code, _, err = said(capsys, "backup", file, "--data", folder)
    assert code == 2
    assert "never written over" in err
    code, _, err = said(capsys, "restore", tmp_path / "none.db", "--data", folder)
    assert code == 2
    assert "no such file" in err


def test_rebuild_makes_the_same_answers_again(tmp_path: Path, capsys) -> None:
    folder = tmp_path / "farm"
    with farms.computing(folder) as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        before = farms.computed(farm, id_)
    code, out, err = said(capsys, "rebuild", "--data", folder)
    assert (code, "1 paddock was begun" in out) == (0, True), err
    with farms.farm_in(folder) as farm:
        after = farm.work(id_, farms.SEASON)
    for key in ("computed_ms", "took_s"):
        after.pop(key)
    assert after == before


def test_rebuild_says_which_paddock_cannot_be_computed(tmp_path: Path, capsys) -> None:
    folder = tmp_path / "farm"
    with farms.farm_in(folder) as farm:
        farm.save_paddock(None, farms.paddock("Tin Kettle"), None)
        farm.take_entries("cab", 1, farms.body(farms.day()))
    code, out, _ = said(capsys, "rebuild", "--data", folder)
    assert code == 0
    assert "Tin Kettle failed: There is no rig card." in out
