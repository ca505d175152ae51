"""Files of two phones are told apart, and one phone's files are not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from unsown.commands.phones import labelled
from unsown.core.words import Fixes, Log, Mark


def log(from_s: int, to_s: int, lat_deg: float = 49.7, phone: str = "phone") -> Log:
    """A fix a second going east."""
    t_ms = np.arange(from_s, to_s, dtype=np.int64) * 1000
    none = np.full(len(t_ms), np.nan)
    zero = np.zeros(len(t_ms), np.int64)
    lon = -106.2 + t_ms * 1e-8
    lat = np.full(len(t_ms), lat_deg)
    fixes = Fixes(t_ms, lat, lon, none, none, none, zero, zero, (phone,))
    return Log(fixes, (Mark(from_s * 1000, "lever", phone, 1, {"lever": "down"}),))


def phones(*logs: Log) -> list[str]:
    return [one.fixes.phones[0] for one in labelled(logs, [f"file{i}" for i in range(len(logs))])]


def test_two_tracks_side_by_side_are_two_phones_and_their_marks_go_with_them() -> None:
    one, other = log(0, 600), log(100, 700, lat_deg=49.70001)
    assert phones(one, other) == ["file0", "file1"]
    assert labelled([one, other], ["a", "b"])[1].marks[0].phone == "b"


def test_a_track_cut_in_two_is_one_phone() -> None:
    assert phones(log(0, 600), log(600, 1200)) == ["phone", "phone"]
    assert phones(log(0, 600), log(570, 1200)) == ["phone", "phone"]


def test_the_same_track_twice_is_one_phone_also_when_one_is_shorter() -> None:
    assert phones(log(0, 600), log(0, 600)) == ["phone", "phone"]
    assert phones(log(0, 600), log(100, 400)) == ["phone", "phone"]


def test_a_phone_that_says_its_name_keeps_it() -> None:
    assert phones(log(0, 600, phone="cab"), log(0, 600, 49.8, phone="rider")) == ["cab", "rider"]


def test_two_files_of_the_same_name_stay_two_phones() -> None:
    made = labelled([log(0, 600), log(0, 600, 49.8)], ["day", "day"])
    assert [one.fixes.phones[0] for one in made] == ["day", "day (2)"]


def test_a_file_with_marks_only_is_left_alone() -> None:
    full = log(0, 600)
    empty = {
        k: getattr(full.fixes, k)[:0] for k in full.fixes.__dataclass_fields__ if k != "phones"
    }
    marks_only = replace(full, fixes=replace(full.fixes, **empty))
    assert phones(full, marks_only) == ["phone", "phone"]
