"""Any track file -> Log, and several Logs -> one."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence

import numpy as np

from unsown.core.clock import steady
from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Ints, Log, Mark, Skipped
from unsown.formats import geojson, gpx, guard, log, moments, nmea, tables
from unsown.formats.rows import SWAPPED

_SENTENCE = re.compile(rb"\$[A-Z]{2,3}(?:RMC|GGA|GLL|GNS|ZDA|VTG|GSA|GSV|DBT|DPT|TXT),")
_TURN = (
    "Latitude and longitude look swapped: latitude (lat_deg) is degrees north, -90 to 90, "
    "longitude (lon_deg) degrees east, -180 to 180. Swap them in the file."
)
_SECONDS = (800_000_000, 100_000_000_000)
_SAME = "the same fix again"
_NAMES = "GPX, NMEA 0183 text, CSV, GeoJSON lines with times, or the log (JSON lines)"


def read_track(data: bytes, where: str, phone: str | None = None) -> Log:
    """The track in the file, whatever its name: GPX, NMEA 0183, CSV, GeoJSON or our own log.

    ``phone`` labels what names no device. Give the result to ``join``, also a single one.

    Raises:
        TrackError: not one of these, or not one usable fix or mark in it; the message says what
            was in it instead.
    """
    guard.sized(data, where, guard.TRACK_BYTES, TrackError)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        data = guard.text(data, where, TrackError).encode()
    read = _reader(data, where)
    found = read(data, where, phone)
    if not len(found.fixes) and not found.marks:
        raise _nothing(found, where)
    wrong = _in_seconds(found, where)
    if wrong:
        raise wrong
    return found if read is log.read else steady(found, where=where)


def _reader(data: bytes, where: str) -> Callable[[bytes, str, str | None], Log]:
    name = guard.sign(data)
    if name in ("zip", "gzip", "7z archive", "rar archive"):
        hint = "Unpack it and give the file inside."
        raise TrackError(
            "track-kind", f"A track was expected, not a {name}.", where=where, hint=hint
        )
    if name in ("sqlite", "shape"):
        raise TrackError(
            "track-kind",
            "This holds shapes, not a track.",
            where=where,
            hint="Give it as the paddock.",
        )
    start = data[:40_000].removeprefix(b"\xef\xbb\xbf").lstrip()[:1]
    if start not in (b"<", b"{", b"[") and _SENTENCE.search(data):
        return nmea.read
    if b"\x00" in data:
        raise TrackError(
            "track-binary",
            f"The file is binary (byte {data.index(0)} is NUL): a receiver's own log, perhaps.",
            where=where,
            hint="Set the receiver to NMEA 0183, or convert the log to GPX.",
        )
    text = guard.text(data, where, TrackError, latin=True).lstrip()
    if text.startswith("<"):
        if guard.root(text) == "kml":
            raise TrackError(
                "track-kind",
                "KML is read as a boundary, not as a track.",
                where=where,
                hint="Export the track as GPX.",
            )
        return gpx.read
    if text.startswith(("{", "[")):
        return log.read if _is_log(text) else geojson.read
    return tables.read


def _is_log(text: str) -> bool:
    first = text.partition("\n")[0]
    try:
        entry = json.loads(first)
    except (ValueError, RecursionError):
        return '"kind"' in first and '"t_ms"' in first
    return isinstance(entry, dict) and "type" not in entry


def _nothing(found: Log, where: str) -> TrackError:
    what = _left_out(found.skipped) or "nothing at all"
    if any(s.reason == SWAPPED for s in found.skipped):
        return TrackError(
            "track-swapped", f"There is no usable position. Found: {what}.", where=where, hint=_TURN
        )
    times = any("without a time" in s.reason or "without a date" in s.reason for s in found.skipped)
    return TrackError(
        "track-without-times" if times else "track-empty",
        f"There is no position with a time in it. Found: {what}.",
        where=where,
        hint="Export the recorded track with its times." if times else f"Read are {_NAMES}.",
    )


def _left_out(skipped: Sequence[Skipped]) -> str:
    return "; ".join(f"{s.count} x {s.reason}" for s in skipped)


def _in_seconds(found: Log, where: str) -> TrackError | None:
    """Times that are seconds since 1970 under a name that says milliseconds.

    Read as milliseconds they lie between the tenth day of 1970 and 1973, where no track is from
    and no clock is that was merely never set; as seconds between 1995 and 5138.
    """
    if not len(found.fixes):
        return None
    t_ms = int(np.median(found.fixes.t_ms))
    if not _SECONDS[0] <= t_ms < _SECONDS[1]:
        return None
    return TrackError(
        "track-seconds",
        f"Times in milliseconds since 1970 were expected, but {t_ms} would be in"
        f" {moments.iso(t_ms)[:4]}: these are seconds ({moments.iso(t_ms * 1000)[:10]}).",
        where=where,
        hint="Multiply t_ms by 1000, or in a CSV call the column t_s.",
    )


def join(logs: Sequence[Log]) -> Log:
    """Several logs as one, by time; what was given twice counts once.

    Fixes with the same phone, time and place are one, so are marks that say the same, and log
    entries with the same phone and number (the first is kept; another content under the same
    number is noted). An ``undo`` hides its entry wherever it stands. Segments keep apart and
    are numbered by their first time. Fixes come grouped by phone, in order of time; several
    with the same time stay, in the order given.

    Raises:
        TrackError: no log, or not one fix in any of them.
    """
    if not logs:
        raise TrackError("track-none", "No track was given.", hint=f"Read are {_NAMES}.")
    if not any(len(each.fixes) for each in logs):
        skipped = [s for each in logs for s in each.skipped]
        swapped = any(s.reason == SWAPPED for s in skipped)
        out = _left_out(skipped)
        raise TrackError(
            "track-swapped" if swapped else "track-empty",
            "There is no usable position in what was given, only "
            f"{sum(len(each.marks) for each in logs)} marks."
            + (f" Left out: {out}." if out else ""),
            hint=_TURN if swapped else "Give the track as well.",
        )
    fixes, again = _fixes([each.fixes for each in logs])
    marks, twice, notes = _marks([m for each in logs for m in each.marks])
    skipped = [s for each in logs for s in each.skipped]
    if again:
        skipped.append(Skipped(_SAME, again))
    if twice:
        skipped.append(Skipped("the same entry again", twice))
    back = sum(_backwards(each.fixes) for each in logs)
    if back:
        notes.append(f"the clock goes back in {back} places; fixes were put in order of time")
    said = dict.fromkeys([n for each in logs for n in each.notes] + notes)
    return Log(fixes, tuple(marks), tuple(_summed(skipped)), tuple(said))


def _backwards(fixes: Fixes) -> int:
    """How often the time of a fix lies before that of the fix before it."""
    return int(((np.diff(fixes.t_ms) < 0) & (np.diff(fixes.phone) == 0)).sum())


def _summed(skipped: list[Skipped]) -> list[Skipped]:
    """One line a reason and file; a file given twice is counted once."""
    counts: dict[tuple[str, str], int] = {}
    for item in skipped:
        key = (item.reason, item.where)
        counts[key] = max(item.count, counts.get(key, 0))
    return [Skipped(reason, n, where) for (reason, where), n in counts.items()]


def _fixes(parts: list[Fixes]) -> tuple[Fixes, int]:
    labels = sorted({part.phones[i] for part in parts for i in np.unique(part.phone)})
    index = {label: i for i, label in enumerate(labels)}
    phone = np.concatenate(
        [
            np.array([index.get(p, 0) for p in part.phones], dtype=np.int64)[part.phone]
            for part in parts
        ]
    )
    segment = np.concatenate([part.segment + at * (1 << 40) for at, part in enumerate(parts)])
    columns = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg")
    }
    order = np.lexsort((columns["t_ms"], phone))
    order = order[_firsts(columns, phone, order)]
    again = len(phone) - len(order)
    out = {name: column[order] for name, column in columns.items()}
    return (
        Fixes(
            **out,
            phone=phone[order],
            segment=_renumbered(segment[order], out["t_ms"]),
            phones=tuple(labels),
        ),
        again,
    )


def _firsts(columns: dict[str, np.ndarray], phone: Ints, order: Ints) -> np.ndarray:
    """Which of the ordered rows are the first of their (phone, time, place)."""
    key = np.lexsort((columns["lon_deg"], columns["lat_deg"], columns["t_ms"], phone))
    same = np.ones(len(key), dtype=bool)
    same[0] = False
    for values in (phone, columns["t_ms"], columns["lat_deg"], columns["lon_deg"]):
        same[1:] &= values[key][1:] == values[key][:-1]
    keep = np.empty(len(key), dtype=bool)
    keep[key] = ~same
    return keep[order]


def _renumbered(segment: Ints, t_ms: Ints) -> Ints:
    """Segments numbered from 0 in order of their first time."""
    values, first, inverse = np.unique(segment, return_index=True, return_inverse=True)
    start = np.full(len(values), np.iinfo(np.int64).max)
    np.minimum.at(start, inverse, t_ms)
    rank = np.empty(len(values), dtype=np.int64)
    rank[np.lexsort((first, start))] = np.arange(len(values))
    return rank[inverse]


def _marks(marks: list[Mark]) -> tuple[list[Mark], int, list[str]]:
    plain = [log.shown(mark) for mark in marks]
    kept: dict[object, Mark] = {}
    twice, clashes = 0, []
    for mark in plain:
        said = json.dumps(dict(mark.says), sort_keys=True, default=str)
        key = (mark.phone, mark.seq) if mark.seq else (mark.phone, mark.t_ms, mark.kind, said)
        first = kept.setdefault(key, mark)
        if first is not mark:
            twice += 1
            if first != mark:
                clashes.append(f"{mark.phone} {mark.seq}")
    ordered = sorted(kept.values(), key=lambda m: (m.t_ms, m.phone, m.seq))
    notes = []
    if clashes:
        notes.append(
            "the same number stands on different entries ("
            + ", ".join(clashes[:3])
            + (f" and {len(clashes) - 3} more" if len(clashes) > 3 else "")
            + "); the first of each was kept"
        )
    return _changes(log.hide(ordered)), twice, notes


def _changes(marks: list[Mark]) -> list[Mark]:
    """Without lever states from track points that only repeat the state before them."""
    state: dict[str, str] = {}
    out = []
    for mark in marks:
        if mark.kind == "lever":
            lever = str(mark.says.get("lever"))
            if mark.says.get("how") == "track" and state.get(mark.phone, "up") == lever:
                continue
            state[mark.phone] = lever
        out.append(mark)
    return out
