"""Sun and dusk against a published almanac's rule in another library (astral, Apache 2.0)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from astral import Observer
from astral.sun import dusk, elevation, sunrise

from unsown.core.sun import RISE_DEG, height_deg, is_night, next_crossing

PLACES = [(49.73, -106.21), (-31.5, 117.5), (52.5, -0.5), (-45.0, 179.99)]
DAYS = [datetime(2026, month, 14, 6, tzinfo=UTC) for month in (1, 4, 6, 9, 11)]


def ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)


@pytest.mark.parametrize(("lat", "lon"), PLACES)
def test_the_sun_stands_where_another_library_puts_it(lat: float, lon: float) -> None:
    for day in DAYS:
        for hour in range(0, 24, 3):
            at = day + timedelta(hours=hour)
            theirs = elevation(Observer(lat, lon), at, with_refraction=False)
            assert height_deg(ms(at), lat, lon) == pytest.approx(theirs, abs=0.03)


@pytest.mark.parametrize(("lat", "lon"), PLACES)
def test_dusk_and_sunrise_come_within_a_minute_of_the_other_library(lat: float, lon: float) -> None:
    for day in DAYS:
        evening = dusk(Observer(lat, lon), day.date(), tzinfo=UTC, depression=6)
        ours = next_crossing(ms(evening) - 4 * 3_600_000, lat, lon)
        assert ours is not None
        assert abs(ours - ms(evening)) < 60_000
        assert not is_night(ours - 120_000, lat, lon)
        assert is_night(ours + 120_000, lat, lon)
        morning = sunrise(Observer(lat, lon), day.date(), tzinfo=UTC)
        up = next_crossing(ms(morning) - 4 * 3_600_000, lat, lon, RISE_DEG, rising=True)
        assert up is not None
        assert abs(up - ms(morning)) < 90_000


def test_there_is_no_dusk_in_the_high_north_s_summer() -> None:
    assert next_crossing(ms(datetime(2026, 6, 21, tzinfo=UTC)), 70.0, 25.0) is None
