"""The demo farm Ninepost Coulee: an invented day on an invented paddock, with its truth.

Nothing here is traced: the shapes are drawn on paper and laid on open ground in southern
Saskatchewan. *Dry Ladle* is an L with one side 12° oblique, a slough with a wet rim, a stone
pile, willows, a line of poles, a grain ring and a survey pin; *Quillback* has a rounded west
end; *Bent Culvert* is a triangle whose south side is a road.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from unsown.core.errors import PaddockError
from unsown.core.plane import Plane
from unsown.core.words import Gate, KeepOut, Log, Mark, Paddock
from unsown.demo.write import write
from unsown.sim.day import SimDay, day
from unsown.sim.paddocks import Field

SEED = 7
_LAT, _LON = 49.73, -106.21
_CALL_S = 160.0
_RATES = (("seed", 118.0), ("fertiliser", 105.0))  # kg/ha
#: Where on the fence one drives in, as a share of its length, and what the gate is called.
_GATES = {
    "Dry Ladle": (0.5819, "the culvert gate"),
    "Quillback": (0.62, "the east gate"),
    "Bent Culvert": (0.12, "the road gate"),
}
_DRY_MS = 1_780_272_000_000  # the wet rim is expected to be dry by 1 June 2026


def make_demo(folder: Path, *, preset: str = "good") -> None:
    """Writes the demo day: ``track.jsonl``, ``paddock.geojson``, ``rig.toml``, ``truth.*``."""
    write(demo_day(preset=preset), folder, track="jsonl")


def demo_day(*, preset: str = "good", paddock: str = "Dry Ladle", seed: int = SEED) -> SimDay:
    """The first day's story, on a day without rain: the whole paddock is sown.

    A peg stop, the boundary lap and three more, corners lifted; up and back by the last furrow;
    two fills at the truck, one reverse out of a soft spot; one forgotten tap, and a phone call
    of 2 min 40 s in the middle of a run.
    """
    made = day(
        seed,
        preset=preset,
        rig="demo",
        field=field(paddock),
        laps=4,
        corners="lift",
        overlap_m=0.3,
        steer_m=0.2,
        gross=2,
        wanders=3,
        halts=3,
        creeps=1,
        backs=1,
        truck_trips=2,
        pegs=True,
        phone="morning",
    )
    return _mishaps(made)


def field(name: str) -> Field:
    """A paddock of the demo farm on its plane."""
    makers = {"Dry Ladle": _dry_ladle, "Quillback": _quillback, "Bent Culvert": _bent_culvert}
    if name not in makers:
        raise PaddockError("demo-unknown", f"expected one of {', '.join(makers)}, got {name!r}")
    return makers[name]()


def fenced(made: Field) -> Paddock:
    """A paddock of the demo farm with its gate, as it is saved."""
    share, name = _GATES[made.name]
    at = made.outline.exterior.interpolate(share, normalized=True)
    lon, lat = made.plane.to_degrees(np.asarray([at.x]), np.asarray([at.y]))
    return replace(made.paddock(), gates=(Gate(float(lon[0]), float(lat[0]), name),))


def _dry_ladle() -> Field:
    lean = 440 * np.tan(np.radians(12))
    outline = Polygon([(0, 0), (980, 0), (980, 420), (430, 420), (430 + lean, 860), (0, 860)])
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 81 + 9 * np.cos(2 * angle) + 4 * np.sin(3 * angle)
    water = Polygon(np.column_stack([690 + radius * np.cos(angle), 205 + radius * np.sin(angle)]))
    water = affinity.scale(water, *([(23_000 / water.area) ** 0.5] * 2))
    rim = water.buffer(7.4).difference(water)
    pile = affinity.rotate(box(300, 250, 322, 259), 20)
    things = [
        ("slough", water),
        ("wet rim", rim),
        ("stone pile", pile),
        ("willow clump", Point(190, 130).buffer(7, quad_segs=6)),
        ("willow clump", Point(350, 740).buffer(7, quad_segs=6)),
        *[("pole", Point(x, 610).buffer(1.5, quad_segs=4)) for x in (90, 190, 290, 390)],
        ("grain ring", Point(880, 300).buffer(4, quad_segs=6)),
        ("survey pin", Point(70, 470).buffer(0.75, quad_segs=3)),
    ]
    return _laid("Dry Ladle", outline, things, 61.4, turn_deg=4.0)


def _quillback() -> Field:
    angle = np.radians(np.linspace(90, 270, 40))
    arc = [(330 + 250 * np.cos(a), 300 + 300 * np.sin(a)) for a in angle]
    outline = Polygon([*arc, (900, 0), (860, 600)])
    return _laid("Quillback", outline, [("stone pile", box(560, 330, 582, 339))], 38.2)


def _bent_culvert() -> Field:
    outline = Polygon([(0, 0), (780, 0), (610, 420), (540, 450)])
    return _laid("Bent Culvert", outline, [], 17.9)


def _laid(
    name: str,
    outline: Polygon,
    things: list[tuple[str, Polygon]],
    net_ha: float,
    turn_deg: float = 0.0,
) -> Field:
    """The outline grown about its things until the net area is right, then turned."""
    kept_out = sum(shape.area for _, shape in things)
    grow = float(np.sqrt((net_ha * 1e4 + kept_out) / outline.area))
    middle = outline.centroid

    def lay(shape: Polygon) -> Polygon:
        turned = affinity.rotate(shape, turn_deg, origin=middle)
        return affinity.translate(turned, -middle.x, -middle.y)

    outline = affinity.scale(outline, grow, grow, origin=middle)
    holes = tuple((kind, lay(shape)) for kind, shape in things)
    return Field(lay(outline), holes, Plane(_LAT, _LON), name)


def _mishaps(made: SimDay) -> SimDay:
    """Forgets the tap at the start of one long run, and blanks a phone call in another."""
    runs = [s for s in made.truth.sowings if s.up_s - s.down_s > 280]
    forgot, call = runs[len(runs) // 3], runs[2 * len(runs) // 3]
    zero = made.logging.start_ms
    lost = zero + round(1000 * forgot.down_s)
    marks = [m for m in made.log.marks if not (m.kind == "lever" and m.t_ms == lost)]
    middle = zero + 1000 * (call.down_s + call.up_s) / 2
    fixes = made.log.fixes
    keep = np.abs(fixes.t_ms - middle) > 500 * _CALL_S
    names = ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg", "phone", "segment")
    seen = replace(fixes, **{k: getattr(fixes, k)[keep] for k in names})
    marks += _fills(made, len(marks))
    outs = tuple(_dated(k) for k in made.paddock.keep_outs)
    gates = fenced(field(made.paddock.name)).gates
    paddock = replace(made.paddock, keep_outs=outs, gates=gates)
    log = Log(seen, tuple(sorted(marks, key=lambda m: m.t_ms)))
    return replace(made, log=log, paddock=paddock)


def _fills(made: SimDay, numbered: int) -> list[Mark]:
    """What was filled at each stop by the truck: what went out since the one before.

    The bin was full in the morning and is filled up each time, to the 50 kg that can be read.
    """
    last = max((m.seq for m in made.log.marks), default=numbered)
    whole_s = sum(s.up_s - s.down_s for s in made.truth.sowings)
    out = []
    before = 0.0
    for sample, seconds in made.drive.track.halts:
        t = float(made.drive.time.time_at(sample)) + seconds / 2
        down = sum(max(min(s.up_s, t) - max(s.down_s, before), 0) for s in made.truth.sowings)
        ha = down / whole_s * made.truth.swept_m2 / 1e4
        before = t
        for product, rate in _RATES:
            kg = 50 * round(rate * ha / 50)
            last += 1
            says = {"product": product, "kg": kg}
            t_ms = made.logging.start_ms + round(1000 * t)
            out.append(Mark(t_ms, "fill", made.logging.phone, last, says))
    return out


def _dated(keep: KeepOut) -> KeepOut:
    return replace(keep, until_ms=_DRY_MS) if keep.kind == "wet rim" else keep
