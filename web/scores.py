"""Writes the scores of the forgotten-taps chain for the phone: ``python web/scores.py``.

They are fitted and kept at home, in ``unsown.core.scores``; the phone has the same numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from unsown.core import scores
from unsown.core.words import Floats

PAGE = Path(__file__).resolve().parent / "src" / "core" / "scores.ts"
HEAD = """\
// Scores of the signs of work: natural log odds of down against up, table by table.
//
// Written by `python web/scores.py`, not by hand: they are fitted at home. MOVEMENT is for the
// first round, without the ground; WITH_GROUND for the rounds after it; GOES_DOWN and GOES_UP say
// how much likelier a change is at such a place. Bins: see `signs`; of two signs the first goes
// along the rows.

/** One score a bin, row by row. */
export type Table = readonly number[];
"""
TABLES = ("MOVEMENT", "WITH_GROUND", "GOES_DOWN", "GOES_UP")


def _table(name: str, values: Floats) -> str:
    rows = values.reshape(values.shape[0], -1) if values.ndim > 1 else values.reshape(1, -1)
    lines = ["    " + " ".join(f"{v:.2f}," for v in row) for row in rows.tolist()]
    return "\n".join([f"  {name}: [", *lines, "  ],"])


def _tables(name: str, tables: Mapping[str, Floats]) -> str:
    inside = "\n".join(_table(sign, values) for sign, values in tables.items())
    return f"\nexport const {name}: Readonly<Record<string, Table>> = {{\n{inside}\n}};\n"


def page() -> str:
    """What belongs into the phone's file."""
    return HEAD + "".join(_tables(name, getattr(scores, name)) for name in TABLES)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
