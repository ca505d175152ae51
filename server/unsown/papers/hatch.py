"""The paper's one ink: black lines on white, so that any printer, copier and headlamp will do.

The patterns are those of the screen (``formats/ink.py``); only *sown*, a plain colour there, is
hatched here, and *some rows* is the same hatch broken. What another rig sowed is hatched the other
way.
"""

from __future__ import annotations

from unsown.formats.ink import Ink

PAPER = Ink(
    ground="#FFFFFF",
    sown="url(#fill-sown)",
    twice="#FFFFFF",
    hatch="#000000",
    bare="#FFFFFF",
    rim="#000000",
    disc="#000000",
    number="#FFFFFF",
    ink="#000000",
)


def patterns() -> str:
    """The ``<defs>`` with one pattern a state; ids are ``fill-`` and the state's name."""
    return (
        "<defs>"
        + _pattern("sown", 8, 8, "M-2 2L2 -2M0 8L8 0M6 10L10 6", 1.1)
        + _pattern("theirs", 8, 8, "M-2 6L2 10M0 0L8 8M6 -2L10 2", 1.1)
        + _pattern("part", 8, 8, "M1 7L4 4", 1.4)
        + _pattern("twice", 7, 7, "M0 0L7 7M7 0L0 7", 1.3)
        + _pattern("keep-out", 20, 14, "M0 .5H20M0 7.5H20M5 0V7M15 7V14", 1.3)
        + _pattern("unreachable", 10, 8, "M1 2H6M6 6H10", 1.2)
        + f'{_open("doubt", 6, 6)}<circle cx="3" cy="3" r="1.35"/></pattern>'
        + "</defs>"
    )


def own(drawing: str, prefix: str) -> str:
    """The drawing with ``prefix`` before every id, also where one is used."""
    return drawing.replace(' id="', f' id="{prefix}').replace("url(#", f"url(#{prefix}")


def _pattern(name: str, width: int, height: int, lines: str, wide: float) -> str:
    drawn = f'<path d="{lines}" stroke="#000000" stroke-width="{wide}" fill="none"/>'
    return f"{_open(name, width, height)}{drawn}</pattern>"


def _open(name: str, width: int, height: int) -> str:
    size = f'width="{width}" height="{height}"'
    return (
        f'<pattern id="fill-{name}" {size} patternUnits="userSpaceOnUse">'
        f'<rect {size} fill="#FFFFFF"/>'
    )
