"""The right reader by content, and several files joined."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formats.made import (
    START_MS,
    collection,
    feature,
    fix_line,
    fixes,
    gpx,
    lever,
    line,
    log,
    same,
    square,
    trkpt,
)
from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Log, Mark
from unsown.formats import gpx as gpxfile
from unsown.formats import log as logfile
from unsown.formats.track import join, read_track

NMEA = b"$GPRMC,120000,A,4942.000,N,10612.000,W,4.0,0.0,010526,,,A*"
TABLE = b"time,lat,lon\n2026-05-01T12:00:00Z,49.7,-106.2\n"
GEO = (
    b'{"type":"Feature","properties":{"times":["2026-05-01T12:00:00Z"]},'
    b'"geometry":{"type":"LineString","coordinates":[[-106.2,49.7]]}}'
)


def nmea() -> bytes:
    from unsown.formats.nmea import checksum

    return NMEA + f"{checksum(NMEA[1:-1]):02X}\r\n".encode()


@pytest.mark.parametrize("name", ["day.gpx", "day.csv", "day", "day.zip"])
def test_the_reader_is_chosen_by_content_and_not_by_name(name):
    for data in (gpx(trkpt(0)), nmea(), TABLE, GEO, fix_line(0, 1).encode()):
        found = read_track(data, name)
        assert found.fixes.t_ms.tolist() == [START_MS]
        assert found.fixes.lat_deg[0] == pytest.approx(49.7)


def test_a_phone_label_is_given_to_what_names_no_device():
    assert read_track(TABLE, "x", phone="spare").fixes.phones == ("spare",)
    assert read_track(fix_line(0, 1).encode(), "x", phone="spare").fixes.phones == ("a",)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (gpx(trkpt(None), trkpt(None)), "track-without-times"),
        (gpx(), "track-empty"),
        (b"lat,lon\n1,2\n", "track-without-times"),
        (collection(feature([square()])), "track-empty"),
        (b"<kml/>", "track-kind"),
        (b"PK\x03\x04", "track-kind"),
        (b"\x00\x00\x27\x0a" + bytes(90), "track-kind"),
        (b"hello\n", "track-kind"),
        (bytes(range(1, 256)) * 2 + b"\x00", "track-binary"),
    ],
)
def test_what_holds_no_track_is_refused_with_the_right_reason(data, code):
    with pytest.raises(TrackError) as told:
        read_track(data, "x")
    assert told.value.code == code


def test_a_file_without_times_still_tells_how_many_points_it_had():
    with pytest.raises(TrackError, match="2 x track point without a time"):
        read_track(gpx(trkpt(None), trkpt(None)), "x")


def test_the_same_file_twice_counts_once():
    for data in (
        gpx(trkpt(0), trkpt(1)),
        fix_line(0, 1).encode() + line(seq=2, kind="fill").encode(),
    ):
        once = read_track(data, "x")
        joined = join([once, once])
        same(joined, join([once]))


def test_fixes_come_by_phone_and_time_and_equal_times_keep_their_order():
    made = fixes(4)
    back = Fixes(**{**vars(made), "t_ms": START_MS + np.array([2000, 0, 1000, 1000])})
    joined = join([Log(back), Log(fixes(2, phones=("b",)))])
    assert joined.fixes.phones == ("b", "phone")
    assert (joined.fixes.t_ms - START_MS).tolist() == [0, 1000, 0, 1000, 1000, 2000]
    lat = joined.fixes.lat_deg[2:]
    np.testing.assert_array_equal(lat, made.lat_deg[[1, 2, 3, 0]])
    assert any("clock goes back" in note for note in joined.notes)


def test_segments_of_different_files_keep_apart_in_order_of_time():
    late = Log(Fixes(**{**vars(fixes(2)), "t_ms": START_MS + np.array([9000, 9500])}))
    assert join([late, Log(fixes(2))]).fixes.segment.tolist() == [0, 0, 1, 1]


def test_an_undo_in_another_file_hides_its_entry():
    first = logfile.read((fix_line(0, 1) + line(seq=2, kind="lever", lever="down")).encode(), "1")
    later = logfile.read(line(seq=3, kind="undo", of=2).encode(), "2")
    for order in ([first, later], [later, first]):
        assert [m.kind for m in join(order).marks] == ["hidden", "undo"]


def test_the_same_number_on_different_entries_is_noted():
    a = Log(fixes(1), (lever(1, "down", seq=4),))
    b = Log(fixes(1), (lever(1, "up", seq=4),))
    joined = join([a, b])
    assert [m.says["lever"] for m in joined.marks] == ["down"]
    assert any("same number" in note for note in joined.notes)


def test_a_state_said_again_on_a_track_point_is_no_change():
    mark = Mark(START_MS, "lever", says={"lever": "down", "how": "track"})
    again = Mark(START_MS + 5000, "lever", says={"lever": "down", "how": "track"})
    up = Mark(START_MS - 5000, "lever", says={"lever": "up", "how": "track"})
    assert join([log(3, mark, again, up)]).marks == (mark,)


def test_marks_alone_or_nothing_are_refused():
    with pytest.raises(TrackError, match="only 1 marks"):
        join([log(0, lever(0, "down"))])
    with pytest.raises(TrackError, match="No track was given"):
        join([])


def test_a_track_with_latitude_and_longitude_swapped_is_told_so():
    swapped = "".join(fix_line(k, k + 1, lat_deg=-106.2, lon_deg=49.7) for k in range(3))
    found = read_track((swapped + line(seq=9, kind="lever", lever="down")).encode(), "day.jsonl")
    with pytest.raises(TrackError, match="3 x latitude beyond 90 degrees") as told:
        join([found])
    assert "look swapped" in told.value.hint
    table = b"time,lat,lon\n2026-05-01T12:00:00Z,-106.2,49.7\n"
    with pytest.raises(TrackError, match="look swapped") as told:
        read_track(table, "day.csv")
    assert told.value.code == "track-swapped"


@pytest.mark.parametrize(
    "data",
    [
        fix_line(0, 1, t_ms=START_MS // 1000).encode(),
        b"t_ms,lat,lon\n1777636800,49.7,-106.2\n",
    ],
)
def test_times_in_seconds_where_milliseconds_belong_are_refused(data):
    with pytest.raises(TrackError, match="these are seconds") as told:
        read_track(data, "day")
    assert told.value.code == "track-seconds"
    assert "Multiply t_ms by 1000" in told.value.hint
    # a clock that was never set is no such thing
    assert len(read_track(fix_line(0, 1, t_ms=3_600_000).encode(), "day").fixes) == 1


entries = st.lists(
    st.tuples(
        st.integers(0, 60),
        st.sampled_from(["a", "b"]),
        st.sampled_from(["fix", "lever", "fill", "undo"]),
        st.integers(0, 3),
    ),
    min_size=1,
    max_size=25,
)


@given(entries, st.integers(0, 25), st.booleans())
@settings(max_examples=80, deadline=None)
def test_a_log_cut_in_two_and_both_given_is_the_whole(told, cut, swap):
    lines = [fix_line(0, 999)]
    for seq, (t, dev, kind, n) in enumerate(told, 1):
        fields = {"lever": {"lever": ("down", "up")[n % 2]}, "fill": {"kg": n}, "undo": {"of": n}}
        more = {"lat_deg": 49.7 + n * 1e-5, "lon_deg": -106.2} if kind == "fix" else fields[kind]
        lines.append(line(t_s=t, seq=seq, dev=dev, kind=kind, **more))
    whole = join([logfile.read("".join(lines).encode(), "all")])
    cut = min(cut, len(lines) - 1) + 1
    parts = [logfile.read("".join(p).encode(), "x") for p in (lines[:cut], lines[cut:]) if p]
    joined = join(parts[::-1] if swap else parts)
    for name in ("t_ms", "phone"):
        np.testing.assert_array_equal(getattr(joined.fixes, name), getattr(whole.fixes, name))
    if not swap:
        np.testing.assert_array_equal(joined.fixes.lat_deg, whole.fixes.lat_deg)
    assert joined.marks == whole.marks


@given(st.lists(st.sampled_from(["", "down", "up"]), min_size=2, max_size=12), st.integers(1, 11))
@settings(max_examples=60, deadline=None)
def test_a_gpx_track_cut_in_two_and_both_given_is_the_whole(states, cut):
    def point(i: int) -> str:
        word = states[i]
        more = f"<extensions><u:lever>{word}</u:lever></extensions>" if word else ""
        return trkpt(i, 49.7 + 1e-5 * i, more=more)

    points = [point(i) for i in range(len(states))]
    cut = min(cut, len(points) - 1)
    whole = join([gpxfile.read(gpx(*points), "x")])
    parts = [gpxfile.read(gpx(*part), "x") for part in (points[:cut], points[cut:])]
    joined = join(parts)
    np.testing.assert_array_equal(joined.fixes.t_ms, whole.fixes.t_ms)
    assert joined.marks == whole.marks


@given(entries)
@settings(max_examples=40, deadline=None)
def test_joining_what_is_joined_changes_nothing(told):
    lines = [fix_line(0, 999)]
    for seq, (t, dev, kind, n) in enumerate(told, 1):
        fields = {"lever": {"lever": ("down", "up")[n % 2]}, "fill": {"kg": n}, "undo": {"of": n}}
        more = {"lat_deg": 49.7, "lon_deg": -106.2} if kind == "fix" else fields[kind]
        lines.append(line(t_s=t, seq=seq, dev=dev, kind=kind, **more))
    once = join([logfile.read("".join(lines).encode(), "all")])
    same(join([once]), once)
    same(join([once, once]), once)
