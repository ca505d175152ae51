"""The paddock as a picture: SVG that reads on a phone, on paper and at night.

North is up. Units on the page are SVG user units; the page is 720 wide, so that its smallest
letters are about 11 px high on a phone 390 px wide.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Tally
from unsown.formats.frame import Frame, area, north, scale_bar
from unsown.formats.ink import DAY, NIGHT, Ink, patterns
from unsown.formats.legend import caution, entries, legend, patch_list
from unsown.formats.marks import Lettered, letter_marks, lettered, numbers, patch_mark
from unsown.formats.quote import quote
from unsown.formats.units import Units

PAGE = 720.0
EDGE = 24.0
_TALLEST = 860.0
_TOP = 96.0
_DISC = 17.0
_DISC_CROWDED = 13.0
_CROWD = 20  # patches


def draw(
    tally: Tally,
    plane: Plane,
    name: str,
    *,
    keep_outs: Sequence[KeepOut] = (),
    units: Units | None = None,
    night: bool = False,
) -> str:
    """The day's map as an SVG document.

    Args:
        tally: the day; its ground and patches lie on ``plane``.
        plane: the paddock's plane.
        name: what to write above the map.
        keep_outs: the paddock's keep-outs, for their letters (longitude/latitude).
        units: hectares and metres, or acres and feet.
        night: dark ground and warm ink.
    """
    units = units or Units()
    ink = NIGHT if night else DAY
    ground = tally.ground
    whole = shapely.union_all([ground.net, ground.keep_out])
    frame = Frame.fit(whole, EDGE, _TOP + EDGE, PAGE - 2 * EDGE, _TALLEST)
    bottom = frame.top + frame.tall
    listed = [frame.place(p.outline, exact=True) for p in tally.patches]
    names = lettered(keep_outs, ground.keep_out, plane)
    below, height = _below(tally, names, units, ink, bottom + 84)
    body = [
        patterns(ink),
        f'<rect width="{PAGE:.0f}" height="{height:.0f}" fill="{ink.ground}"/>',
        _title(tally, name, units, ink),
        '<g id="ground" fill-rule="evenodd">',
        area("not-yet-sown", frame.place(ground.net), f'fill="{ink.ground}"'),
        area("sown", frame.place(ground.sown), f'fill="{ink.sown}"'),
        area("part", frame.place(ground.part), 'fill="url(#fill-part)"'),
        area("sown-twice", frame.place(ground.twice), 'fill="url(#fill-twice)"'),
        area(
            "in-doubt",
            frame.place(ground.doubt),
            f'fill="url(#fill-doubt)" stroke="{ink.ink}" stroke-width="0.8"',
        ),
        area("out-of-reach", frame.place(ground.unreachable), 'fill="url(#fill-unreachable)"'),
        area(
            "kept-out",
            frame.place(ground.keep_out),
            f'fill="url(#fill-keep-out)" stroke="{ink.ink}" stroke-width="2"',
        ),
        area("fence", frame.place(whole), f'fill="none" stroke="{ink.ink}" stroke-width="2.5"'),
        "</g>",
        *(patch_mark(p, shape, ink) for p, shape in zip(tally.patches, listed, strict=True)),
        *letter_marks(names, frame, ink),
        *_numbers(tally, listed, frame, ink, names),
        scale_bar(frame, EDGE, bottom + 30, units, ink),
        north(PAGE - EDGE - 22, bottom + 44, ink),
        *below,
    ]
    said = quote(f"Map of {name}: {units.area(tally.sown_ha)} sown, north up")
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {PAGE:.0f} {height:.0f}" '
        f'role="img" aria-label="{said}" '
        'font-family="DejaVu Sans, Verdana, sans-serif" font-weight="bold">\n'
        f"<title>{said}</title>\n" + "\n".join(part for part in body if part) + "\n</svg>\n"
    )


def _title(tally: Tally, name: str, units: Units, ink: Ink) -> str:
    return (
        f'<g fill="{ink.ink}"><text x="{EDGE}" y="46" font-size="34">{quote(_short(name))}</text>'
        f'<text x="{EDGE}" y="84" font-size="24">{units.area(tally.sown_ha)} sown, '
        f"{units.area(tally.bare_ha)} bare "
        f"({units.area(tally.bare_low_ha).split()[0]} to {units.area(tally.bare_high_ha)})"
        "</text></g>"
    )


def _short(name: str, most: int = 28) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"


def _numbers(
    tally: Tally,
    shapes: Sequence[BaseGeometry],
    frame: Frame,
    ink: Ink,
    names: Sequence[Lettered],
) -> list[str]:
    page = (EDGE / 2, _TOP, PAGE - EDGE / 2, frame.top + frame.tall + EDGE / 2)
    taken = [frame.place(n.shape.representative_point(), exact=True).buffer(14) for n in names]
    radius = _DISC if len(tally.patches) <= _CROWD else _DISC_CROWDED
    return numbers(tally.patches, shapes, page, taken, radius, ink)


def _below(
    tally: Tally,
    names: Sequence[Lettered],
    units: Units,
    ink: Ink,
    top: float,
) -> tuple[list[str], float]:
    letters = list(dict.fromkeys((name.letter, name.what) for name in names))
    shown = entries(tally, letters, units)
    boxes, y = legend(shown, ink, top + 16, PAGE, EDGE)
    rows, y = patch_list(tally, units, ink, y + 14, EDGE)
    last, y = caution(ink, y + 20, EDGE)
    return [*boxes, *rows, *last], y + EDGE
