"""The farm's day begins at its own hour, by the clock on its own wall."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from unsown.service.calendar import NO_DAY, Calendar
from unsown.service.words import FarmError


def ms(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() * 1000)


@pytest.mark.parametrize(
    ("zone", "moment", "day"),
    [
        ("UTC", "2026-05-02T03:59:59", "2026-05-01"),
        ("UTC", "2026-05-02T04:00:00", "2026-05-02"),
        ("America/Regina", "2026-05-02T09:59:59", "2026-05-01"),  # 6 h behind, no summer time
        ("America/Regina", "2026-05-02T10:00:00", "2026-05-02"),
        ("Asia/Kolkata", "2026-05-01T22:29:59", "2026-05-01"),  # 5 h 30 min ahead
        ("Asia/Kolkata", "2026-05-01T22:30:00", "2026-05-02"),
        ("Australia/Adelaide", "2026-04-04T18:29:59", "2026-04-04"),  # summer time ends at 3:00
        ("Australia/Adelaide", "2026-04-04T18:30:00", "2026-04-05"),
        ("Europe/Berlin", "2026-03-29T01:59:59", "2026-03-28"),  # summer time begins at 2:00
        ("Europe/Berlin", "2026-03-29T02:00:00", "2026-03-29"),
        ("UTC", "2027-01-01T03:00:00", "2026-12-31"),
    ],
)
def test_a_moment_lies_on_the_farms_own_day(zone: str, moment: str, day: str) -> None:
    assert Calendar(zone, "04:00").day(ms(moment)) == day


@given(
    st.integers(ms("2000-01-02T00:00:00"), ms("2099-12-30T00:00:00")),
    st.sampled_from(["UTC", "America/Regina", "Australia/Lord_Howe", "Europe/Berlin"]),
    st.sampled_from(["00:00", "04:00", "23:45"]),
)
def test_a_day_begins_on_itself_and_not_a_moment_before(t_ms: int, zone: str, start: str) -> None:
    calendar = Calendar(zone, start)
    begins = calendar.begins_ms(calendar.day(t_ms))
    assert begins <= t_ms
    assert calendar.day(begins) == calendar.day(t_ms)
    assert calendar.day(begins - 1) < calendar.day(t_ms)


def test_a_season_is_the_year_of_the_farm_day() -> None:
    calendar = Calendar("America/Regina", "04:00")
    first, after = calendar.span_ms(2026)
    assert [calendar.season(t) for t in (first - 1, first, after - 1, after)] == [
        2025, 2026, 2026, 2027,
    ]  # fmt: skip


@pytest.mark.parametrize("t_ms", [0, -1, -(10**15), 8 * 10**15, ms("1999-12-31T00:00:00")])
def test_a_clock_that_was_never_set_has_no_day(t_ms: int) -> None:
    assert Calendar("UTC", "04:00").day(t_ms) == NO_DAY
    assert Calendar("UTC", "04:00").season(t_ms) == 0


@pytest.mark.parametrize("day", ["", "today", "2026-13-01", "2026-02-30", "../x"])
def test_what_is_no_day_is_refused(day: str) -> None:
    with pytest.raises(FarmError):
        Calendar("UTC", "04:00").begins_ms(day)
