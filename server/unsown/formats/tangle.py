"""Whether outlines cross so often that no geometry library should be given them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

Points = npt.NDArray[np.float64]
"""Corners of a closed ring, shape (n, 2), the last as the first."""


def tangled(rings: Sequence[Points], most: int) -> int | None:
    """The number of an edge in the thick of it, if edges meet more than ``most`` times; else None.

    Ends that follow on do not count.

    Found in small steps, so that a hostile shape is given up long before it fills the memory.
    """
    ends = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    edges = shapely.linestrings(ends.reshape(-1, 2, 2))
    tree = shapely.STRtree(edges)
    at, step, met = 0, 2, 0
    while at < len(edges):
        block = edges[at : at + step]
        met += tree.query(block, predicate="intersects").shape[1] - 3 * len(block)
        if met > 2 * most:
            return at
        at, step = at + step, min(2 * step, 4096)
    return None
