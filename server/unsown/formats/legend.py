"""What stands below the map: the meaning of each pattern, the patches, one caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from unsown.core.place import place_of
from unsown.core.words import Tally
from unsown.formats.ink import Ink
from unsown.formats.quote import quote
from unsown.formats.units import Units

_MOST_ROWS = 12
_SIZE = 20
CAUTION = (
    "The picture can be metres wrong and knows no",
    "slopes, wires or holes. Look. You decide.",
)


@dataclass(frozen=True)
class Entry:
    """One swatch and its words; ``state`` names its paint, ``letter`` a keep-out's mark."""

    state: str
    words: str
    letter: str = ""


def entries(tally: Tally, letters: Sequence[tuple[str, str]], units: Units) -> list[Entry]:
    """The states that occur this day, with their areas."""
    calls = {patch.call for patch in tally.patches}
    rows = [
        Entry("sown", f"sown {units.area(tally.sown_ha)}"),
        Entry("twice", f"twice {units.area(tally.twice_ha)}"),
        Entry("bare", f"bare, listed {units.area(tally.listed_ha)}"),
        Entry("can't tell", "can't tell: look"),
        Entry("ground", "not sown"),
        Entry("part", f"some rows {units.area(tally.part_ha)}"),
        Entry("doubt", f"doubt {units.area(tally.doubt_ha)}"),
        Entry("unreachable", f"can't reach {units.area(tally.unreachable_ha)}"),
        Entry("keep-out", f"keep-out {units.area(tally.keep_out_ha)}"),
    ]
    shows = {
        "sown": True,
        "ground": True,
        "twice": tally.twice_ha > 0,
        "bare": bool(calls & {"sure", "likely"}),
        "can't tell": "can't tell" in calls,
        "part": tally.part_ha >= 0.005,
        "doubt": tally.doubt_ha > 0,
        "unreachable": tally.unreachable_ha > 0,
        "keep-out": tally.keep_out_ha > 0,
    }
    shown = [row for row in rows if shows[row.state]]
    return shown + [Entry("letter", _short(what, 22), letter) for letter, what in letters]


def legend(
    rows: Sequence[Entry], ink: Ink, top: float, page: float, edge: float
) -> tuple[list[str], float]:
    """Two columns of swatches from ``top`` down; also where they end."""
    pitch, column = 38.0, (page - 2 * edge) / 2
    parts = []
    for index, row in enumerate(rows):
        x = edge + (index % 2) * column
        y = top + (index // 2) * pitch
        parts.append(
            _swatch(row, ink, x, y)
            + f'<text x="{x + 56:.1f}" y="{y + 20:.1f}" font-size="{_SIZE}" fill="{ink.ink}">'
            f"{quote(row.words)}</text>"
        )
    return parts, top + ((len(rows) + 1) // 2) * pitch


def _swatch(row: Entry, ink: Ink, x: float, y: float) -> str:
    frame = f'<rect x="{x:.1f}" y="{y:.1f}" width="44" height="27" '
    plain = f'stroke="{ink.ink}" stroke-width="1"/>'
    if row.state == "letter":
        return (
            f'<rect x="{x + 10:.1f}" y="{y:.1f}" width="24" height="26" rx="3" '
            f'fill="{ink.ground}" stroke="{ink.ink}" stroke-width="1.5"/>'
            f'<text x="{x + 22:.1f}" y="{y + 21:.1f}" font-size="21" fill="{ink.ink}" '
            f'text-anchor="middle">{row.letter}</text>'
        )
    if row.state == "bare":
        rim = f'stroke="{ink.rim}" stroke-width="3" stroke-linejoin="round"/>'
        return f'{frame}fill="{ink.bare}" {rim}'
    if row.state == "can't tell":
        dashes = f'stroke="{ink.ink}" stroke-width="2.5" stroke-dasharray="3 4"/>'
        return f'{frame}fill="{ink.ground}" {dashes}'
    if row.state in ("sown", "ground"):
        return f'{frame}fill="{ink.sown if row.state == "sown" else ink.ground}" {plain}'
    return f'{frame}fill="url(#fill-{row.state})" {plain}'


def patch_list(
    tally: Tally, units: Units, ink: Ink, top: float, edge: float
) -> tuple[list[str], float]:
    """The patches by number, the first dozen of them; also where the list ends."""
    parts, y = [], top
    for patch in tally.patches[:_MOST_ROWS]:
        side = place_of(patch.outline, tally.ground.net).side
        words = f"{units.size(patch.area_m2)}, {patch.call}, {patch.kind}, {side}"
        y += 32.0
        parts.append(
            f'<g font-size="{_SIZE}" fill="{ink.ink}">'
            f'<text x="{edge + 34:.1f}" y="{y:.1f}" text-anchor="end">{patch.number}</text>'
            f'<text x="{edge + 56:.1f}" y="{y:.1f}">{quote(words)}</text></g>'
        )
    more = len(tally.patches) - _MOST_ROWS
    if more > 0:
        y += 32.0
        parts.append(
            f'<text x="{edge + 56:.1f}" y="{y:.1f}" font-size="{_SIZE}" fill="{ink.ink}">'
            f"and {more} more in the table</text>"
        )
    return parts, y


def caution(ink: Ink, top: float, edge: float) -> tuple[list[str], float]:
    """The line that always stands at the foot; also where it ends."""
    parts = [
        f'<text x="{edge:.1f}" y="{top + 28 * (i + 1):.1f}" font-size="{_SIZE}" '
        f'fill="{ink.ink}">{quote(line)}</text>'
        for i, line in enumerate(CAUTION)
    ]
    return parts, top + 28 * len(CAUTION)


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"
