"""Writes the scores of the forgotten-taps chain for the phone: ``python web/scores.py``.

They are fitted and kept at home, in ``unsown.core.scores``; the phone has the same numbers, as
text that packs well: hundredths above the least, in two digits of a large base.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from unsown.core import scores
from unsown.core.words import Floats

PAGE = Path(__file__).resolve().parent / "src" / "core" / "scores.ts"
#: Digits are the signs of ASCII from the first on, of which none ends a text or needs a stroke.
BASE, FIRST = 56, ord("$")
#: What the digits count from, hundredths: half of what two of them can tell.
LEAST = -BASE * BASE // 2
HEAD = f"""\
// Scores of the signs of work: natural log odds of down against up, table by table.
//
// Written by `python web/scores.py`, not by hand: they are fitted at home. MOVEMENT is for the
// first round, without the ground; WITH_GROUND for the rounds after it; GOES_DOWN and GOES_UP say
// how much likelier a change is at such a place. Bins: see `signs`; of two signs the first goes
// along the rows.

/** One score a bin, row by row. */
export type Table = readonly number[];

/** Hundredths in two digits each, which pack well: all first digits, then all second ones. */
const read = (text: string): Table => {{
  const digit = (k: number): number => text.charCodeAt(k) - {FIRST};
  const n = text.length / 2;
  return Array.from({{ length: n }}, (_, i) => ({BASE} * digit(i) + digit(n + i) - {-LEAST}) / 100);
}};
"""
TABLES = ("MOVEMENT", "WITH_GROUND", "GOES_DOWN", "GOES_UP")


def text(values: Floats) -> str:
    """Scores as the phone reads them. Raises ValueError where one does not fit."""
    hundredths = [round(100 * v) - LEAST for v in values.ravel().tolist()]
    if not all(0 <= n < BASE * BASE for n in hundredths):
        raise ValueError(f"expected scores between {LEAST / 100} and {-LEAST / 100}: {values}")
    digits = [n // BASE for n in hundredths] + [n % BASE for n in hundredths]
    return "".join(chr(FIRST + d) for d in digits)


def _tables(name: str, tables: Mapping[str, Floats]) -> str:
    inside = "".join(f'  {sign}: read("{text(values)}"),\n' for sign, values in tables.items())
    return f"\nexport const {name}: Readonly<Record<string, Table>> = {{\n{inside}}};\n"


def page() -> str:
    """What belongs into the phone's file."""
    return HEAD + "".join(_tables(name, getattr(scores, name)) for name in TABLES)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
