"""NMEA 0183 text -> Log: one fix an epoch, put together from RMC, GGA, GNS, GLL and VTG.

The checksum is the exclusive or of the bytes between ``$`` and ``*``. A sentence with a wrong one
is kept out; so is one without, unless no sentence of the file has any. The date comes from RMC or
ZDA, carried over midnight in both directions; a two-digit year from 80 is 19yy, else 20yy. HDOP is
a geometry factor, not metres: it is not read as an accuracy.
"""

from __future__ import annotations

import calendar
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from unsown.core.errors import TrackError
from unsown.core.words import Log
from unsown.formats import guard, moments
from unsown.formats.rows import NAN, Rows, number

KNOT_M_S = 1852.0 / 3600.0
DAY_MS = 86_400_000
_SENTENCE = re.compile(rb"([A-Z][A-Z0-9]{2,}),([ -)+-~]*)(?:\*([0-9A-Za-z ]{0,2}))?")
_RANK = {"GGA": 0, "GNS": 1, "RMC": 2, "GLL": 3}
_NO_FIX = "sentence without a valid position (no fix)"


@dataclass
class _Epoch:
    """One moment as far as the sentences told it: milliseconds of the day, and what they said."""

    tod_ms: int
    day: int | None = None
    rank: int = 9
    lat_deg: float = NAN
    lon_deg: float = NAN
    speed_m_s: float = NAN
    course_deg: float = NAN
    void: bool = False


def checksum(body: bytes) -> int:
    """Exclusive or of the bytes between ``$`` and ``*``, folded in halves."""
    half = 1 << max(len(body) - 1, 0).bit_length()
    folded = int.from_bytes(body, "big")
    while half > 1:
        half //= 2
        folded ^= folded >> (8 * half)
    return folded & 0xFF


def read(data: bytes, where: str, phone: str | None = None) -> Log:
    """One fix for each moment that has a valid position and, from somewhere, a date.

    Raises:
        TrackError: a receiver's binary log, or text without one NMEA sentence.
    """
    guard.sized(data, where, guard.TRACK_BYTES, TrackError)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        data = guard.text(data, where, TrackError).encode("latin-1", "replace")
    rows = Rows(where, phone)
    epochs: list[_Epoch] = []
    dates: list[int] = []
    for name, fields in _sentences(data, rows, where):
        _take(name, fields, epochs, dates, rows)
    _days(epochs)
    for epoch in epochs:
        _keep(epoch, rows)
    _oddities(dates, rows)
    return rows.log()


def _sentences(data: bytes, rows: Rows, where: str) -> list[tuple[str, list[str]]]:
    """Sentences whose checksum is right, as (name without talker, fields)."""
    good, bare = [], []
    for raw in data.splitlines():
        if raw.startswith(b"#") or b"$" not in raw:
            continue
        for part in raw.split(b"$")[1:]:
            found = _SENTENCE.match(part)
            if not found:
                rows.skip("line that is not a whole NMEA sentence")
                continue
            head, rest, told = found.groups()
            item = (head.decode("ascii"), rest.decode("ascii").split(","))
            if told is None or not told.strip():
                bare.append(item)
            elif _hex(told) == checksum(part[: found.end(2)]):
                good.append(item)
            else:
                rows.skip("NMEA sentence with a wrong checksum")
    if good:
        rows.skip("NMEA sentence without a checksum", len(bare))
    elif bare and b"\x00" not in data:
        good = bare
        rows.notes.append(f"{where}: no sentence has a checksum; they were read unchecked")
    if not good:
        if b"\x00" in data:
            raise TrackError(
                "nmea-binary",
                "This is a receiver's binary log, not NMEA 0183 text.",
                where=where,
                hint="Set the receiver to NMEA, or convert the log to GPX.",
            )
        raise TrackError(
            "nmea-none",
            "No whole NMEA 0183 sentence in the file.",
            where=where,
            hint="Sentences look like $GPRMC,...*43.",
        )
    return [(head[-3:] if head[0] != "P" else head, fields) for head, fields in good]


def _hex(told: bytes) -> int:
    try:
        return int(told, 16)
    except ValueError:
        return -1


def _take(name: str, f: list[str], epochs: list[_Epoch], dates: list[int], rows: Rows) -> None:
    """Adds what one sentence says to the epoch it belongs to."""
    if name == "VTG":
        if epochs and len(f) >= 7:
            knots = number(f[4])
            speed = knots * KNOT_M_S if math.isfinite(knots) else number(f[6]) / 3.6
            _move(epochs[-1], speed, number(f[0]))
        return
    place = {"RMC": 0, "GGA": 0, "GNS": 0, "GLL": 4, "ZDA": 0}.get(name)
    if place is None:
        return
    tod = _tod(f[place]) if len(f) > place else None
    if name == "ZDA":
        day = _zda(f)
        if tod is not None and day is not None:
            _epoch(epochs, tod).day = day
            dates.append(day)
        return
    valid, lat, lon = _position(name, f)
    if not valid or tod is None or not math.isfinite(lat + lon):
        if name != "GLL":
            rows.skip(_NO_FIX)
        if tod is not None and name == "RMC":
            _epoch(epochs, tod).void = True
        return
    epoch = _epoch(epochs, tod)
    if _RANK[name] < epoch.rank:
        epoch.rank, epoch.lat_deg, epoch.lon_deg = _RANK[name], lat, lon
    if name == "RMC":
        _move(epoch, number(f[6]) * KNOT_M_S, number(f[7]))
        day = _date(f[8])
        if day is not None:
            epoch.day = day
            dates.append(day)
        elif f[8]:
            rows.skip("date in RMC that is not ddmmyy (the position was kept)")


