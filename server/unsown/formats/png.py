"""SVG text -> PNG bytes, with our own letters so that no installed font is needed."""

from __future__ import annotations

from importlib import resources

from unsown.core.errors import UnsownError


def to_png(svg: str, width_px: int = 1440) -> bytes:
    """The drawing as PNG, ``width_px`` wide.

    Names in scripts beyond Latin, Greek and Cyrillic use the machine's own fonts if it has any.

    Raises:
        UnsownError: the rasteriser is not installed or refuses the drawing.
    """
    try:
        import resvg_py  # noqa: PLC0415 - only a PNG needs it
    except ImportError as missing:
        raise UnsownError(
            "png-missing",
            "A PNG map needs the package resvg-py, which is not installed here.",
            hint="Install it with pip, or write the map as .svg: every browser opens that.",
        ) from missing
    letters = resources.files("unsown.formats") / "lettering" / "letters.ttf"
    with resources.as_file(letters) as font:
        try:
            image = resvg_py.svg_to_bytes(
                svg_string=svg,
                width=width_px,
                font_files=[str(font)],
                font_family="DejaVu Sans",
                sans_serif_family="DejaVu Sans",
            )
        except ValueError as refused:
            raise UnsownError("png-refused", f"The map could not be made a PNG: {refused}.") from (
                refused
            )
    return bytes(image)
