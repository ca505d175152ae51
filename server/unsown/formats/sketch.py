"""A rig drawn to scale as SVG: side view above, plan below, travel to the right."""

from __future__ import annotations

from dataclasses import dataclass

from unsown.core.words import Rig
from unsown.formats.card import Spot, spots
from unsown.formats.ink import DAY as INK
from unsown.formats.quote import quote
from unsown.formats.units import Units

_PAGE = 960.0
_WHEELBASE_M = 2.6  # a tractor's front axle is not on the card: drawn, not used
_SIDE_M = 3.2  # height of the side view


@dataclass(frozen=True)
class _Page:
    """Metres behind the phone, left of the centre line and above ground -> page units."""

    scale: float
    right: float
    front_m: float
    ground: float
    middle: float

    def x(self, behind_m: float) -> float:
        return self.right - (behind_m - self.front_m) * self.scale

    def up(self, high_m: float) -> float:
        return self.ground - high_m * self.scale

    def y(self, left_m: float) -> float:
        return self.middle - left_m * self.scale

    def line(self, *points: tuple[float, float], wide: float = 3.0) -> str:
        way = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
        return f'<path d="M{way}" fill="none" stroke="{INK.ink}" stroke-width="{wide}"/>'

    def disc(self, x: float, y: float, radius_m: float, fill: str) -> str:
        return (
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{max(radius_m * self.scale, 2.5):.1f}" '
            f'fill="{fill}" stroke="{INK.ink}" stroke-width="2.5"/>'
        )

    def box(self, rear_m: float, front_m: float, top: float, bottom: float, fill: str) -> str:
        left, right = self.x(rear_m), self.x(front_m)
        return (
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" '
            f'height="{bottom - top:.1f}" fill="{fill}" stroke="{INK.ink}" stroke-width="2.5"/>'
        )


def draw_rig(rig: Rig, units: Units | None = None) -> str:
    """Side and plan view to one scale as an SVG document."""
    units = units or Units()
    found = spots(rig)
    axle = rig.phone.ahead_of_axle_m
    front = min(found[0].behind_m, axle - _WHEELBASE_M) - 0.8
    rear = found[-1].behind_m + 0.8
    half = rig.tool.width_m / 2 + abs(rig.tool.offset_left_m)
    half = max(half, 1.4, abs(rig.phone.left_of_centre_m)) + 0.4
    scale = min((_PAGE - 80) / (rear - front), 620.0 / (2 * half))
    right = (_PAGE + (rear - front) * scale) / 2
    ground = 100 + _SIDE_M * scale
    middle = ground + 96 + half * scale
    page = _Page(scale, right, front, ground, middle)
    end = middle + half * scale + 46
    total = end + 34 * len(found) + 10
    said = quote(f"{rig.name}: {rig.kind}, {units.length(rig.tool.width_m)} wide, to scale")
    parts = [
        f'<text x="40" y="50" font-size="26">{said}</text>',
        *_side(rig, found, page),
        *_length(found, page, units),
        *_plan(rig, found, page),
        *_rows(found, end, units),
    ]
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_PAGE:.0f} {total:.0f}" '
        'role="img" font-family="DejaVu Sans, Verdana, sans-serif" font-weight="bold" '
        f'fill="{INK.ink}">\n<title>{said}</title>\n'
        f'<rect width="{_PAGE:.0f}" height="{total:.0f}" fill="{INK.ground}"/>\n'
        + "\n".join(parts)
        + "\n</svg>\n"
    )


def _at(found: list[Spot], letter: str) -> float | None:
    return next((spot.behind_m for spot in found if spot.letter == letter), None)


