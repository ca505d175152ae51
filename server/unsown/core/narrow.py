"""In what direction fewest runs finish a piece of ground: across its narrowest width.

Runs parallel to the edge of the hull across which the ground is narrowest are fewest (W. H. Huang,
"Optimal line-sweep-based decompositions for coverage algorithms", ICRA 2001; from memory).
"""

from __future__ import annotations

from math import atan2, ceil

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry


def narrowest(shape: BaseGeometry) -> tuple[float, float]:
    """The narrowest width of a shape, m, and the direction of runs across it, radians.

    Of edges that are equally narrow the longest counts; (0, 0) for an empty shape.
    """
    ring = shapely.get_coordinates(shapely.convex_hull(shape))
    if len(ring) < 4:  # a point or a line: along it
        if len(ring) < 2:
            return 0.0, 0.0
        return 0.0, atan2(ring[-1, 1] - ring[0, 1], ring[-1, 0] - ring[0, 0])
    edge = np.diff(ring, axis=0)
    size = np.hypot(edge[:, 0], edge[:, 1])
    edge, size = edge[size > 0], size[size > 0]
    aside = (np.outer(edge[:, 0], ring[:, 1]) - np.outer(edge[:, 1], ring[:, 0])) / size[:, None]
    width = aside.max(axis=1) - aside.min(axis=1)
    best = int(np.lexsort((-size, np.round(width, 6)))[0])
    return float(width[best]), atan2(edge[best, 1], edge[best, 0])


def runs_across(width_m: float, tool_m: float) -> int:
    """How many runs of a tool it takes across a width."""
    return max(ceil(width_m / tool_m - 1e-9), 1)
