"""Rows of positions, gathered one by one and turned into Fixes; counts what it keeps out."""

from __future__ import annotations

import math
from array import array
from collections import Counter
from collections.abc import Iterable

import numpy as np

from unsown.core.words import Fixes, Log, Mark, Skipped

PHONE = "phone"
"""The label of a source that names no device: one label, so that cut files join as one."""

NAN = float("nan")
SWAPPED = "latitude beyond 90 degrees, as if it were the longitude"
EARLIEST_MS = -62_135_596_800_000
LATEST_MS = 253_402_300_799_999
"""Years 1 to 9999: outside of it a number is not a time."""


class Rows:
    """Positions as they come out of a file, with the reasons of those that were kept out."""

    def __init__(self, where: str, phone: str | None = None) -> None:
        """Starts empty; ``phone`` labels rows that name no device."""
        self.where = where
        self.phones: dict[str, int] = {}
        self.phone = phone or PHONE
        self.t_ms = array("q")
        self.numbers = [array("d") for _ in range(5)]
        self.who = array("q")
        self.segments = array("q")
        self.written = array("q")
        self.kept_out: Counter[str] = Counter()
        self.notes: list[str] = []

    def __len__(self) -> int:
        """How many rows were kept."""
        return len(self.t_ms)

    def skip(self, reason: str, count: int = 1) -> None:
        """Counts something that was kept out."""
        if count:
            self.kept_out[reason] += count

    def add(
        self,
        t_ms: int,
        lat_deg: float,
        lon_deg: float,
        acc_m: float = NAN,
        speed_m_s: float = NAN,
        course_deg: float = NAN,
        segment: int = 0,
        phone: str = "",
        seq: int = 0,
    ) -> bool:
        """Keeps one row if its place is one on earth; tells whether it did.

        Latitude -90 to 90 and longitude -180 to 180, degrees. An accuracy or speed below zero
        or not finite counts as not given, a course is brought into 0 to 360.
        """
        if not (-90.0 <= lat_deg <= 90.0 and -180.0 <= lon_deg <= 180.0):
            self.skip(_nowhere(lat_deg, lon_deg))
            return False
        if lat_deg == 0.0 and lon_deg == 0.0:
            self.skip("position 0, 0: what a receiver writes when it has none")
            return False
        if not EARLIEST_MS <= t_ms <= LATEST_MS:
            self.skip("time out of range")
            return False
        label = phone or self.phone
        self.t_ms.append(t_ms)
        self.who.append(self.phones.setdefault(label, len(self.phones)))
        self.segments.append(segment)
        self.written.append(seq)
        lat, lon, acc, speed, course = self.numbers
        lat.append(lat_deg)
        lon.append(lon_deg)
        acc.append(acc_m if 0.0 <= acc_m < math.inf else NAN)
        speed.append(speed_m_s if 0.0 <= speed_m_s < math.inf else NAN)
        course.append(course_deg % 360.0 if math.isfinite(course_deg) else NAN)
        return True

    def fixes(self) -> Fixes:
        """The rows as arrays."""
        floats = [np.array(column, dtype=np.float64) for column in self.numbers]
        return Fixes(
            np.array(self.t_ms, dtype=np.int64),
            *floats,
            np.array(self.who, dtype=np.int64),
            np.array(self.segments, dtype=np.int64),
            tuple(self.phones) or (self.phone,),
        )

    def log(self, marks: Iterable[Mark] = ()) -> Log:
        """Rows, marks, what was kept out and the notes, as one Log."""
        skipped = tuple(Skipped(r, n, self.where) for r, n in self.kept_out.items())
        return Log(self.fixes(), tuple(marks), skipped, tuple(self.notes))


def _nowhere(lat_deg: float, lon_deg: float) -> str:
    if not (math.isfinite(lat_deg) and math.isfinite(lon_deg)):
        return "latitude or longitude is not a number"
    if abs(lat_deg) <= 180.0 and abs(lon_deg) <= 90.0:
        return SWAPPED
    return "latitude or longitude out of range"


def number(value: object) -> float:
    """A float of a number or of its text; NaN for anything else (no error: a gap is data)."""
    if isinstance(value, bool) or value is None:
        return NAN
    if isinstance(value, int | float):
        return float(value) if abs(value) < 1e300 else NAN
    if isinstance(value, str):
        try:
            return float(value)
        except ValueError:
            return NAN
    return NAN
