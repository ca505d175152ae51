"""Moments as the farm's people say them, on the farm's own clock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, tzinfo
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def zone(settings: Mapping[str, Any]) -> tzinfo:
    """The farm's time zone (``zone``, an IANA name); UTC where it has none that is known."""
    try:
        return ZoneInfo(str(settings.get("zone") or "UTC"))
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return UTC


def moment(t_ms: float | None, where: tzinfo) -> str:
    """Such as ``14 May 16:25``; nothing where there is no moment."""
    if t_ms is None:
        return ""
    then = datetime.fromtimestamp(t_ms / 1000, where)
    return f"{then.day} {then:%b %H:%M}"


def printed(t_ms: float, where: tzinfo) -> str:
    """Such as ``printed 14 May 2026 16:25``."""
    then = datetime.fromtimestamp(t_ms / 1000, where)
    return f"printed {then.day} {then:%b %Y %H:%M}"


def clock(t_ms: float, where: tzinfo) -> str:
    """Such as ``16:25``."""
    return f"{datetime.fromtimestamp(t_ms / 1000, where):%H:%M}"


def span(from_ms: float, to_ms: float, where: tzinfo) -> str:
    """Such as ``14 May 16:25 to 16:31``; the second day only where it is another."""
    start, end = (datetime.fromtimestamp(t / 1000, where) for t in (from_ms, to_ms))
    until = f"{end:%H:%M}" if start.date() == end.date() else f"{end.day} {end:%b %H:%M}"
    return f"{start.day} {start:%b %H:%M} to {until}"


def day(text: str) -> str:
    """A farm day such as ``Thursday 14 May 2026``; the text itself where it is no date."""
    try:
        then = date.fromisoformat(text)
    except ValueError:
        return text
    return f"{then:%A} {then.day} {then:%B %Y}"
