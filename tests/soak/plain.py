"""The plain way: buffer the logged line by half the width where the tool was down, subtract."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from soak.judge import brought
from unsown.core.bare import patches
from unsown.core.day import find
from unsown.core.lever import taps
from unsown.core.words import Floats, Settings
from unsown.sim.day import SimDay

#: Fixes of one stretch that is buffered at a time.
_FIXES = 40
#: Bare ground with its patches, both on the day's own plane.
Picture = tuple[BaseGeometry, list[BaseGeometry]]


def buffered(day: SimDay) -> Picture:
    """What a map program makes of the log: no trailing tool, no cleaning, no delays.

    The phone's line from each tap down to the next tap up (its ends interpolated), buffered by
    half the width with flat ends, all united and taken off the paddock's net ground. Patches
    are opened and dropped as everywhere in this report.
    """
    fixes = day.log.fixes
    x, y = day.plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    changes, _ = taps(day.log.marks)
    half = day.rig.tool.width_m / 2
    swaths = []
    for (a, word), (b, _) in zip(changes, [*changes[1:], (fixes.t_ms[-1], "end")], strict=True):
        if word != "down" or b <= a:
            continue
        t = np.r_[a, fixes.t_ms[(fixes.t_ms > a) & (fixes.t_ms < b)], b]
        points = np.column_stack([np.interp(t, fixes.t_ms, v) for v in (x, y)])
        swaths += _swaths(points, half)
    bare = shapely.difference(day.field.net, shapely.union_all(swaths))
    return bare, [p.outline for p in patches(bare)]


def _swaths(points: Floats, half_m: float) -> list[BaseGeometry]:
    """A line's swath in overlapping stretches.

    One buffer over a whole run with a parked and wandering phone takes gigabytes.
    """
    cuts = range(0, max(len(points) - 1, 1), _FIXES)
    lines = [LineString(points[a : a + _FIXES + 3]) for a in cuts if len(points[a:]) > 1]
    thin = shapely.simplify(np.asarray(lines, dtype=object), 0.05)
    return list(shapely.buffer(thin, half_m, cap_style="flat", quad_segs=4))


def towed(day: SimDay) -> Picture:
    """The engine with settling off: the tool is towed and timed, the drift stays in."""
    tally, plane = find(day.log, day.paddock, [day.rig], Settings(settle=False, draws=1))
    bare, *outlines = brought(
        [tally.ground.bare, *(p.outline for p in tally.patches)], plane, day.plane
    )
    return bare, outlines
