"""Files carried home: a log keeps its numbers, a track gets a writer named after its content."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import farms
from formats.made import line as log_line
from unsown.core.errors import TrackError
from unsown.formats import gpx, log
from unsown.formats.track import read_track
from unsown.service.farm import Farm
from unsown.service.words import IntakeError


@pytest.fixture
def farm(tmp_path: Path):
    with farms.farm_in(tmp_path) as made:
        yield made


def test_a_log_that_came_by_file_and_then_from_its_phone_counts_once(farm: Farm) -> None:
    phone = farms.Phone("cab")
    phone.write(farms.fixes("cab", 1, 500))
    taken = farm.take_file("cab.jsonl", b"\n".join(phone.log[100:400]))
    assert (taken.kind, taken.devs, taken.kept) == ("log", ("cab",), 300)
    assert farm.held("cab").held == 0  # the file began later than the log
    assert farm.held("cab").wanted == ((1, 100),)
    assert phone.send(farm, 80).held == 500
    assert list(farms.lines_held(farm, "cab").values()) == phone.log


def test_the_same_file_twice_changes_nothing(farm: Farm) -> None:
    track = gpx.write(read_track(farms.body(farms.day()), "x")).encode()
    first = farm.take_file("monday.gpx", track)
    assert (first.kind, first.again, first.days) == ("track", 0, (farms.DAY,))
    before = farms.evidence(farm)
    again = farm.take_file("copy of monday.gpx", track)
    assert (again.kept, again.again) == (0, first.kept)
    assert farms.evidence(farm) == before


def test_a_track_reads_back_as_what_it_was(farm: Farm) -> None:
    track = gpx.write(read_track(farms.body(farms.day()), "x")).encode()
    (dev,) = farm.take_file("monday.gpx", track).devs
    held = b"\n".join(farms.lines_held(farm, dev).values())
    was, now = read_track(track, "x"), log.read(held, "x")
    assert now.fixes.t_ms.tolist() == was.fixes.t_ms.tolist()
    assert now.fixes.lat_deg.tolist() == was.fixes.lat_deg.tolist()
    assert [(m.t_ms, m.says["lever"]) for m in now.marks if m.kind == "lever"] == [
        (m.t_ms, m.says["lever"]) for m in was.marks
    ]


def test_a_track_is_of_the_phone_that_is_named(farm: Farm) -> None:
    track = gpx.write(read_track(farms.body(farms.day()), "x")).encode()
    (dev,) = farm.take_file("monday.gpx", track, dev="old phone").devs
    assert dev.startswith("file-")
    assert dev.endswith("-old-phone")


def test_a_log_without_numbers_keeps_each_of_its_phones_apart(farm: Farm) -> None:
    rows = [
        {"t_ms": farms.NOW_MS + i, "kind": "fix", "dev": dev, "lat_deg": 1.0, "lon_deg": 2.0 + i}
        for i in range(3)
        for dev in ("cab", "spare")
    ]
    taken = farm.take_file("day.jsonl", farms.body(rows))
    assert len(taken.devs) == 2
    assert taken.kept == 6


def test_an_undo_in_a_log_with_gaps_in_its_numbers_still_hides_its_entry(farm: Farm) -> None:
    text = log_line(seq=7, kind="lever", lever="down") + log_line(seq=8, kind="undo", of=7)
    text += json.dumps({"t_ms": farms.NOW_MS, "kind": "fix", "lat_deg": 1.0, "lon_deg": 2.0}) + "\n"
    taken = farm.take_file("day.jsonl", text.encode())
    found = [
        m.kind
        for dev in taken.devs
        for m in log.read(b"\n".join(farms.lines_held(farm, dev).values()), dev).marks
    ]
    assert found == ["hidden", "undo"]


def test_a_file_that_clashes_with_what_is_held_is_refused_whole(farm: Farm) -> None:
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 10)))
    other = [{**e, "lon_deg": 7.0} for e in farms.fixes("cab", 5, 20)]
    spare = farms.fixes("spare", 1, 5)
    with pytest.raises(IntakeError) as told:
        farm.take_file("mixed.jsonl", farms.body([*spare, *other]))
    assert told.value.code == "intake-clash"
    assert farm.held("spare").held == 0
    assert {d["seq"] for d in farm.disputes()} == set(range(5, 11))


def test_a_number_on_two_entries_of_one_file_is_refused(farm: Farm) -> None:
    twice = [*farms.fixes("cab", 1, 3), {**farms.fixes("cab", 2, 1)[0], "lat_deg": 1.0}]
    with pytest.raises(IntakeError) as told:
        farm.take_file("odd.jsonl", farms.body(twice))
    assert "line 4" in told.value.where
    assert farms.evidence(farm)["writers"] == []


def test_lines_that_are_cut_off_are_left_out_and_said(farm: Farm) -> None:
    taken = farm.take_file("cab.jsonl", farms.body(farms.fixes("cab", 1, 3)) + b'{"v":1,"dev":"c')
    assert taken.kept == 3
    assert "1 lines" in taken.notes[0]


@pytest.mark.parametrize("data", [b"", b"\x00" * 50, b"PK\x03\x04zip", b"plain words"])
def test_what_is_no_track_is_refused_with_a_reason(farm: Farm, data: bytes) -> None:
    with pytest.raises(TrackError):
        farm.take_file("thing", data)
    assert farms.evidence(farm)["writers"] == []
