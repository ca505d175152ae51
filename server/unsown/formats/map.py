"""The paddock as a picture: SVG that reads on a phone, on paper and at night.

North is up. Units on the page are SVG user units; the page is 720 wide, so that its smallest
letters are about 11 px high on a phone 390 px wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Patch, Tally
from unsown.formats.ink import DAY, NIGHT, Ink, patterns
from unsown.formats.labels import Label, place_labels
from unsown.formats.legend import caution, entries, legend, patch_list
from unsown.formats.quote import quote
from unsown.formats.units import FOOT_M, Units

PAGE = 720.0
EDGE = 24.0
_TALLEST = 860.0
_TOP = 96.0
_DISC = 17.0
_DISC_CROWDED = 13.0
_CROWD = 20  # patches
_HAIR = 0.1  # page units: finer detail than a screen shows


@dataclass(frozen=True)
class _Frame:
    """Metres on the plane -> page units."""

    scale: float
    left: float
    top: float
    west: float
    north: float
    height: float

    def place(self, shape: BaseGeometry, *, exact: bool = False) -> BaseGeometry:
        """The shape in page units; ``exact`` keeps it valid and whole, however small."""
        s = self.scale
        moved = affinity.affine_transform(
            shape, [s, 0, 0, -s, self.left - self.west * s, self.top + self.north * s]
        )
        # a ring that crosses itself by a hair draws the same, and is found twenty times faster
        return moved.simplify(_HAIR, preserve_topology=exact)


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
    frame = _frame(whole)
    bottom = frame.top + frame.height
    listed = [frame.place(p.outline, exact=True) for p in tally.patches]
    names = _letters(tally, plane, keep_outs)
    below, height = _below(tally, names, units, ink, bottom + 84)
    body = [
        patterns(ink),
        f'<rect width="{PAGE:.0f}" height="{height:.0f}" fill="{ink.ground}"/>',
        _title(tally, name, units, ink),
        '<g id="ground" fill-rule="evenodd">',
        _area("not-yet-sown", frame.place(ground.net), f'fill="{ink.ground}"'),
        _area("sown", frame.place(ground.sown), f'fill="{ink.sown}"'),
        _area("part", frame.place(ground.part), 'fill="url(#fill-part)"'),
        _area("sown-twice", frame.place(ground.twice), 'fill="url(#fill-twice)"'),
        _area(
            "in-doubt",
            frame.place(ground.doubt),
            f'fill="url(#fill-doubt)" stroke="{ink.ink}" stroke-width="0.8"',
        ),
        _area("out-of-reach", frame.place(ground.unreachable), 'fill="url(#fill-unreachable)"'),
        _area(
            "kept-out",
            frame.place(ground.keep_out),
            f'fill="url(#fill-keep-out)" stroke="{ink.ink}" stroke-width="2"',
        ),
        _area("fence", frame.place(whole), f'fill="none" stroke="{ink.ink}" stroke-width="2.5"'),
        "</g>",
        *(_patch(p, shape, ink) for p, shape in zip(tally.patches, listed, strict=True)),
        *_letter_marks(names, frame, ink),
        *_numbers(tally.patches, listed, frame, ink, names),
        _scale_bar(frame, bottom + 30, units, ink),
        _north(PAGE - EDGE - 22, bottom + 44, ink),
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


def _frame(whole: BaseGeometry) -> _Frame:
    west, south, east, north = whole.bounds
    wide, tall = max(east - west, 1.0), max(north - south, 1.0)
    scale = min((PAGE - 2 * EDGE) / wide, _TALLEST / tall)
    left = (PAGE - wide * scale) / 2
    return _Frame(scale, left, _TOP + EDGE, west, north, tall * scale)


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


def _area(ident: str, shape: BaseGeometry, paint: str) -> str:
    outline = path(shape)
    return f'<path id="{ident}" {paint} d="{outline}"/>' if outline else ""


def path(shape: BaseGeometry) -> str:
    """The polygons of a shape as one SVG path, a tenth of a unit fine."""
    rings = []
    for part in shapely.get_parts(shape):
        if isinstance(part, Polygon) and not part.is_empty:
            rings += [part.exterior, *part.interiors]
    return "".join(
        "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in ring.coords[:-1]) + "Z" for ring in rings
    )


def _patch(patch: Patch, shape: BaseGeometry, ink: Ink) -> str:
    outline = path(shape)
    if patch.call == "can't tell":
        # looked at, not counted: ground colour and a broken rim
        paint = f'fill="{ink.ground}" stroke="{ink.ink}" stroke-width="2.5" stroke-dasharray="3 4"'
        drawn = f'<path {paint} d="{outline}"/>'
    else:
        # the rim lies outside, so that even a strip a metre wide keeps its colour
        drawn = (
            f'<path fill="none" stroke="{ink.rim}" stroke-width="7" stroke-linejoin="round" '
            f'd="{outline}"/><path fill="{ink.bare}" stroke="{ink.bare}" stroke-width="1.4" '
            f'd="{outline}"/>'
        )
    words = f"{patch.number}: {patch.kind}, {patch.call}"
    return f'<g id="patch-{patch.number}"><title>{words}</title>{drawn}</g>'


def _numbers(
    patches: Sequence[Patch],
    shapes: Sequence[BaseGeometry],
    frame: _Frame,
    ink: Ink,
    names: Sequence[tuple[str, str, BaseGeometry]],
) -> list[str]:
    page = (EDGE / 2, _TOP, PAGE - EDGE / 2, frame.top + frame.height + EDGE / 2)
    taken = [
        frame.place(area.representative_point(), exact=True).buffer(14) for _, _, area in names
    ]
    radius = _DISC if len(patches) <= _CROWD else _DISC_CROWDED
    labels = place_labels(shapes, radius, page, taken)
    lines = [_leader(label, ink) for label in labels if label.apart]
    return lines + [_disc(p, at, radius, ink) for p, at in zip(patches, labels, strict=True)]


def _disc(patch: Patch, at: Label, radius: float, ink: Ink) -> str:
    told = patch.call != "can't tell"
    fill, rim, number = (ink.bare, ink.rim, ink.number) if told else (ink.ground, ink.ink, ink.ink)
    size = radius * (1.24 if patch.number < 100 else 0.9)
    return (
        f'<circle cx="{at.x:.1f}" cy="{at.y:.1f}" r="{radius:.0f}" fill="{fill}" '
        f'stroke="{rim}" stroke-width="2.5"/>'
        f'<text x="{at.x:.1f}" y="{at.y + 0.36 * size:.1f}" font-size="{size:.0f}" fill="{number}" '
        f'text-anchor="middle">{patch.number}</text>'
    )


def _leader(label: Label, ink: Ink) -> str:
    ends = f"M{label.x:.1f} {label.y:.1f}L{label.at_x:.1f} {label.at_y:.1f}"
    return f'<path d="{ends}" stroke="{ink.ink}" stroke-width="2.5"/>'


def _letters(
    tally: Tally, plane: Plane, keep_outs: Sequence[KeepOut]
) -> list[tuple[str, str, BaseGeometry]]:
    """Letter, what it is and where, for each keep-out that shows; the same things share one."""
    found: list[tuple[str, str, BaseGeometry]] = []
    letters: dict[str, str] = {}
    for keep_out in keep_outs:
        shape = plane.shape_to_xy(keep_out.area)
        shown = shape.intersection(tally.ground.keep_out)
        if shown.area > 0.5 * shape.area:
            what = keep_out.name or keep_out.kind
            what = f"{what} (hazard)" if keep_out.hazard else what
            letter = letters.setdefault(what, chr(ord("A") + len(letters) % 26))
            found.append((letter, what, shown))
    return found


def _letter_marks(
    names: Sequence[tuple[str, str, BaseGeometry]], frame: _Frame, ink: Ink
) -> list[str]:
    marks = []
    for letter, _, area in names:
        point = frame.place(area.representative_point())
        marks.append(
            f'<rect x="{point.x - 12:.1f}" y="{point.y - 13:.1f}" width="24" height="26" rx="3" '
            f'fill="{ink.ground}" stroke="{ink.ink}" stroke-width="1.5"/>'
            f'<text x="{point.x:.1f}" y="{point.y + 8:.1f}" font-size="21" fill="{ink.ink}" '
            f'text-anchor="middle">{letter}</text>'
        )
    return marks


def _scale_bar(frame: _Frame, y: float, units: Units, ink: Ink) -> str:
    unit_m, word = (FOOT_M, "ft") if units.acres else (1.0, "m")
    most = 240.0 / (frame.scale * unit_m)
    power = 10.0 ** math.floor(math.log10(most))
    length = max(step * power for step in (1, 2, 5) if step * power <= most)
    wide = length * unit_m * frame.scale
    halves = box(0, 0, wide / 2, 9)
    return (
        f'<g id="scale-bar" fill="{ink.ink}"><rect x="{EDGE}" y="{y}" width="{wide:.2f}" '
        f'height="9" fill="{ink.ground}" stroke="{ink.ink}" stroke-width="2"/>'
        f'<rect x="{EDGE}" y="{y}" width="{halves.bounds[2]:.2f}" height="9"/>'
        f'<text x="{EDGE}" y="{y + 34}" font-size="21">0</text>'
        f'<text x="{EDGE + wide:.1f}" y="{y + 34}" font-size="21" text-anchor="middle">'
        f"{length:g} {word}</text></g>"
    )


def _north(x: float, y: float, ink: Ink) -> str:
    return (
        f'<g id="north" fill="{ink.ink}"><path d="M{x} {y - 30}l12 34l-12 -8l-12 8z"/>'
        f'<text x="{x}" y="{y + 26}" font-size="22" text-anchor="middle">N</text></g>'
    )


def _below(
    tally: Tally,
    names: Sequence[tuple[str, str, BaseGeometry]],
    units: Units,
    ink: Ink,
    top: float,
) -> tuple[list[str], float]:
    shown = entries(tally, list(dict.fromkeys((letter, what) for letter, what, _ in names)), units)
    boxes, y = legend(shown, ink, top + 16, PAGE, EDGE)
    rows, y = patch_list(tally, units, ink, y + 14, EDGE)
    last, y = caution(ink, y + 20, EDGE)
    return [*boxes, *rows, *last], y + EDGE
