"""CSV tracks -> Log. Which column names are known stands in docs/reference/tracks.md."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Iterator, Mapping

from unsown.core.errors import TrackError
from unsown.core.words import Log, Mark
from unsown.formats import guard, moments
from unsown.formats.nmea import KNOT_M_S
from unsown.formats.rows import NAN, Rows, number

NAMES: Mapping[str, tuple[str, ...]] = {
    "t_ms": ("t_ms", "time_ms", "timestamp_ms", "epoch_ms", "unix_ms"),
    "t_s": ("t_s", "time_s", "epoch_s", "unix", "unix_s", "unixtime", "epoch"),
    "time": (
        "time",
        "timestamp",
        "utc",
        "utc_time",
        "time_utc",
        "datetime",
        "date_time",
        "iso_time",
        "gps_time",
        "gpstime",
    ),
    "date": ("date", "utc_date", "day"),
    "lat": ("lat", "latitude", "lat_deg", "latitude_deg", "lat_dd", "y"),
    "lon": (
        "lon",
        "lng",
        "long",
        "longitude",
        "lon_deg",
        "lng_deg",
        "long_deg",
        "longitude_deg",
        "lon_dd",
        "x",
    ),
    "acc_m": (
        "acc",
        "acc_m",
        "accuracy",
        "accuracy_m",
        "horizontal_accuracy",
        "horizontal_accuracy_m",
        "h_accuracy",
        "h_accuracy_m",
    ),
    "speed_m_s": (
        "speed",
        "speed_m_s",
        "speed_mps",
        "speed_ms",
        "speed_ms_1",
        "velocity",
        "velocity_m_s",
        "velocity_mps",
    ),
    "speed_km_h": ("speed_km_h", "speed_kmh", "speed_kph", "velocity_km_h", "velocity_kmh"),
    "speed_kn": ("speed_kn", "speed_kt", "speed_kts", "speed_knots"),
    "speed_mph": ("speed_mph", "speed_mi_h"),
    "course_deg": (
        "course",
        "course_deg",
        "heading",
        "heading_deg",
        "bearing",
        "bearing_deg",
        "track_deg",
        "cog",
        "cog_deg",
    ),
    "lever": ("lever", "down", "state", "tool", "tool_down", "in_ground"),
    "phone": ("phone", "dev", "device"),
    "interval_s": ("interval_s", "interval"),
    "segment": ("segment", "seg", "trkseg", "segment_number"),
}
"""Known column names: lower case, everything but letters and digits as one ``_``."""

_OF = {name: key for key, names in NAMES.items() for name in names}
_SPEED = {"speed_m_s": 1.0, "speed_km_h": 1 / 3.6, "speed_kn": KNOT_M_S, "speed_mph": 0.44704}
_DOWN = {"down", "1", "true", "yes", "on", "d"}
_UP = {"up", "0", "false", "no", "off", "u"}


def read(data: bytes, where: str, phone: str | None = None) -> Log:
    """The rows that have a time and a place.

    Delimiter comma, semicolon or tab; with semicolon or tab also decimal commas. A time is
    ISO 8601 (without a zone: UTC) or seconds or milliseconds since 1970. A table that has only
    ``interval_s`` tells no moment and is refused.

    Raises:
        TrackError: no header with latitude and longitude, or no column with a time.
    """
    text = guard.text(data, where, TrackError, latin=True)
    delimiter = _delimiter(text)
    rows = Rows(where, phone)
    try:
        table = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        header = next((row for row in table if any(cell.strip() for cell in row)), [])
        columns = _columns(header, where)
        value = _decimal(delimiter)
        marks = list(_rows(table, columns, rows, value, len(header)))
    except csv.Error as error:
        raise TrackError("table-bad", f"The table cannot be read: {error}.", where=where) from error
    return rows.log(marks)


def _delimiter(text: str) -> str:
    head = next((line for line in text[:10_000].splitlines() if line.strip()), "")
    return max(";\t,", key=head.count)


def _columns(header: list[str], where: str) -> dict[str, int]:
    columns: dict[str, int] = {}
    for at, cell in enumerate(header):
        name = re.sub(r"[^a-z0-9]+", "_", cell.lower()).strip("_")
        key = _OF.get(name)
        if key is None:
            continue
        if key in columns:
            raise TrackError(
                "table-twice",
                f"Columns {header[columns[key]]!r} and {cell!r} both give {key}.",
                where=where,
                hint="Keep one of them.",
            )
        columns[key] = at
    if "lat" not in columns or "lon" not in columns:
        raise TrackError(
            "track-kind",
            f"This is none of GPX, NMEA 0183 text, GeoJSON or the log, and its first line "
            f"({','.join(header)[:60]!r}) does not name columns lat and lon.",
            where=where,
            hint="Known column names are in docs/reference/tracks.md.",
        )
    if not {"t_ms", "t_s", "time"} & columns.keys():
        only = " interval_s alone tells no moment." if "interval_s" in columns else ""
        raise TrackError(
            "track-without-times",
            f"The table has no column with a time (t_ms, time, timestamp, utc).{only}",
            where=where,
            hint="Add one: ISO 8601 in UTC, or milliseconds since 1970 as t_ms.",
        )
    return columns


def _decimal(delimiter: str) -> Callable[[str], float]:
    if delimiter == ",":
        return number
    return lambda cell: number(cell.strip().replace(",", ".", 1))


def _rows(
    table: Iterator[list[str]],
    columns: dict[str, int],
    rows: Rows,
    value: Callable[[str], float],
    width: int,
) -> Iterator[Mark]:
    """Adds the rows; yields a mark at each phone's first lever state and at each change."""
    states: dict[str, str] = {}
    scale = next(((k, f) for k, f in _SPEED.items() if k in columns), None)
    for cells in table:
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) < width:
            rows.skip("row with too few columns")
            continue
        got = {key: cells[at].strip() for key, at in columns.items()}
        t_ms = _time(got, value)
        if t_ms is None:
            rows.skip("row without a time that can be read")
            continue
        speed = value(got[scale[0]]) * scale[1] if scale else NAN
        acc, course = (value(got[k]) if k in got else NAN for k in ("acc_m", "course_deg"))
        segment = value(got.get("segment", ""))
        part = int(segment) if 0 <= segment < 2**31 else 0
        label = got.get("phone") or rows.phone
        place = value(got["lat"]), value(got["lon"])
        if not rows.add(t_ms, *place, acc, speed, course, part, label):
            continue
        word = got.get("lever", "").lower()
        lever = "down" if word in _DOWN else "up" if word in _UP else ""
        if word and not lever:
            rows.skip("lever state that is neither down nor up (the row was kept)")
        elif lever and lever != states.get(label):
            states[label] = lever
            yield Mark(t_ms, "lever", label, says={"lever": lever, "how": "track"})


def _time(got: dict[str, str], value: Callable[[str], float]) -> int | None:
    for key, unit in (("t_ms", 1.0), ("t_s", 1000.0)):
        if key in got:
            told = value(got[key])
            return round(told * unit) if math.isfinite(told) else None
    text = f"{got['date']} {got['time']}" if got.get("date") else got["time"]
    told = value(got["time"])
    if math.isfinite(told) and "date" not in got:
        # since 1970: seconds up to the year 5138, milliseconds from 1973 on
        return round(told if abs(told) >= 1e11 else told * 1000.0)
    return moments.parse(text)
