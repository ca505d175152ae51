"""The signs drawn over a map: gates, pegs with names, the arrow of the last run, questions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from unsown.formats.frame import Frame, line
from unsown.formats.quote import quote
from unsown.papers.scene import Scene, Way

LETTERS = 16
"""Size of letters on a drawing, units: 11 pt, so that a map that gives way stays readable."""
_ARROW_M = 150.0
_NAME = 14  # letters of a peg's name
#: A peg so near to a gate stands at it, units; what ground hidden by a name counts beside a sign.
_AT_GATE, _GROUND = 12.0, 0.1


@dataclass(frozen=True)
class Spot:
    """Where a peg stands on the page, and the box that its name takes up beside it."""

    x: float
    y: float
    words: Polygon


def peg_spots(scene: Scene, frame: Frame, wide: float) -> list[tuple[str, Spot]]:
    """Each peg with its name on the side where it hides least, of signs first, then of ground."""
    out: list[tuple[str, Spot]] = []
    last = scene.last
    arrow = frame.place(_end_of(last)).buffer(8) if last else Point()
    inside = frame.place(scene.whole, exact=True)
    posts = [frame.place(p, exact=True) for p in scene.gates]
    for name, point in scene.pegs:
        at = frame.place(point, exact=True)
        long = 0.68 * LETTERS * len(name[:_NAME])
        # a peg at a gate stands between its posts, and its name beyond them
        off = 22 if any(at.distance(post) < _AT_GATE for post in posts) else 9
        sides = [
            box(at.x + off, at.y - 9, at.x + off + long, at.y + 7),
            box(at.x - off - long, at.y - 9, at.x - off, at.y + 7),
            box(at.x - long / 2, at.y + 10, at.x + long / 2, at.y + 26),
            box(at.x - long / 2, at.y - 26, at.x + long / 2, at.y - 10),
        ]
        page = box(0, 0, wide, frame.top + frame.tall + frame.top)
        signs = [frame.place(p, exact=True).buffer(10) for n, p in scene.pegs if n != name]
        signs += [post.buffer(18) for post in posts]
        others = shapely.union_all([arrow, *signs, *(spot.words for _, spot in out)])

        def hides(words: Polygon, page: Polygon = page, others: BaseGeometry = others) -> float:
            hidden = words.intersection(others).area + 9 * words.difference(page).area
            return float(hidden + _GROUND * words.intersection(inside).area)

        out.append((name, Spot(at.x, at.y, min(sides, key=hides))))
    return out


def peg(name: str, spot: Spot) -> str:
    """A peg and its name."""
    left, _, _, bottom = spot.words.bounds
    return (
        f'<g class="peg">{peg_sign(spot.x, spot.y)}<text x="{left:.1f}" '
        f'y="{bottom - 3:.1f}" font-size="{LETTERS}" stroke="#FFFFFF" stroke-width="4" '
        f'paint-order="stroke">{quote(name[:_NAME])}</text></g>'
    )


def peg_sign(x: float, y: float) -> str:
    """The sign of a peg, its point in the ground at (x, y + 8)."""
    return f'<path d="M{x - 7:.1f} {y - 7:.1f}h14l-7 15z" stroke="#FFFFFF" stroke-width="1.5"/>'


def gates(scene: Scene, frame: Frame) -> Iterator[str]:
    """Where one drives in: two posts."""
    for point in scene.gates:
        at = frame.place(point, exact=True)
        yield f'<g class="gate">{gate_sign(at.x, at.y)}</g>'


def gate_sign(x: float, y: float) -> str:
    """The sign of a gate, its middle at (x, y); a peg at the gate stands between its posts."""
    posts = "".join(f"M{x + at:.1f} {y - 6:.1f}h6v12h-6z" for at in (-16, 10))
    return f'<path d="{posts}" fill="#FFFFFF" stroke="#000000" stroke-width="2.5"/>'


def last_run(scene: Scene, frame: Frame) -> Iterator[str]:
    """The end of the run that was lifted last, an arrow where the openers stopped."""
    last = scene.last
    if last is None or last.line.length < 1.0:
        return
    placed = frame.place(_end_of(last))
    if not isinstance(placed, LineString) or placed.length < 1.0:
        return
    way = line(placed)
    tip = np.asarray(placed.coords[-1])
    # its direction from a piece as long as the head: one fix to the next may point anywhere
    tail = np.asarray(placed.interpolate(max(0.0, placed.length - 22.0)).coords[0])
    along = (tip - tail) / max(float(np.hypot(*(tip - tail))), 1e-9)
    across = np.array([-along[1], along[0]])
    corners = [tip, tip - 20 * along + 9 * across, tip - 20 * along - 9 * across]
    head = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in corners) + "Z"
    yield (
        f'<g id="last-run" fill="none" stroke-linejoin="round">'
        f'<path d="{way}" stroke="#FFFFFF" stroke-width="8"/>'
        f'<path d="{head}" fill="#000000" stroke="#FFFFFF" stroke-width="2.5"/>'
        f'<path d="{way}" stroke="#000000" stroke-width="3.5"/>'
        f'<path d="{head}" fill="#000000"/></g>'
    )


def _end_of(way: Way) -> BaseGeometry:
    """The last piece of a stretch, as long as its arrow."""
    return substring(way.line, max(0.0, way.line.length - _ARROW_M), way.line.length)


def way_through(pieces: Sequence[tuple[LineString, bool]], frame: Frame) -> Iterator[str]:
    """The way through the patches: thin and dashed, solid where the tool is down."""
    for way, down in pieces:
        if way.length < 1.0:
            continue
        drawn = line(frame.place(way))
        dashed = "" if down else ' stroke-dasharray="7 5"'
        yield f'<path d="{drawn}" fill="none" stroke="#FFFFFF" stroke-width="{7 if down else 4}"/>'
        yield (
            f'<path d="{drawn}" fill="none" stroke="#000000" stroke-width="{3.5 if down else 1.4}"'
            f"{dashed}/>"
        )


def asked(scene: Scene, frame: Frame) -> Iterator[str]:
    """A question's number where it is about: ``?1`` in a lozenge."""
    for number, point in scene.asked:
        at = frame.place(point)
        yield (
            f'<g class="asked"><path d="M{at.x - 21:.1f} {at.y:.1f}l9 -12h24l9 12l-9 12h-24z" '
            'fill="#FFFFFF" stroke="#000000" stroke-width="2"/>'
            f'<text x="{at.x:.1f}" y="{at.y + 5.8:.1f}" font-size="{LETTERS}" text-anchor="middle">'
            f"?{number}</text></g>"
        )
