"""Rows -> CSV (RFC 4180) that spreadsheets and GIS programs open, and that cannot run there.

UTF-8 with a byte order mark, without which spreadsheets take names for another alphabet. A text
that a spreadsheet would take for a formula gets an apostrophe in front; numbers never do.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Mapping, Sequence

Cell = str | float | int | bool | None
#: What begins a formula in some spreadsheet, its full-width forms too, and what may hide one.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def write(columns: Sequence[str], rows: Iterable[Mapping[str, Cell]]) -> bytes:
    """The table with a header row; a key that a row lacks, None and NaN are empty cells."""
    out = io.StringIO(newline="")
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(columns)
    for row in rows:
        table.writerow([_cell(row.get(column)) for column in columns])
    return out.getvalue().encode("utf-8-sig")


def _cell(value: Cell) -> str:
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return f"{value:.7f}".rstrip("0").rstrip(".")
    return f"'{value}" if value.lstrip(" ").startswith(_FORMULA) else value
