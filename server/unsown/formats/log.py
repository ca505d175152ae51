"""Our own log <-> Log: JSON lines, one object a line (docs/reference/log.md has every kind).

``v``, ``dev``, ``seq``, ``t_ms``, ``kind`` and the kind's own fields, units in their names. The
log is append-only: a correction is a new entry, and ``undo`` hides the entry it names without
removing it (it stays in the Log as kind ``hidden``).
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from unsown.core.clock import steady
from unsown.core.errors import TrackError
from unsown.core.words import Log, Mark
from unsown.formats import guard
from unsown.formats.rows import Rows, number

VERSION = 1
HIDDEN = "hidden"
KINDS = (
    *("lever", "flow", "mark", "fill", "peg", "stop"),
    *("shift", "blind", "rig", "say", "walk", "undo", "phone"),
)
"""The kinds this version knows, beside ``fix``."""
_FRAME = ("v", "dev", "seq", "t_ms", "kind")
_FIX = ("lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg")


def read(data: bytes, where: str, phone: str | None = None) -> Log:
    """Every entry of the log, in file order.

    Identical entries count once. Of two entries with the same ``dev`` and ``seq`` but different
    content the first is kept and the other noted. A cut-off last line, and any line that is not
    an entry, is skipped and counted. Unknown kinds are kept as marks. ``phone`` labels entries
    without ``dev``.

    Raises:
        TrackError: empty, binary, or not one line is an entry.
    """
    text = guard.text(data, where, TrackError)
    rows = Rows(where, phone)
    marks: list[Mark] = []
    seen: dict[tuple[str, int], dict[str, Any]] = {}
    clashes: list[str] = []
    ranks: list[int] = []
    lines = text.split("\n")  # not splitlines: a text in an entry may hold other breaks
    for at, line in enumerate(lines, 1):
        if not line.strip():
            continue
        entry = _entry(line, rows, last=at == len(lines) and not text.endswith("\n"))
        if entry is None:
            continue
        dev, seq = str(entry.get("dev") or rows.phone), _whole(entry.get("seq"))
        if seq:
            first = seen.setdefault((dev, seq), entry)
            if first is not entry:
                if first == entry:
                    rows.skip("the same entry again")
                else:
                    clashes.append(f"{dev} {seq} (line {at})")
                    rows.skip("another entry under a number already used")
                continue
        _keep(entry, dev, seq, rows, marks)
        ranks += [len(rows)] * (len(marks) - len(ranks))
    if not len(rows) and not marks and not seen:
        raise TrackError(
            "log-none",
            'No line is a log entry: an object with "t_ms" and "kind" was expected on each.',
            where=where,
            hint="See docs/reference/log.md.",
        )
    if clashes:
        more = f" and {len(clashes) - 3} more" if len(clashes) > 3 else ""
        rows.notes.append(
            f"{where}: the same number stands on different entries ({', '.join(clashes[:3])}"
            f"{more}); the first of each was kept."
        )
    log = _steady(rows, marks, ranks, where)
    return replace(log, marks=tuple(hide(log.marks)))


def _steady(rows: Rows, marks: list[Mark], at: list[int], where: str) -> Log:
    """The log on steady clocks; ``at`` is how many fixes of anybody each mark found written."""
    log = rows.log(marks)
    numbers, who = np.array(rows.written, dtype=np.int64), log.fixes.phone
    ranks = [0] * len(marks)
    for name, i in rows.phones.items():
        mine = np.flatnonzero(who == i)
        ordered = np.sort(numbers[mine])
        for k, mark in enumerate(marks):
            if mark.phone == name:
                counted = mark.seq and len(ordered) and ordered[0]
                ranks[k] = int(
                    np.searchsorted(ordered, mark.seq) if counted else np.searchsorted(mine, at[k])
                )
    return steady(log, numbers, ranks, where)


def _entry(line: str, rows: Rows, *, last: bool) -> dict[str, Any] | None:
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError):
        rows.skip("last line, cut off" if last else "line that is not JSON")
        return None
    if not isinstance(entry, dict) or not isinstance(entry.get("kind"), str):
        rows.skip("line without a kind")
        return None
    t_ms = entry.get("t_ms")
    if isinstance(t_ms, float) and math.isfinite(t_ms):
        entry["t_ms"] = t_ms = round(t_ms)
    if not isinstance(t_ms, int) or isinstance(t_ms, bool):
        rows.skip("entry without t_ms")
        return None
    if entry.get("v", VERSION) != VERSION:
        rows.skip(f"entry of version {str(entry['v'])[:20]}, which this program does not know")
        return None
    return entry


def _keep(entry: dict[str, Any], dev: str, seq: int, rows: Rows, marks: list[Mark]) -> None:
    t_ms = entry["t_ms"]
    if entry["kind"] == "fix":
        segment = _whole(entry.get("segment"))
        place = (number(entry.get(k)) for k in _FIX)
        rows.add(t_ms, *place, segment=segment, phone=dev, seq=seq)
        return
    if entry["kind"] == "lever" and entry.get("lever") not in ("down", "up"):
        rows.skip("lever entry that says neither down nor up")
        return
    says = {k: v for k, v in entry.items() if k not in _FRAME}
    marks.append(Mark(t_ms, entry["kind"], dev, seq, says))


def _whole(value: object) -> int:
    plain = isinstance(value, int) and not isinstance(value, bool)
    return value if plain and 0 <= value < 2**62 else 0  # type: ignore[operator, return-value]


def shown(mark: Mark) -> Mark:
    """A hidden mark as it was logged; any other as it is."""
    if mark.kind != HIDDEN or "kind" not in mark.says:
        return mark
    says = dict(mark.says)
    return replace(mark, kind=str(says.pop("kind")), says=says)


def hide(marks: Iterable[Mark]) -> list[Mark]:
    """The marks with those that an ``undo`` names turned into kind ``hidden``.

    An ``undo`` names an entry by ``of`` (its ``seq``), one of its own writer or, with ``of_dev``,
    of another. One that is itself undone hides nothing, nor do those that undo each other in a
    ring; so the order of the marks does not matter.
    """
    out = [shown(mark) for mark in marks]
    at = {(m.phone, m.seq): i for i, m in enumerate(out) if m.seq}
    undone_by: dict[int, list[int]] = {}
    for i, mark in enumerate(out):
        if mark.kind == "undo":
            whose = str(mark.says.get("of_dev") or mark.phone)
            target = at.get((whose, _whole(mark.says.get("of"))))
            if target is not None and target != i:
                undone_by.setdefault(target, []).append(i)
    holds = _holding([i for i, m in enumerate(out) if m.kind == "undo"], undone_by)
    for i, by in undone_by.items():
        if any(holds.get(j, False) for j in by):
            out[i] = replace(out[i], kind=HIDDEN, says={"kind": out[i].kind, **out[i].says})
    return out


def _holding(undos: list[int], undone_by: Mapping[int, list[int]]) -> dict[int, bool]:
    """Which undos hold: settled from those that nobody undoes; what is left is a ring."""
    holds: dict[int, bool] = {}
    left = undos
    while left:
        rest = []
        for i in left:
            by = undone_by.get(i, ())
            if any(holds.get(j, False) for j in by):
                holds[i] = False
            elif all(j in holds for j in by):
                holds[i] = True
            else:
                rest.append(i)
        if len(rest) == len(left):
            break
        left = rest
    return holds


def write(log: Log, *, number_lines: bool = False) -> str:
    """JSON lines, in order of time, that read back the same.

    A fix has no number in a Log, so its line has no ``seq``, nor has a mark whose ``seq`` is 0;
    with ``number_lines`` True every line gets one, as a phone would have written it (numbers
    that marks have already are kept).
    """
    fixes = log.fixes
    lines: list[tuple[int, str, dict[str, Any]]] = []
    in_parts = bool(len(fixes)) and bool(fixes.segment.any())
    columns = [getattr(fixes, name).tolist() for name in _FIX]
    rows = zip(
        fixes.t_ms.tolist(), fixes.phone.tolist(), fixes.segment.tolist(), *columns, strict=True
    )
    for t_ms, who, segment, *values in rows:
        fields = {k: v for k, v in zip(_FIX, values, strict=True) if not math.isnan(v)}
        if in_parts:
            fields["segment"] = segment
        lines.append((t_ms, fixes.phones[who], _line(fixes.phones[who], 0, t_ms, "fix", fields)))
    for mark in log.marks:
        was = shown(mark)
        lines.append((was.t_ms, was.phone, _line(was.phone, was.seq, was.t_ms, was.kind, was.says)))
    lines.sort(key=lambda item: item[0])
    if number_lines:
        _number(lines)
    return "".join(
        json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n" for *_, line in lines
    )


def _line(dev: str, seq: int, t_ms: int, kind: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    frame: dict[str, Any] = {"v": VERSION, "dev": dev}
    if seq:
        frame["seq"] = seq
    return {**frame, "t_ms": t_ms, "kind": kind, **fields}


def _number(lines: list[tuple[int, str, dict[str, Any]]]) -> None:
    taken = {(dev, line["seq"]) for _, dev, line in lines if "seq" in line}
    last: dict[str, int] = {}
    for at, (t_ms, dev, line) in enumerate(lines):
        if "seq" in line:
            continue
        seq = last.get(dev, 0) + 1
        while (dev, seq) in taken:
            seq += 1
        last[dev] = seq
        rest = {k: v for k, v in line.items() if k not in ("v", "dev")}
        lines[at] = (t_ms, dev, {"v": VERSION, "dev": dev, "seq": seq, **rest})
