"""Colours and patterns of the map: state by pattern and rim first, by colour last.

Each state has its own pattern, so the picture survives a black-and-white printer, glare and
any colour-blindness; see docs/explain/map.md for how the colours were checked.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Ink:
    """One set of colours; ``disc`` and ``number`` are those of a patch's number."""

    ground: str
    sown: str
    twice: str
    hatch: str
    bare: str
    rim: str
    disc: str
    number: str
    ink: str


DAY = Ink(
    ground="#FFFFFF",
    sown="#4F7FB5",
    twice="#14233F",
    hatch="#A9C1E0",
    bare="#FFA800",
    rim="#000000",
    disc="#FFA800",
    number="#000000",
    ink="#000000",
)
NIGHT = Ink(
    ground="#0B0C0E",
    sown="#34567D",
    twice="#86A6CC",
    hatch="#0B0C0E",
    bare="#FFC65C",
    rim="#0B0C0E",
    disc="#FFC65C",
    number="#0B0C0E",
    ink="#E9DCC0",
)


def patterns(ink: Ink) -> str:
    """The ``<defs>`` with one pattern a state; ids are ``fill-`` and the state's name."""
    return (
        "<defs>"
        # sown twice: cross-hatch
        f'{_cell("twice", 9, 9)}<rect width="9" height="9" fill="{ink.twice}"/>'
        f'<path d="M0 0L9 9M9 0L0 9" stroke="{ink.hatch}" stroke-width="1.1"/></pattern>'
        # some rows only: sown colour in diagonal stripes
        f'{_cell("part", 8, 8)}<rect width="8" height="8" fill="{ink.ground}"/>'
        f'<path d="M-2 6L6 -2M0 8L8 0M2 10L10 2" stroke="{ink.sown}" stroke-width="2"/></pattern>'
        # doubt: dots on the ground colour
        f'{_cell("doubt", 6, 6)}<rect width="6" height="6" fill="{ink.ground}"/>'
        f'<circle cx="3" cy="3" r="1.35" fill="{ink.ink}"/></pattern>'
        # keep-out: bricks
        f'{_cell("keep-out", 20, 14)}<rect width="20" height="14" fill="{ink.ground}"/>'
        f'<path d="M0 .5H20M0 7.5H20M5 0V7M15 7V14" stroke="{ink.ink}" stroke-width="1"'
        ' fill="none"/></pattern>'
        # out of reach: short dashes
        f'{_cell("unreachable", 10, 8)}<rect width="10" height="8" fill="{ink.ground}"/>'
        f'<path d="M1 2H6M6 6H10" stroke="{ink.ink}" stroke-width="1.2"/></pattern>'
        "</defs>"
    )


def _cell(name: str, width: int, height: int) -> str:
    size = f'width="{width}" height="{height}"'
    return f'<pattern id="fill-{name}" {size} patternUnits="userSpaceOnUse">'
