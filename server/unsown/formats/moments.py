"""Times as text <-> UTC milliseconds."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

_ZERO = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)
_ISO = re.compile(
    r"\s*(\d{4})-(\d{1,2})-(\d{1,2})"
    r"(?:[T ](\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d+))?)?"
    r"\s*(Z|z|UTC|[+-]\d{2}:?\d{2}|[+-]\d{2})?)?\s*\Z",
    re.ASCII,
)


def to_ms(moment: datetime) -> int:
    """UTC milliseconds of a moment; one without a zone is taken as UTC. Rounded to the nearest."""
    aware = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    return (aware - _ZERO + timedelta(microseconds=500)) // _MS


def parse(text: str) -> int | None:
    """UTC milliseconds of an ISO 8601 time or date; None if it is not one.

    A time without a zone is taken as UTC, a date alone as its first moment.
    """
    found = _ISO.match(text) if len(text) < 64 else None
    if not found:
        return None
    year, month, day_, hour, minute, second, part, zone = found.groups()
    try:
        day = date(int(year), int(month), int(day_)).toordinal() - _ZERO.toordinal()
    except ValueError:
        return None
    h, m, s = int(hour or 0), int(minute or 0), int(second or 0)
    if h > 23 or m > 59 or s > 60:  # 60 is a leap second: the first moment of the next minute
        return None
    ms = ((day * 24 + h) * 60 + m) * 60_000 + s * 1000
    if part:
        ms += (int((part + "000000")[:6]) + 500) // 1000
    if zone and zone[0] in "+-":
        digits = zone[1:].replace(":", "").ljust(4, "0")
        away = (int(digits[:2]) * 60 + int(digits[2:])) * 60_000
        ms += -away if zone[0] == "+" else away
    return ms


def to_moment(t_ms: int) -> datetime:
    """The moment, with zone UTC."""
    return _ZERO + timedelta(milliseconds=t_ms)


def iso(t_ms: int) -> str:
    """ISO 8601 with milliseconds and Z."""
    return to_moment(int(t_ms)).isoformat(timespec="milliseconds").replace("+00:00", "Z")