def _epoch(epochs: list[_Epoch], tod_ms: int) -> _Epoch:
    if not epochs or epochs[-1].tod_ms != tod_ms:
        epochs.append(_Epoch(tod_ms))
    return epochs[-1]


def _move(epoch: _Epoch, speed_m_s: float, course_deg: float) -> None:
    if math.isnan(epoch.speed_m_s):
        epoch.speed_m_s = speed_m_s
    if math.isnan(epoch.course_deg):
        epoch.course_deg = course_deg


def _position(name: str, f: list[str]) -> tuple[bool, float, float]:
    """Whether a sentence has a fix from satellites, and where."""
    try:
        if name == "RMC":
            valid = (
                f[1] == "A"
                and len(f) > 8
                and (len(f) < 12 or f[11] in ("", "A", "D", "R", "F", "P"))
            )
            return valid, *_both(f[2:6])
        if name == "GGA":
            return f[5] in ("1", "2", "3", "4", "5", "9"), *_both(f[1:5])
        if name == "GNS":
            return bool(set(f[5]) & set("ADRFP")), *_both(f[1:5])
        valid = f[5] == "A" and (len(f) < 7 or f[6] in ("", "A", "D", "R", "F", "P"))
        return valid, *_both(f[0:4])
    except IndexError:
        return False, NAN, NAN


def _both(f: list[str]) -> tuple[float, float]:
    return degrees(f[0], f[1]), degrees(f[2], f[3])


@lru_cache(maxsize=64)  # sentences of one moment repeat it
def degrees(value: str, side: str) -> float:
    """``ddmm.mmmm`` and ``N``, ``S``, ``E`` or ``W`` as degrees; NaN if it is neither."""
    if not re.fullmatch(r"\d{3,5}(\.\d*)?", value) or side not in ("N", "S", "E", "W"):
        return NAN
    whole, dot, part = value.partition(".")
    minutes = float(whole[-2:] + dot + part)
    if minutes >= 60.0:
        return NAN
    out = int(whole[:-2]) + minutes / 60.0
    return -out if side in "SW" else out


@lru_cache(maxsize=64)  # sentences of one moment repeat it
def _tod(value: str) -> int | None:
    """Milliseconds of the day of ``hhmmss.sss``; None if it is not one."""
    found = re.fullmatch(r"(\d\d)(\d\d)(\d\d)(\.\d*)?", value)
    if not found:
        return None
    hour, minute, second = (int(v) for v in found.group(1, 2, 3))
    if hour > 23 or minute > 59 or second > 60:
        return None
    part = round(float("0" + (found.group(4) or ".0") + "0") * 1000)
    return ((hour * 60 + minute) * 60 + second) * 1000 + part


@lru_cache(maxsize=64)  # sentences of one moment repeat it
def _date(value: str) -> int | None:
    """Days since 1970 of ``ddmmyy``; years 80 to 99 are 1980 to 1999."""
    if not re.fullmatch(r"\d{6}", value):
        return None
    year = int(value[4:])
    return _day(year + (1900 if year >= 80 else 2000), int(value[2:4]), int(value[:2]))


def _zda(f: list[str]) -> int | None:
    if len(f) < 4 or not all(v.isdigit() for v in f[1:4]):
        return None
    return _day(int(f[3]), int(f[2]), int(f[1]))


def _day(year: int, month: int, day: int) -> int | None:
    if not (1980 <= year <= 9999 and 1 <= month <= 12):
        return None
    if not 1 <= day <= calendar.monthrange(year, month)[1]:
        return None
    ms = moments.parse(f"{year:04d}-{month:02d}-{day:02d}")
    return None if ms is None else ms // DAY_MS


def _days(epochs: list[_Epoch]) -> None:
    """Gives every epoch a day: its own, or the nearest before, or after, turned at midnight."""
    for order in (epochs, epochs[::-1]):
        last: _Epoch | None = None
        for epoch in order:
            if epoch.day is None and last is not None and last.day is not None:
                turn = round((last.tod_ms - epoch.tod_ms) / DAY_MS)
                epoch.day = last.day + turn
            last = epoch if epoch.day is not None else last


def _keep(epoch: _Epoch, rows: Rows) -> None:
    if not math.isfinite(epoch.lat_deg):
        return
    if epoch.void:
        rows.skip("position of a moment that RMC calls void")
    elif epoch.day is None:
        rows.skip("position with a time but without a date in the whole file")
    else:
        t_ms = epoch.day * DAY_MS + epoch.tod_ms
        rows.add(t_ms, epoch.lat_deg, epoch.lon_deg, NAN, epoch.speed_m_s, epoch.course_deg)


def _oddities(dates: list[int], rows: Rows) -> None:
    jumps = [(a, b) for a, b in pairwise(dates) if not 0 <= b - a <= 1]
    for before, after in jumps[:3]:
        weeks = abs(after - before) / 7
        roll = " (near 1024 weeks: the receiver lost count of the weeks)"
        rows.notes.append(
            f"{rows.where}: the date jumps from {_iso(before)} to {_iso(after)}"
            + (roll if abs(weeks - 1024) < 30 else "")
        )
    if dates and min(dates) < 10_957:  # 2000-01-01
        rows.notes.append(
            f"{rows.where}: the date {_iso(min(dates))} is long past: a receiver that lost count "
            "of the weeks (1024 weeks, 19.6 years) writes such dates"
        )


def _iso(day: int) -> str:
    return moments.iso(day * DAY_MS)[:10]
