"""The paddock drawn for paper: the map with what was found, and the empty grid for the hand.

Four units of a drawing are one millimetre of paper; the smallest letters are 13 units, 9 pt.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence

from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from unsown.formats.frame import Frame, area, north, scale_bar
from unsown.formats.marks import letter_marks, numbers, patch_mark
from unsown.formats.quote import quote
from unsown.formats.units import ACRE_M2, Units
from unsown.papers.hatch import PAPER, own, patterns
from unsown.papers.scene import Scene
from unsown.papers.signs import (
    LETTERS,
    asked,
    gate_sign,
    gates,
    last_run,
    peg,
    peg_sign,
    peg_spots,
    way_through,
)

UNIT_MM = 0.25
_EDGE = 14.0
_FOOT = 46.0  # for the scale bar
_DISC, _DISC_CROWDED, _CROWD = 13.5, 12.5, 24
#: A square of the grid for the hand is drawn at least and at most this wide, units.
_SQUARE_LEAST = 24.0
_METRIC_M = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
_ACRES = (1 / 16, 1 / 4, 1.0, 4.0, 16.0, 64.0)


def map_of(
    scene: Scene,
    units: Units,
    wide_mm: float,
    tall_mm: float,
    *,
    ident: str = "map",
    only: Collection[int] | None = None,
    way: Sequence[tuple[LineString, bool]] = (),
) -> str:
    """The map, north up, as an SVG of ``wide_mm`` and at most ``tall_mm``; true to scale.

    ``only`` keeps a small map readable: no other patches get their numbers, and of the keep-outs
    only hazards their letters. ``way`` is where to go through the patches, on the plane,
    with whether the tool is down there.
    """
    frame, wide, tall = _fit(scene, wide_mm, tall_mm)
    shapes = [frame.place(p.outline, exact=True) for p in scene.patches]
    pegs = peg_spots(scene, frame, wide)
    body = [
        patterns(),
        '<g fill-rule="evenodd">',
        *_ground(scene, frame),
        "</g>",
        *(patch_mark(p, s, PAPER) for p, s in zip(scene.patches, shapes, strict=True)),
        *way_through(way, frame),
        *gates(scene, frame),
        *(peg(name, spot) for name, spot in pegs),
        *last_run(scene, frame),
        *asked(scene, frame),
        *_numbers(scene, shapes, frame, wide, only, [s.words for _, s in pegs]),
        *letter_marks([n for n in scene.names if n.hazard or only is None], frame, PAPER, size=16),
        *_foot(frame, units, wide, tall),
    ]
    drawn = own("\n".join(part for part in body if part), ident + "-")
    return _svg(drawn, ident, f"Map of {scene.name}, north up", wide, tall)


def tall_of(scene: Scene, wide_mm: float, tall_mm: float) -> float:
    """How tall the map really is within such a box, mm."""
    return _fit(scene, wide_mm, tall_mm)[2] * UNIT_MM


def grid_of(scene: Scene, units: Units, wide_mm: float, tall_mm: float) -> tuple[str, str]:
    """The outline on an empty grid for the hand, and what one square of it is, in words."""
    frame, wide, tall = _fit(scene, wide_mm, tall_mm)
    side_m, says = _square(frame.scale, units)
    rows = [
        f'<path d="{way}" stroke="#777777" stroke-width="0.6" fill="none"/>'
        for way in _lattice(frame, side_m)
    ]
    body = [
        patterns(),
        *rows,
        area(
            "kept-out",
            frame.place(scene.keep_out),
            'fill="url(#fill-keep-out)" fill-rule="evenodd" stroke="#000000" stroke-width="1.6"',
        ),
        area("fence", frame.place(scene.whole), 'fill="none" stroke="#000000" '
             'fill-rule="evenodd" stroke-width="3"'),
        *letter_marks(scene.names, frame, PAPER, size=16),
        *gates(scene, frame),
        *(peg(name, spot) for name, spot in peg_spots(scene, frame, wide)),
        *_foot(frame, units, wide, tall),
    ]  # fmt: skip
    drawn = own("\n".join(part for part in body if part), "grid-")
    said = f"Outline of {scene.name} on a grid, north up"
    return _svg(drawn, "grid", said, wide, tall), says


def swatch(state: str, ident: str = "map") -> str:
    """A small box with the pattern of a state, for the legend of the map ``ident``."""
    frame = '<rect x="1.5" y="1.5" width="33" height="15" '
    paints = {
        "bare": 'fill="#FFFFFF" stroke="#000000" stroke-width="3"',
        "can't tell": 'fill="#FFFFFF" stroke="#000000" stroke-width="2" stroke-dasharray="3 4"',
        "ground": 'fill="#FFFFFF" stroke="#000000" stroke-width="1"',
    }
    if state == "last run":
        drawn = '<path d="M2 9H24" stroke="#000000" stroke-width="3"/><path d="M22 2L35 9L22 16Z"/>'
    elif state == "way":
        drawn = (
            '<path d="M1 9H17" stroke="#000000" stroke-width="1.4" stroke-dasharray="5 4"/>'
            '<path d="M17 9H35" stroke="#000000" stroke-width="3.5"/>'
        )
    elif state == "peg":
        drawn = peg_sign(18.0, 9.0)
    elif state == "gate":
        drawn = gate_sign(18.0, 9.0)
    elif state == "asked":
        drawn = (
            '<path d="M1 9l7 -8h20l7 8l-7 8h-20z" fill="#FFFFFF" stroke="#000000" '
            'stroke-width="1.5"/><text x="18" y="15.5" font-size="17" font-weight="bold" '
            'text-anchor="middle">?</text>'
        )
    else:
        paint = paints.get(
            state, f'fill="url(#{ident}-fill-{state})" stroke="#000000" stroke-width="1"'
        )
        drawn = f"{frame}{paint}/>"
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="7mm" height="3.5mm" viewBox="0 0 36 18" '
        f'aria-hidden="true">{drawn}</svg>'
    )


def _fit(scene: Scene, wide_mm: float, tall_mm: float) -> tuple[Frame, float, float]:
    wide, most = wide_mm / UNIT_MM, tall_mm / UNIT_MM
    frame = Frame.fit(scene.whole, _EDGE, _EDGE, wide - 2 * _EDGE, most - 2 * _EDGE - _FOOT)
    return frame, wide, frame.tall + 2 * _EDGE + _FOOT


def _svg(drawn: str, ident: str, said: str, wide: float, tall: float) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" id="{ident}" class="drawing" role="img" '
        f'aria-label="{quote(said)}" width="{wide * UNIT_MM:.2f}mm" '
        f'height="{tall * UNIT_MM:.2f}mm" '
        f'viewBox="0 0 {wide:.1f} {tall:.1f}" font-family="DejaVu Sans, Verdana, sans-serif" '
        f'font-weight="bold">\n{drawn}\n</svg>'
    )


def _ground(scene: Scene, frame: Frame) -> Iterator[str]:
    paints = {
        "sown": f'fill="{PAPER.sown}"',
        "part": 'fill="url(#fill-part)"',
        "twice": 'fill="url(#fill-twice)"',
        "doubt": 'fill="url(#fill-doubt)" stroke="#000000" stroke-width="1"',
        "unreachable": 'fill="url(#fill-unreachable)"',
    }
    for state, paint in paints.items():
        if state in scene.states:
            yield area(f"ground-{state}", frame.place(scene.states[state]), paint)
        if state == "sown" and not scene.theirs.is_empty:
            yield area("ground-theirs", frame.place(scene.theirs), 'fill="url(#fill-theirs)"')
    bricks = 'fill="url(#fill-keep-out)" stroke="#000000" stroke-width="1.6"'
    yield area("kept-out", frame.place(scene.keep_out), bricks)
    rim = 'fill="none" stroke="#000000" stroke-width="3"'
    yield area("fence", frame.place(scene.whole), rim)


def _numbers(
    scene: Scene,
    shapes: Sequence[BaseGeometry],
    frame: Frame,
    wide: float,
    only: Collection[int] | None,
    pegs: Sequence[BaseGeometry],
) -> list[str]:
    page = (2.0, 2.0, wide - 2.0, frame.top + frame.tall + _EDGE)
    taken = [
        frame.place(n.shape.representative_point(), exact=True).buffer(11) for n in scene.names
    ]
    taken += [frame.place(point, exact=True).buffer(10) for _, point in scene.pegs]
    taken += [frame.place(point, exact=True).buffer(18) for point in scene.gates]
    taken += pegs
    taken += [frame.place(point, exact=True).buffer(16) for _, point in scene.asked]
    last = scene.last
    if last is not None:
        taken.append(frame.place(Point(last.line.coords[-1]), exact=True).buffer(12))
    radius = _DISC if len(shapes) <= _CROWD else _DISC_CROWDED
    largest = sorted(zip(scene.patches, shapes, strict=True), key=lambda pair: -pair[0].area_m2)
    shown = [pair for pair in largest if only is None or pair[0].number in only]
    return numbers([p for p, _ in shown], [s for _, s in shown], page, taken, radius, PAPER)


def _foot(frame: Frame, units: Units, wide: float, tall: float) -> Iterator[str]:
    top = tall - _FOOT + 8
    yield scale_bar(frame, _EDGE, top, units, PAPER, most=wide / 3, size=LETTERS)
    yield north(wide - _EDGE - 14, tall - 2 * LETTERS + 7, PAPER, size=16)


def _square(scale: float, units: Units) -> tuple[float, str]:
    """The side of the grid's squares, m, and what one is worth: the smallest that can be drawn."""
    if units.acres:
        acres = next((a for a in _ACRES if (a * ACRE_M2) ** 0.5 * scale >= _SQUARE_LEAST), 64.0)
        whole = f"{acres:g}" if acres >= 1 else f"1/{1 / acres:g}"
        return (acres * ACRE_M2) ** 0.5, f"one square is {whole} ac"
    side = next((s for s in _METRIC_M if s * scale >= _SQUARE_LEAST), _METRIC_M[-1])
    return side, f"one square is {side:g} m by {side:g} m, {side * side / 1e4:g} ha"


def _lattice(frame: Frame, side_m: float) -> Iterator[str]:
    """Lines of the grid over the paddock's extent, from its north-west corner on."""
    side = side_m * frame.scale
    right, bottom = frame.left + frame.wide, frame.top + frame.tall
    for i in range(math.floor(frame.wide / side + 1e-9) + 1):
        x = frame.left + i * side
        yield f"M{x:.1f} {frame.top:.1f}V{bottom:.1f}"
    for i in range(math.floor(frame.tall / side + 1e-9) + 1):
        y = frame.top + i * side
        yield f"M{frame.left:.1f} {y:.1f}H{right:.1f}"
