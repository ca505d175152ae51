"""What is drawn over the ground: patches with their numbers, keep-outs with their letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Patch
from unsown.formats.frame import Frame, path
from unsown.formats.ink import Ink
from unsown.formats.labels import Label, place_labels


@dataclass(frozen=True)
class Lettered:
    """A keep-out that shows: its letter, what it is, its shape on the plane, and its hazard."""

    letter: str
    what: str
    shape: BaseGeometry
    hazard: bool = False


def lettered(keep_outs: Sequence[KeepOut], kept_out: BaseGeometry, plane: Plane) -> list[Lettered]:
    """The keep-outs that lie in the ground ``kept_out``; the same things share one letter."""
    found: list[Lettered] = []
    letters: dict[str, str] = {}
    for keep_out in keep_outs:
        shape = plane.shape_to_xy(keep_out.area)
        shown = shape.intersection(kept_out)
        if shown.area > 0.5 * shape.area:
            what = keep_out.name or keep_out.kind
            what = f"{what} (hazard)" if keep_out.hazard else what
            letter = letters.setdefault(what, chr(ord("A") + len(letters) % 26))
            found.append(Lettered(letter, what, shown, keep_out.hazard))
    return found


def letter_marks(names: Sequence[Lettered], frame: Frame, ink: Ink, *, size: int = 21) -> list[str]:
    """A framed letter on each keep-out; a hazard's frame is thick."""
    marks = []
    for name in names:
        point = frame.place(name.shape.representative_point())
        half, rim = (size * 13.5 / 21, 3.5) if name.hazard else (size * 12 / 21, 1.5)
        marks.append(
            f'<rect x="{point.x - half:.1f}" y="{point.y - half - 1:.1f}" width="{2 * half:.1f}" '
            f'height="{2 * half + 2:.1f}" rx="3" '
            f'fill="{ink.ground}" stroke="{ink.ink}" stroke-width="{rim}"/>'
            f'<text x="{point.x:.1f}" y="{point.y + 8 / 21 * size:.1f}" font-size="{size}" '
            f'fill="{ink.ink}" text-anchor="middle">{name.letter}</text>'
        )
    return marks


def patch_mark(patch: Patch, shape: BaseGeometry, ink: Ink) -> str:
    """A patch, its outline in page units: filled with a thick rim, or with a broken one."""
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


def numbers(
    patches: Sequence[Patch],
    shapes: Sequence[BaseGeometry],
    box: tuple[float, float, float, float],
    taken: Sequence[BaseGeometry],
    radius: float,
    ink: Ink,
) -> list[str]:
    """The patches' numbers within ``box`` of the page, kept off each other and off ``taken``."""
    labels = place_labels(shapes, radius, box, taken)
    lines = [_leader(label, ink) for label in labels if label.apart]
    return lines + [_disc(p, at, radius, ink) for p, at in zip(patches, labels, strict=True)]


def _disc(patch: Patch, at: Label, radius: float, ink: Ink) -> str:
    told = patch.call != "can't tell"
    fill, rim, number = (ink.disc, ink.rim, ink.number) if told else (ink.ground, ink.ink, ink.ink)
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
