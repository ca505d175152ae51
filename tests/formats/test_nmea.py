"""NMEA 0183 read (NM rows of published sentences: tests/sources)."""

from __future__ import annotations

import numpy as np
import pytest

from unsown.core.errors import TrackError
from unsown.core.words import Log
from unsown.formats import nmea
from unsown.formats.moments import parse


def sentence(body: str) -> str:
    return f"${body}*{nmea.checksum(body.encode()):02X}\r\n"


def rmc(
    hms: str,
    date: str,
    *,
    status: str = "A",
    lat: str = "4807.038",
    talker: str = "GP",
    speed: str = "4.0",
    course: str = "90.0",
) -> str:
    return sentence(f"{talker}RMC,{hms},{status},{lat},N,01131.000,E,{speed},{course},{date},,,A")


def gga(hms: str, *, quality: int = 1, lat: str = "4807.0381", talker: str = "GP") -> str:
    return sentence(f"{talker}GGA,{hms},{lat},N,01131.0000,E,{quality},08,0.9,545.4,M,46.9,M,,")


def read(*sentences: str) -> Log:
    return nmea.read("".join(sentences).encode(), "day.nmea")


def skips(found: Log) -> dict[str, int]:
    return {s.reason: s.count for s in found.skipped}


def times(found: Log) -> list[int]:
    return found.fixes.t_ms.tolist()


def test_sentences_of_one_moment_make_one_fix():
    vtg = sentence("GPVTG,90.0,T,,M,4.0,N,7.4,K,A")
    found = read(rmc("120000.00", "010526", speed="", course=""), gga("120000"), vtg)
    assert times(found) == [parse("2026-05-01T12:00:00Z")]
    assert found.fixes.lat_deg[0] == pytest.approx(48 + 7.0381 / 60, abs=1e-12)  # GGA's, not RMC's
    assert found.fixes.speed_m_s[0] == pytest.approx(4 * 1852 / 3600)
    assert found.fixes.course_deg[0] == 90
    assert np.isnan(found.fixes.acc_m[0])  # HDOP is not an accuracy


def test_talkers_mix():
    found = read(
        rmc("120000", "010526", talker="GN"),
        gga("120000", talker="GL"),
        rmc("120001", "010526", talker="IN"),
    )
    assert len(found.fixes) == 2


def test_the_date_is_carried_to_sentences_before_and_after_and_over_midnight():
    found = read(gga("235958"), gga("235959"), rmc("000000.5", "020526"), gga("000001"))
    expected = [
        "2026-05-01T23:59:58Z",
        "2026-05-01T23:59:59Z",
        "2026-05-02T00:00:00.500Z",
        "2026-05-02T00:00:01Z",
    ]
    assert times(found) == [parse(t) for t in expected]


def test_the_date_comes_from_zda_too():
    found = read(sentence("GPZDA,120000,01,05,2026,00,00"), gga("120000"), gga("120001"))
    assert times(found) == [parse("2026-05-01T12:00:00Z"), parse("2026-05-01T12:00:01Z")]


def test_without_any_date_the_positions_are_counted_and_not_used():
    found = read(gga("120000"), gga("120001"))
    assert len(found.fixes) == 0
    assert skips(found) == {"position with a time but without a date in the whole file": 2}


def test_a_two_digit_year_is_taken_from_1980_to_2079():
    assert times(read(rmc("000000", "010180"))) == [parse("1980-01-01T00:00:00Z")]
    assert times(read(rmc("000000", "311279"))) == [parse("2079-12-31T00:00:00Z")]


def test_lost_weeks_are_reported_and_the_fixes_kept():
    found = read(rmc("000345", "070419"), rmc("000431", "220899"))
    assert len(found.fixes) == 2
    assert "1024 weeks" in found.notes[0]


@pytest.mark.parametrize(
    "bad",
    [
        rmc("120001", "010526", status="V"),
        gga("120001", quality=0),
        gga("120001", quality=6),
        gga("120001", quality=8),
        sentence("GPRMC,,V,,,,,,,,,,N"),
        sentence("GPGGA,,,,,,0,,,,,,,,"),
    ],
)
def test_a_sentence_without_a_fix_is_counted(bad):
    found = read(rmc("120000", "010526"), bad)
    assert len(found.fixes) == 1
    assert skips(found) == {"sentence without a valid position (no fix)": 1}


def test_a_moment_that_rmc_calls_void_is_not_used():
    found = read(rmc("120000", "010526"), rmc("120001", "010526", status="V"), gga("120001"))
    assert len(found.fixes) == 1
    assert "position of a moment that RMC calls void" in skips(found)


def test_a_wrong_checksum_keeps_the_sentence_out():
    found = read(rmc("120000", "010526"), rmc("120001", "010526").replace("01131", "01132"))
    assert len(found.fixes) == 1
    assert skips(found) == {"NMEA sentence with a wrong checksum": 1}


def test_a_missing_checksum_is_taken_only_where_no_sentence_has_one():
    bare = [s.partition("*")[0] + "\n" for s in (rmc("120000", "010526"), rmc("120001", "010526"))]
    found = read(*bare)
    assert len(found.fixes) == 2
    assert "unchecked" in found.notes[0]
    found = read(bare[0], rmc("120001", "010526"))
    assert len(found.fixes) == 1
    assert skips(found) == {"NMEA sentence without a checksum": 1}


@pytest.mark.parametrize("place", ["4860.000", "48.5", "abc", "", "4807.0x"])
def test_a_place_that_is_none_is_not_used(place):
    assert len(read(rmc("120000", "010526", lat=place), rmc("120001", "010526")).fixes) == 1


@pytest.mark.parametrize("hms", ["250000", "126000", "12000", "noon"])
def test_a_time_that_is_none_is_not_used(hms):
    assert len(read(rmc(hms, "010526"), rmc("120001", "010526")).fixes) == 1


@pytest.mark.parametrize("date", ["2208-1", "310226", "001326", ""])
def test_a_date_that_is_none_is_taken_from_the_neighbour(date):
    found = read(rmc("120000", date), rmc("120001", "010526"))
    assert times(found)[0] == parse("2026-05-01T12:00:00Z")


def test_text_before_a_sentence_and_other_lines_do_no_harm():
    found = read(
        "# a comment\n",
        "12:00:00.1 " + rmc("120000", "010526"),
        "!AIVDM,1,1,,A,x,0*00\n",
        "\n",
        "$GPXTE,A\n",
    )
    assert len(found.fixes) == 1


def test_a_binary_log_is_refused_as_one():
    with pytest.raises(TrackError, match="binary log"):
        nmea.read(b"\xa0\xa2\x00\x41\x02$\x00\xff" * 50, "x")


def test_text_without_a_sentence_is_refused():
    with pytest.raises(TrackError, match="No whole NMEA 0183 sentence"):
        nmea.read(b"hello\nworld\n", "x")
