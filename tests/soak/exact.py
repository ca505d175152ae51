"""What a simulated day truly was, for what is decided after it: ways, extra covers, patches."""

from __future__ import annotations

import numpy as np
import shapely

from unsown.core.causes import causes
from unsown.core.words import Patch, Way
from unsown.sim.day import SimDay
from unsown.sim.drive import between

#: Poses lie so far apart, m.
_STEP_M = 1.0


def ways(day: SimDay) -> list[Way]:
    """Where the tool's middle truly went while seed landed from every opener, a run each."""
    tool, poses = day.rig.tool, day.drive.poses
    middle = (tool.front_rank_m + tool.rear_rank_m) / 2
    out = []
    for number, s in enumerate(day.truth.sowings, 1):
        if s.off_s <= s.on_s:
            continue
        first, last = (float(v) for v in day.drive.time.index_at(np.array([s.on_s, s.off_s])))
        inner = np.arange(int(first) + 1, int(np.ceil(last)))
        at = np.unique(np.r_[first, inner, last])
        x, y, h = (between(v, at) for v in (poses.tool_x, poses.tool_y, poses.theta))
        gone = np.r_[0.0, np.cumsum(np.hypot(np.diff(x), np.diff(y)))]
        keep = np.unique(
            np.r_[0, np.flatnonzero(np.diff(np.floor(gone / _STEP_M))) + 1, len(at) - 1]
        )
        c, n = np.cos(h), np.sin(h)
        x = x + middle * c - tool.offset_left_m * n
        y = y + middle * n + tool.offset_left_m * c
        t = day.drive.time.time_at(at)
        way = Way(number, "truth", tool.width_m, float(gone[-1]),
                  t[keep], x[keep], y[keep], h[keep])  # fmt: skip
        out.append(way)
    return out


def again_ha(day: SimDay) -> float:
    """Seeded ground as often as it was, less ground that got seed at all."""
    true, tool = day.truth, day.rig.tool
    ranks = tool.front_rank_m - tool.rear_rank_m
    ends = tool.width_m * ranks * sum(s.off_s > s.on_s for s in true.sowings)
    return (true.swept_m2 + ends - (true.net_m2 - true.bare_m2 + true.outside_m2)) / 1e4


def causes_ha(day: SimDay, settle_m: float) -> dict[str, float]:
    """Extra covers by cause: the same rules on where the tool truly was."""
    whole = shapely.union_all([shapely.Polygon(p.exterior) for p in _parts(day)])
    fence = whole.boundary
    tool = day.rig.tool
    areas, *_ = causes(
        ways(day), day.field.net, fence, shapely.difference(whole, day.field.net),
        half_m=(tool.front_rank_m - tool.rear_rank_m) / 2, settle_m=settle_m,
    )  # fmt: skip
    return {name: area / 1e4 for name, area in areas.items()}


def _parts(day: SimDay) -> list[shapely.Polygon]:
    return [p for p in shapely.get_parts(day.field.net) if p.geom_type == "Polygon"]


def patches(day: SimDay) -> list[Patch]:
    """The truly bare patches as the engine would list them, each certain."""
    out = []
    for number, miss in enumerate(day.truth.misses, 1):
        out.append(
            Patch(number, miss.outline, miss.area_m2, miss.width_m, miss.area_m2 / miss.width_m,
                  "pocket", 1.0, "sure", miss.outline.representative_point())
        )  # fmt: skip
    return out