def _side(rig: Rig, found: list[Spot], page: _Page) -> list[str]:
    axle = rig.phone.ahead_of_axle_m
    rear = _at(found, "R") or 0.0
    first = _at(found, "F")
    first = rear if first is None else first
    x, up = page.x, page.up
    pins = [spot.behind_m for spot in found if spot.letter == "o"]
    parts = [
        page.line((x(found[-1].behind_m + 0.8), up(0)), (page.right, up(0)), wide=2),
        page.box(axle + 0.5, axle - _WHEELBASE_M - 0.3, up(1.5), up(0.7), INK.ground),
        page.box(axle + 0.5, axle - 1.0, up(2.7), up(1.5), INK.ground),
        page.disc(x(axle), up(0.85), 0.85, INK.sown),
        page.disc(x(axle - _WHEELBASE_M), up(0.5), 0.5, INK.sown),
        page.disc(x(0.0), up(2.0), 0.12, INK.bare),
    ]
    joint = axle
    cart = _at(found, "C")
    if cart is not None:
        parts += [
            page.line((x(axle), up(0.6)), (x(pins[-1]), up(0.6))),
            page.box(cart + 0.9, cart - 0.9, up(2.2), up(0.9), INK.ground),
            page.disc(x(cart), up(0.5), 0.5, INK.sown),
        ]
        joint = pins[-1]
    parts.append(page.line((x(joint), up(0.6)), (x(first - 0.2), up(0.8))))
    parts.append(page.box(rear + 0.3, first - 0.3, up(1.0), up(0.75), INK.ground))
    tool = _at(found, "A")
    if tool is not None:
        parts.append(page.line((x(tool), up(0.45)), (x(min(max(tool, first), rear)), up(0.8))))
        parts.append(page.disc(x(tool), up(0.4), 0.4, INK.sown))
    parts += [
        page.line((x(rank), up(0.8)), (x(rank + 0.1), up(0.3)), (x(rank), up(-0.08)), wide=4)
        for rank in {first, rear}
    ]
    parts += [page.disc(x(pin), up(0.6), 0.09, INK.ground) for pin in pins]
    return parts


def _length(found: list[Spot], page: _Page, units: Units) -> list[str]:
    """The arrow that matters: from the phone back to the rear rank."""
    y = page.ground + 34
    left, right = page.x(found[-1].behind_m), page.x(found[0].behind_m)
    words = f"{units.length(found[-1].behind_m - found[0].behind_m)}"
    return [
        page.line((left, y), (right, y), wide=2),
        *(page.line((end, y - 9), (end, y + 9), wide=2) for end in (left, right)),
        f'<text x="{(left + right) / 2:.1f}" y="{y + 28:.1f}" font-size="22" '
        f'text-anchor="middle">{words}</text>',
    ]


def _plan(rig: Rig, found: list[Spot], page: _Page) -> list[str]:
    axle = rig.phone.ahead_of_axle_m
    x, y = page.x, page.y
    rear = _at(found, "R") or 0.0
    first = _at(found, "F")
    first = rear if first is None else first
    pins = [spot.behind_m for spot in found if spot.letter == "o"]
    shift, half = rig.tool.offset_left_m, rig.tool.width_m / 2
    parts = [page.line((x(axle), y(0)), (x(first), y(shift)), (x(rear), y(shift)))]
    parts.append(page.box(axle + 0.5, axle - _WHEELBASE_M - 0.3, y(0.45), y(-0.45), INK.ground))
    for left in (0.95, -0.95):
        parts.append(page.box(axle + 0.85, axle - 0.85, y(left + 0.25), y(left - 0.25), INK.sown))
        nose = axle - _WHEELBASE_M
        parts.append(page.box(nose + 0.5, nose - 0.5, y(left + 0.15), y(left - 0.15), INK.sown))
    cart = _at(found, "C")
    if cart is not None:
        parts.append(page.box(cart + 0.9, cart - 0.9, y(1.1), y(-1.1), INK.ground))
    tool = _at(found, "A")
    if tool is not None:
        for left in (min(half * 0.5, 1.5), -min(half * 0.5, 1.5)):
            top, bottom = y(shift + left + 0.15), y(shift + left - 0.15)
            parts.append(page.box(tool + 0.4, tool - 0.4, top, bottom, INK.sown))
    parts += [
        page.line((x(rank), y(shift + half)), (x(rank), y(shift - half)), wide=3)
        for rank in {first, rear}
    ]
    parts += _openers(rig, first, rear, page)
    parts += [page.disc(x(pin), y(0), 0.09, INK.ground) for pin in pins]
    parts.append(page.disc(x(0.0), y(rig.phone.left_of_centre_m), 0.12, INK.bare))
    return parts


def _openers(rig: Rig, first: float, rear: float, page: _Page) -> list[str]:
    tool = rig.tool
    if not (tool.openers and tool.spacing_m and tool.openers <= 100):
        return []
    spread = (tool.openers - 1) / 2
    return [
        page.disc(
            page.x(rear if i % 2 else first),
            page.y(tool.offset_left_m + (i - spread) * tool.spacing_m),
            0.05,
            INK.ink,
        )
        for i in range(tool.openers)
    ]


def _rows(found: list[Spot], top: float, units: Units) -> list[str]:
    return [
        f'<text x="40" y="{top + 34 * i:.0f}" font-size="22">{quote(spot.name)}: '
        f"{units.length(spot.behind_m)} behind the phone</text>"
        if spot.letter != "P"
        else f'<text x="40" y="{top + 34 * i:.0f}" font-size="22">phone: the orange dot</text>'
        for i, spot in enumerate(found)
    ]
