"""The six columns for fills on the back of the sheet, and their rows as log entries.

The entry form at home asks in the order of ``COLUMNS``, so that a paper is typed in from left to
right.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from unsown.core.errors import UnsownError
from unsown.formats.when import zone


@dataclass(frozen=True)
class Column:
    """One column: the name of its value in a row, what stands above it, its unit and its kind.

    ``kind`` is ``time`` (HH:MM on the farm's clock), ``number`` or ``words``; ``product`` names
    what a number was filled with.
    """

    name: str
    head: str
    unit: str
    kind: str
    product: str = ""


COLUMNS = (
    Column("time", "Time", "", "time"),
    Column("seed_kg", "Seed in", "kg", "number", "seed"),
    Column("fertiliser_kg", "Fertiliser in", "kg", "number", "fertiliser"),
    Column("fuel_l", "Fuel in", "L", "number", "fuel"),
    Column("place", "Where", "", "words"),
    Column("driver", "Who", "", "words"),
)


def form() -> list[dict[str, str]]:
    """The columns as JSON for the entry form."""
    return [
        {"name": c.name, "head": c.head, "unit": c.unit, "kind": c.kind, "product": c.product}
        for c in COLUMNS
    ]


def entries(
    rows: Sequence[Mapping[str, Any]],
    day: str,
    settings: Mapping[str, Any],
    paddock: str | None = None,
    *,
    same_mark: bool = False,
) -> list[dict[str, Any]]:
    """The log entries of a filled-in table: one ``fill`` a product and row.

    Args:
        rows: values by column name; an empty row is left out, an empty cell is not known.
        day: the farm day, YYYY-MM-DD; a time before the day's start is that of the next morning.
        settings: the farm's, for its zone and day start.
        paddock: the id to put on each entry, where it is known.
        same_mark: filled to the same mark each time.

    Raises:
        UnsownError: a cell that cannot be read; it says which.
    """
    out = []
    for number, row in enumerate(rows, 1):
        cells = {key: value for key, value in row.items() if value not in (None, "")}
        if cells:
            out += list(_row(cells, f"row {number}", day, settings, paddock))
    if same_mark:
        out = [{**entry, "same_mark": True} for entry in out]
    return out


def _row(
    cells: Mapping[str, Any],
    where: str,
    day: str,
    settings: Mapping[str, Any],
    paddock: str | None,
) -> Iterator[dict[str, Any]]:
    names = {column.name for column in COLUMNS}
    for name in cells:
        if name not in names:
            raise _bad(f"There is no column {name!r}", where, "Known: " + ", ".join(sorted(names)))
    t_ms = _moment(cells.get("time"), where, day, settings)
    filled = [c for c in COLUMNS if c.product and c.name in cells]
    if not filled:
        raise _bad("Nothing was filled in", where, "Give seed, fertiliser or fuel.")
    about = {key: str(cells[key])[:200] for key in ("place", "driver") if key in cells}
    about |= {"paddock": paddock} if paddock else {}
    for column in filled:
        amount = _amount(cells[column.name], column, where)
        unit = "l" if column.unit == "L" else "kg"
        yield {"t_ms": t_ms, "kind": "fill", "product": column.product, unit: amount, **about}


def _amount(value: Any, column: Column, where: str) -> float:
    try:
        amount = float(str(value).replace(",", "."))
    except ValueError:
        amount = math.nan
    if not 0 < amount <= 100_000:
        raise _bad(
            f"{column.head}: a number of {column.unit} above 0 was expected; {value!r} came", where
        )
    return amount


def _moment(text: Any, where: str, day: str, settings: Mapping[str, Any]) -> int:
    try:
        clock = time.fromisoformat(str(text).strip().rjust(5, "0"))
        starts = time.fromisoformat(str(settings.get("day_start") or "04:00"))
        on = date.fromisoformat(day)
    except ValueError as error:
        raise _bad(
            f"A day such as 2026-05-01 and a time such as 14:20 were expected; {day} {text!r} came",
            where,
        ) from error
    then = datetime.combine(on, clock.replace(tzinfo=None), zone(settings))
    if clock.replace(tzinfo=None) < starts:
        then += timedelta(days=1)
    return round(then.timestamp() * 1000)


def _bad(message: str, where: str, hint: str = "") -> UnsownError:
    return UnsownError("fills-cell", message, where=where, hint=hint)
