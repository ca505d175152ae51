"""Ready-made days for the tests of maps and reports: shapes by hand, no engine."""

from __future__ import annotations

from dataclasses import replace

from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from unsown.core.plane import Plane
from unsown.core.words import Ground, KeepOut, Patch, Question, Run, Tally

PLANE = Plane(49.73, -106.21)


def outline() -> Polygon:
    """An L with one oblique side, metres, about 61 ha."""
    return Polygon([(-420, -480), (520, -480), (480, -60), (60, -40), (60, 420), (-420, 420)])


def patch(number: int, shape: Polygon, chance: float = 0.95, **changes: object) -> Patch:
    call = "sure" if chance >= 0.9 else "likely" if chance >= 0.6 else "can't tell"
    lon, lat = PLANE.to_degrees([shape.representative_point().x], [shape.representative_point().y])
    made = Patch(
        number=number,
        outline=shape,
        area_m2=shape.area,
        width_m=6.0,
        length_m=30.0,
        kind="corner",
        chance=chance,
        call=call,
        place=Point(float(lon[0]), float(lat[0])),
        runs=(1, 2),
    )
    return replace(made, **changes)


def keep_out() -> KeepOut:
    slough = Point(-150, -150).buffer(70)
    return KeepOut("slough", MultiPolygon([PLANE.shape_to_degrees(slough)]), "North slough")


def day(**changes: object) -> Tally:
    """A day nearly done: a corner, a finish, a strip that cannot be told, a stretch of doubt."""
    whole = outline()
    slough = Point(-150, -150).buffer(70)
    net = whole.difference(slough)
    shapes = [
        Polygon([(-420, 420), (-395, 420), (-420, 398)]),
        box(40, 200, 58, 208.4),
        box(-300, -475, 100, -473.2),
        box(200, -200, 208, -120),
    ]
    patches = (
        patch(1, shapes[0]),
        patch(2, shapes[1], 0.74, kind="finish"),
        patch(3, shapes[2], 0.31, kind="strip"),
        patch(4, shapes[3], 0.92, kind="pocket"),
    )
    bare = unary_union(shapes)
    doubt = box(-60, -470, -51.6, -60)
    twice = unary_union([box(-400, y, 40, y + 1.2) for y in range(-30, 400, 16)])
    twice = unary_union([twice, box(300, -300, 420, -290)]).difference(unary_union([bare, doubt]))
    part = box(240, -300, 249, -297)
    sown = net.difference(unary_union([bare, doubt, part]))
    empty = Polygon()
    ground = Ground(net, slough, sown, part, twice, bare, doubt, empty, box(-425, 0, -420, 80))
    ha = 1e-4
    made = Tally(
        net_ha=net.area * ha,
        keep_out_ha=slough.area * ha,
        sown_ha=sown.area * ha,
        part_ha=part.area * ha,
        bare_ha=bare.area * ha,
        bare_low_ha=bare.area * ha * 0.8,
        bare_high_ha=bare.area * ha * 1.3,
        listed_ha=sum(p.area_m2 for p in patches if p.chance >= 0.6) * ha,
        twice_ha=twice.area * ha,
        again_ha=twice.area * ha,
        doubt_ha=doubt.area * ha,
        unreachable_ha=0.0,
        outside_ha=0.04,
        swept_ha=sown.area * ha * 1.05,
        down_km=72.0,
        hours=9.6,
        patches=patches,
        questions=(
            Question(
                number=1,
                kind="blind",
                from_ms=1_746_281_400_000,
                to_ms=1_746_281_560_000,
                lon_deg=-106.2107,
                lat_deg=49.7280,
                text="No position for 2 min 40 s, 333 m. Was the tool down?",
                answers={"down": 3400.0, "up": 0.0, "unsure": 0.0},
            ),
        ),
        runs=(Run(1, 0.0, 100.0, 6.0, 100.0), Run(2, 120.0, 220.0, 126.0, 220.0)),
        ground=ground,
        notes=("Chances are rough.",),
        dropped={"standing": 1200, "outlier": 7},
        settle={"moved_m": 1.4, "sigma_m": 1.1, "tau_s": 60.0, "overlap_m": 0.3, "seams": 380.0},
    )
    return replace(made, **changes)
