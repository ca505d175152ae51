"""Square codes (QR, ISO/IEC 18004) of an address, for a terminal and for a page."""

from __future__ import annotations

import io

import segno


def svg(text: str) -> str:
    """An SVG element with the code, dark on light, with its quiet border; no script, no style."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", border=4, xmldecl=False, svgns=True, svgclass="code", lineclass=None,
        light="#ffffff", dark="#000000", title=None, omitsize=True,
    )  # fmt: skip
    return out.getvalue().decode("utf-8").strip()


def lines(text: str, *, colour: bool) -> str:
    """The code in half blocks for a terminal.

    With ``colour`` every line sets white on black itself, so that the code is dark on light
    whatever colours the terminal has; without, it is right where letters are light on dark.
    """
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, border=2, compact=True)
    rows = out.getvalue().rstrip("\n").split("\n")
    return "\n".join(f"\033[97;40m{row}\033[0m" if colour else row for row in rows)
