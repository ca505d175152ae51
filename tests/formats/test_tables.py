"""CSV tracks."""

from __future__ import annotations

import math

import pytest

from formats.made import START_MS
from unsown.core.errors import TrackError
from unsown.core.words import Log
from unsown.formats import tables


def read(text: str) -> Log:
    return tables.read(text.encode(), "day.csv")


def skips(found: Log) -> dict[str, int]:
    return {s.reason: s.count for s in found.skipped}


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("t_ms", str(START_MS)),
        ("time", "2026-05-01T12:00:00Z"),
        ("Timestamp", "2026-05-01 12:00:00"),
        ("UTC", "2026-05-01T14:00:00+02:00"),
        ("time", str(START_MS)),
        ("time", str(START_MS // 1000)),
        ("epoch_s", f"{START_MS // 1000}.000"),
    ],
)
def test_a_time_is_iso_8601_or_since_1970(column, value):
    assert read(f"{column},lat,lon\n{value},49.7,-106.2\n").fixes.t_ms.tolist() == [START_MS]


@pytest.mark.parametrize(
    ("lat", "lon"), [("Latitude", "Longitude"), ("lat (deg)", "lng"), ("LAT", "Long"), ("y", "x")]
)
def test_names_of_places_are_known_in_many_spellings(lat, lon):
    found = read(f"{lon},{lat},time\n-106.2,49.7,2026-05-01T12:00:00Z\n").fixes
    assert (found.lat_deg[0], found.lon_deg[0]) == (49.7, -106.2)


@pytest.mark.parametrize(
    ("column", "value", "m_s"),
    [
        ("speed", "2.5", 2.5),
        ("speed (m/s)", "2.5", 2.5),
        ("speed_kmh", "9", 2.5),
        ("Speed [km/h]", "9", 2.5),
        ("speed_knots", "4", 4 * 1852 / 3600),
        ("speed_mph", "10", 4.4704),
    ],
)
def test_speed_has_the_unit_its_name_says(column, value, m_s):
    found = read(f"time,lat,lon,{column}\n2026-05-01T12:00:00Z,1,2,{value}\n")
    assert found.fixes.speed_m_s[0] == pytest.approx(m_s, rel=1e-12)


@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_decimal_commas_are_read_where_the_delimiter_is_no_comma(delimiter):
    rows = [["time", "lat", "lon"], ["2026-05-01T12:00:00,5Z", "49,7", "-106,2"]]
    found = read("\n".join(delimiter.join(row) for row in rows)).fixes
    assert (found.t_ms[0], found.lat_deg[0], found.lon_deg[0]) == (START_MS + 500, 49.7, -106.2)


def test_the_lever_column_becomes_marks_at_its_changes():
    words = ["up", "1", "down", "", "false", "sideways"]
    rows = [f"{START_MS + 1000 * i},49.7,-106.2,{w}" for i, w in enumerate(words)]
    found = read("t_ms,lat,lon,state\n" + "\n".join(rows))
    told = [((m.t_ms - START_MS) // 1000, m.says["lever"]) for m in found.marks]
    assert told == [(0, "up"), (1, "down"), (4, "up")]
    assert skips(found) == {"lever state that is neither down nor up (the row was kept)": 1}


def test_phones_and_segments_have_their_columns():
    found = read(f"t_ms,lat,lon,phone,segment\n{START_MS},1,2,cab,0\n{START_MS},1,2,spare,3\n")
    assert found.fixes.phones == ("cab", "spare")
    assert found.fixes.segment.tolist() == [0, 3]


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("noon,49.7,-106.2", "row without a time that can be read"),
        (",49.7,-106.2", "row without a time that can be read"),
        ("2026-13-01T12:00:00Z,49.7,-106.2", "row without a time that can be read"),
        ("2026-05-01T12:00:00Z,nan,-106.2", "latitude or longitude is not a number"),
        ("2026-05-01T12:00:00Z,inf,-106.2", "latitude or longitude is not a number"),
        ("2026-05-01T12:00:00Z,,", "latitude or longitude is not a number"),
        (
            "2026-05-01T12:00:00Z,-106.2,49.7",
            "latitude beyond 90 degrees, as if it were the longitude",
        ),
        ("2026-05-01T12:00:00Z,0,0", "position 0, 0: what a receiver writes when it has none"),
        ("2026-05-01T12:00:00Z,49.7", "row with too few columns"),
        ("1e300,49.7,-106.2", "time out of range"),
    ],
)
def test_a_row_that_is_no_fix_is_counted_with_its_reason(row, reason):
    found = read(f"time,lat,lon\n{row}\n2026-05-01T12:00:01Z,49.7,-106.2\n")
    assert len(found.fixes) == 1
    assert skips(found) == {reason: 1}


def test_a_table_with_an_interval_only_is_refused():
    with pytest.raises(TrackError, match="interval_s alone tells no moment"):
        read("lat,lon,interval_s\n1,2,1\n")


def test_a_table_without_places_is_refused_with_its_first_line():
    with pytest.raises(TrackError, match="apples,pears"):
        read("apples,pears\n1,2\n")


def test_two_columns_for_one_thing_are_refused():
    with pytest.raises(TrackError, match="both give lat"):
        read("time,lat,latitude,lon\n1,1,1,1\n")


def test_an_endless_cell_is_refused():
    with pytest.raises(TrackError):
        read('time,lat,lon\n"' + "x" * 200_000)


def test_missing_numbers_are_not_given():
    found = read("time,lat,lon,accuracy,speed,course\n2026-05-01T12:00:00Z,1,2,,-1,\n").fixes
    assert all(math.isnan(v[0]) for v in (found.acc_m, found.speed_m_s, found.course_deg))
