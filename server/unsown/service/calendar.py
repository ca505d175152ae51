"""The farm's own days and seasons: a day begins at its day start, local time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from unsown.service.words import FarmError

#: Where a time lies beyond the calendar: a clock that was never set.
NO_DAY, NO_SEASON = "0000-00-00", 0
_EARLIEST_MS, _LATEST_MS = 946_684_800_000, 4_102_444_800_000  # 2000 to 2100


@dataclass(frozen=True)
class Calendar:
    """How the farm counts days: its time zone (IANA name) and when its day starts."""

    zone: str
    day_start: str

    def day(self, t_ms: int) -> str:
        """The farm day of a moment, YYYY-MM-DD; NO_DAY where it lies beyond the calendar."""
        if not _EARLIEST_MS <= t_ms < _LATEST_MS:
            return NO_DAY
        return _day_of_minute(self, t_ms // _STEP_MS)

    def season(self, t_ms: int) -> int:
        """The season (calendar year of the farm day) of a moment; NO_SEASON beyond it."""
        return int(self.day(t_ms)[:4])

    def begins_ms(self, day: str) -> int:
        """When a farm day begins, UTC ms.

        Raises:
            FarmError: not a date.
        """
        try:
            start = datetime.combine(
                date.fromisoformat(day), time.fromisoformat(self.day_start), ZoneInfo(self.zone)
            )
        except ValueError as error:
            raise FarmError(
                "bad-value", f"A day such as 2026-05-01 was expected; {day!r} came."
            ) from error
        return round(start.timestamp() * 1000)

    def span_ms(self, season: int) -> tuple[int, int]:
        """When a season begins and when the next one does, UTC ms."""
        return self.begins_ms(f"{season:04d}-01-01"), self.begins_ms(f"{season + 1:04d}-01-01")


#: Zones differ by quarters of an hour, and days start at whole minutes: a minute is fine enough.
_STEP_MS = 60_000


@lru_cache(maxsize=65_536)
def _day_of_minute(calendar: Calendar, minute: int) -> str:
    hours, minutes = calendar.day_start.split(":")
    local = datetime.fromtimestamp(minute * 60, UTC).astimezone(ZoneInfo(calendar.zone))
    # by the clock on the wall, so that a change to summer time moves no day's start
    return str(
        (local.replace(tzinfo=None) - timedelta(hours=int(hours), minutes=int(minutes))).date()
    )
