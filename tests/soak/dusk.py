"""What is decided when a day is done, said against true: a row of plain numbers a day and phone."""

from __future__ import annotations

import time
import traceback
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from soak import exact, hopper
from soak.judge import brought
from soak.labels import asked, labels
from unsown.core.back import back, gate_of
from unsown.core.day import find
from unsown.core.plane import Plane
from unsown.core.price import Prices
from unsown.core.waste import pace_ha_per_h, settle_m, waste
from unsown.core.words import Tally, Way
from unsown.core.worth import Worth
from unsown.sim import trial
from unsown.sim.day import SimDay
from unsown.sim.drive import Poses, roll

Row = dict[str, Any]
KIND = "dusk"
#: The invented farm (its prices are not drawn: labels hang on ground and way).
FARM = Prices(118, 0.46, 105, 0.88, 5.2, 1.35, 58, 2.4, 330, 150)


def rows(seed: int, presets: tuple[str, ...], **options: Any) -> Iterator[Row]:
    """The rows of one drive, a preset each; whatever is raised becomes a row that says so."""
    head = {"seed": seed, "kind": KIND}
    try:
        drive = trial(seed, preset="none", **options)
        true = exact.ways(drive)
    except Exception as why:
        yield from ({**head, "preset": p, "failed": failure(why)} for p in presets)
        return
    for preset in presets:
        row = {**head, "preset": preset}
        try:
            yield {**row, **dusk_row(drive.logged(preset), true)}
        except Exception as why:
            yield {**row, "failed": failure(why)}


def failure(why: Exception) -> str:
    """An error in one line, with where it was raised."""
    at = traceback.extract_tb(why.__traceback__)[-1]
    return f"{type(why).__name__}: {why} ({at.filename.rpartition('/')[2]} line {at.lineno})"


def dusk_row(day: SimDay, true: list[Way]) -> Row:
    """Sown twice, worth, the way back and the bins of one day on one phone."""
    started = time.process_time()
    tally, plane = find(day.log, day.paddock, [day.rig])
    w = waste(tally, [day.rig])
    true_causes = exact.causes_ha(day, settle_m(tally, [day.rig]))
    return {
        "net_ha": tally.net_ha,
        "width_m": day.rig.tool.width_m,
        "again_ha": w.again_ha,
        "low_ha": w.low_ha,
        "high_ha": w.high_ha,
        "true_again_ha": exact.again_ha(day),
        "causes_ha": dict(w.causes),
        "spread_ha": dict(w.spread_ha),
        "true_causes_ha": true_causes,
        "pace_ha_h": pace_ha_per_h(tally, day.rig.tool.width_m),
        "seeded_ha": w.seeded_ha,
        "bare_ha": tally.bare_ha,
        "true_bare_ha": day.truth.bare_m2 / 1e4,
        "true_swept_ha": day.truth.swept_m2 / 1e4,
        **_worth(day, tally, plane),
        **hopper.fills(day, tally.ways, true),
        "cpu_s": time.process_time() - started,
    }


def _worth(day: SimDay, tally: Tally, plane: Plane) -> Row:
    """Labels of the sure patches beside those from the truth, what is asked first, the way."""
    fixes, g = day.log.fixes, tally.ground
    whole = shapely.union(g.net, g.keep_out)
    gate = gate_of(whole, *plane.to_xy(fixes.lon_deg, fixes.lat_deg))
    misses = exact.patches(day)
    shapes = brought([day.truth.bare, *(p.outline for p in misses)], day.plane, plane)
    true = tuple(replace(p, outline=o) for p, o in zip(misses, shapes[1:], strict=True))
    known = replace(tally, patches=true, ground=replace(g, bare=shapes[0]))
    told, best = (back(t, [day.rig], FARM, gate, 0.0) for t in (tally, known))
    found: list[dict[str, Any]] = []
    open_: list[dict[str, Any]] = []
    if told.now is not None and best.now is not None:
        found = labels(tally, true, shapes[0], told.now, best.now, FARM, told.reach, told.speed_m_s)
        open_ = asked(tally, true, shapes[0], told.now)
    return {"labels": found, "asked": open_, **_driven(day, told.now, tally)}


def _driven(day: SimDay, w: Worth | None, tally: Tally) -> Row:
    """The way back driven by the simulator's own tractor: what it leaves of what is listed."""
    if w is None or not w.stops:
        return {"listed_m2": 0.0, "missed_m2": 0.0, "hit_m2": 0.0, "blocked": False}
    route = w.route
    moved = np.r_[True, np.hypot(*np.diff(route.poses[:, :2], axis=0).T) > 1e-6]
    down = route.tool_down.copy()
    down[:-1] |= down[1:] & ~moved[1:]  # where two poses are one place, down as either says
    xy, down = route.poses[moved, :2], down[moved]
    poses = roll(xy, np.ones(len(xy), dtype=np.int64), day.rig)
    tool = day.rig.tool
    front, rear = (_swath(day, poses, down, at) for at in (tool.front_rank_m, tool.rear_rank_m))
    sown = shapely.intersection(front, rear)
    numbers = {n for _, run in w.stops for n in run.covers}
    ground = shapely.union_all([p.outline for p in tally.patches if p.number in numbers])
    left = sum(g.left_m2 for g in w.groups if g.label == "worth it")
    everything = _swath(day, poses, np.ones(len(xy), dtype=np.bool_), 0.0)
    return {
        "listed_m2": sum(run.area_m2 for _, run in w.stops),
        "missed_m2": max(float(shapely.area(shapely.difference(ground, sown))) - left, 0.0),
        "hit_m2": float(shapely.area(shapely.intersection(everything, tally.ground.keep_out))),
        "blocked": bool(route.blocked),
    }


def _swath(day: SimDay, poses: Poses, down: np.ndarray, rank_m: float) -> Any:
    """Ground that one rank passed over while the tool was down."""
    c, s = np.cos(poses.theta), np.sin(poses.theta)
    half = day.rig.tool.width_m / 2
    x, y = poses.tool_x + rank_m * c, poses.tool_y + rank_m * s
    left, right = np.c_[x - half * s, y + half * c], np.c_[x + half * s, y - half * c]
    k = np.flatnonzero(down[1:] & down[:-1])
    quads = np.stack([left[k], left[k + 1], right[k + 1], right[k]], axis=1)
    return shapely.union_all(shapely.make_valid(shapely.polygons(quads)))
