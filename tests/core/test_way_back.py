"""The way back, driven by the simulator's own tractor and tool: it sows what it says it does."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from unsown.core.aim import Field, beside, reach
from unsown.core.day import find
from unsown.core.price import Prices
from unsown.core.words import Tally
from unsown.core.worth import Circumstances, Worth, worth
from unsown.sim import SimDay
from unsown.sim.drive import Poses, roll
from unsown.sim.trial import trial

FARM = Prices(118, 0.46, 105, 0.88, 5.2, 1.35, 58, 2.4, 330, 150)


def way_back(day: SimDay) -> tuple[Worth, shapely.Geometry, Tally]:
    """What is worth going back for on a day, its keep-outs on the plane, and the tally."""
    tally, _ = find(day.log, day.paddock, [day.rig])
    g = tally.ground
    boundary = shapely.union(g.net, g.keep_out)
    r = reach(day.rig)
    last = tally.ways[-1]
    start = (float(last.x_m[-1]), float(last.y_m[-1]), float(last.heading_rad[-1]))
    gate = shapely.get_coordinates(boundary)[0]
    here = Circumstances(start, (float(gate[0]), float(gate[1])), 2.1)
    field = Field.of(boundary, g.keep_out, g.bare, r)
    headings = beside(tally.patches, tally.ways)
    return worth(tally.patches, headings, field, r, FARM, here), g.keep_out, tally


def swath(day: SimDay, poses: Poses, down: np.ndarray, rank_m: float) -> shapely.Geometry:
    """Ground that one rank passed over while the tool was down."""
    c, s = np.cos(poses.theta), np.sin(poses.theta)
    half = day.rig.tool.width_m / 2
    x, y = poses.tool_x + rank_m * c, poses.tool_y + rank_m * s
    left, right = np.c_[x - half * s, y + half * c], np.c_[x + half * s, y - half * c]
    k = np.flatnonzero(down[1:] & down[:-1])
    quads = np.stack([left[k], left[k + 1], right[k + 1], right[k]], axis=1)
    return shapely.union_all(shapely.make_valid(shapely.polygons(quads)))


@pytest.mark.parametrize("seed", [1003, 1012])
def test_the_simulators_tractor_finishes_what_the_way_back_says(seed: int) -> None:
    day = trial(seed)
    w, keep_out, tally = way_back(day)
    assert w.stops, "a day without anything worth going back for proves nothing"
    route = w.route
    assert not route.blocked
    moved = np.r_[True, np.hypot(*np.diff(route.poses[:, :2], axis=0).T) > 1e-6]
    down = route.tool_down.copy()
    down[:-1] |= down[1:] & ~moved[1:]  # where two poses are one place, down as either says
    xy, down = route.poses[moved, :2], down[moved]
    poses = roll(xy, np.ones(len(xy), dtype=np.int64), day.rig)
    tool = day.rig.tool
    front, rear = (swath(day, poses, down, at) for at in (tool.front_rank_m, tool.rear_rank_m))
    sown = shapely.intersection(front, rear)
    listed = sum(run.area_m2 for _, run in w.stops)
    numbers = {n for _, run in w.stops for n in run.covers}
    patches = shapely.union_all([p.outline for p in tally.patches if p.number in numbers])
    left = sum(g.left_m2 for g in w.groups if g.label == "worth it")
    missed = shapely.area(shapely.difference(patches, sown)) - left
    assert missed < 0.03 * listed
    everything = swath(day, poses, np.ones(len(xy), dtype=np.bool_), 0.0)
    assert shapely.area(shapely.intersection(everything, keep_out)) < 1.0
