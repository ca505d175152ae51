"""What the seams say of the drift: gaps between neighbouring runs.

The driver steers by the last furrow. A seam is observed once, from the later run, on the side
that was steered by.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from unsown.core.samples import AGO_S, CHAIN, SAMPLE_M, Gaps, Samples, no_gaps, one_width, select
from unsown.core.words import Floats, Ints

#: A neighbour is parallel within this, degrees, and lies between these many widths.
_PARALLEL_DEG, _NEAREST_W, _FARTHEST_W = 10.0, 0.4, 2.4
#: A chain that covers less than this part of its run says nothing, unless it has so many rows.
_PART, _WHOLE = 0.3, 25


def seams(s: Samples, moved_x: Floats, moved_y: Floats, most_w: float) -> Gaps:
    """Gaps between neighbouring parallel runs.

    Args:
        s: samples as logged.
        moved_x: the best present guess of the samples' true east: used for pairing only.
        moved_y: the same, north.
        most_w: a chain counts as neighbours when its middle gap in that picture is below this
            part of a width. Nearer to two widths it may be a run left out, and pulls nothing.
    """
    if len(s) < 3:
        return no_gaps()
    pairs = _neighbours(s, moved_x, moved_y)
    if len(pairs[0]) == 0:
        return no_gaps()
    later, earlier, other, part, side = _feet(s, moved_x, moved_y, *pairs)
    n = np.column_stack([-np.sin(s.heading_rad[later]), np.cos(s.heading_rad[later])])
    px = (1 - part) * s.x_m[earlier] + part * s.x_m[other] - s.x_m[later]
    py = (1 - part) * s.y_m[earlier] + part * s.y_m[other] - s.y_m[later]
    width = (s.width_m[later] + s.width_m[earlier]) / 2
    gap = side * (n[:, 0] * px + n[:, 1] * py) - width
    who = np.column_stack([later, earlier, other])
    # true = logged − drift: the gap changes by −side·n·(B_earlier − B_later)
    share = np.column_stack([np.ones(len(part)), -(1 - part), -part])
    east = side[:, None] * n[:, :1] * share
    north = side[:, None] * n[:, 1:] * share
    chain = _chains(s, later, earlier, side)
    rows = Gaps(gap, who, east, north, chain, width)
    qx = (1 - part) * moved_x[earlier] + part * moved_x[other] - moved_x[later]
    qy = (1 - part) * moved_y[earlier] + part * moved_y[other] - moved_y[later]
    moved_gap = side * (n[:, 0] * qx + n[:, 1] * qy) - width
    return _steered_by(s, select(rows, one_width(chain, moved_gap / width, most_w)))


def _neighbours(s: Samples, x: Floats, y: Floats) -> tuple[Ints, Ints, Floats]:
    """For every sample and side the nearest parallel sample, where that was sown before.

    What was sown later counts for nearness: a run with another one in between is nobody's
    neighbour. Returns (later, earlier, side).
    """
    reach = _FARTHEST_W * float(s.width_m.max()) + SAMPLE_M
    pairs = cKDTree(np.column_stack([x, y])).query_pairs(reach, output_type="ndarray")
    later, earlier = np.r_[pairs[:, 0], pairs[:, 1]], np.r_[pairs[:, 1], pairs[:, 0]]
    turn = s.heading_rad[later] - s.heading_rad[earlier]
    parallel = np.abs(np.sin(turn)) < np.sin(np.radians(_PARALLEL_DEG))
    fine = parallel & (np.abs(s.t_s[later] - s.t_s[earlier]) > AGO_S)
    later, earlier = later[fine], earlier[fine]
    c, n = np.cos(s.heading_rad[later]), np.sin(s.heading_rad[later])
    dx, dy = x[earlier] - x[later], y[earlier] - y[later]
    along, beside = c * dx + n * dy, -n * dx + c * dy
    width = (s.width_m[later] + s.width_m[earlier]) / 2
    fine = (np.abs(along) <= 0.6 * SAMPLE_M) & (np.abs(beside) > 0.25 * width)
    later, earlier, along, beside, width = (v[fine] for v in (later, earlier, along, beside, width))
    side = np.sign(beside)
    order = np.lexsort((np.abs(beside) + 0.05 * np.abs(along), side, later))
    later, earlier, side, beside, width = (v[order] for v in (later, earlier, side, beside, width))
    nearest = np.r_[True, (np.diff(later) != 0) | (np.diff(side) != 0)]
    ratio = np.abs(beside) / width
    keep = nearest & (ratio > _NEAREST_W) & (ratio < _FARTHEST_W)
    keep &= s.t_s[later] > s.t_s[earlier]
    return later[keep], earlier[keep], side[keep]


def _feet(
    s: Samples, x: Floats, y: Floats, later: Ints, earlier: Ints, side: Floats
) -> tuple[Ints, Ints, Ints, Floats, Floats]:
    """The earlier run interpolated to the foot of the perpendicular from the later sample."""
    last = len(s) - 1
    c, n = np.cos(s.heading_rad[later]), np.sin(s.heading_rad[later])

    def along(j: Ints) -> Floats:
        return np.asarray(c * (x[j] - x[later]) + n * (y[j] - y[later]))

    here = along(earlier)
    best_other, best_part = earlier.copy(), np.zeros(len(earlier))
    for step in (-1, 1):
        j = np.clip(earlier + step, 0, last)
        there = along(j)
        fits = (s.stretch[j] == s.stretch[earlier]) & (here * there < 0)
        part = np.where(fits, here / np.where(fits, here - there, 1.0), 0.0)
        best_other, best_part = np.where(fits, j, best_other), np.where(fits, part, best_part)
    return later, earlier, best_other, best_part, side


def _chains(s: Samples, later: Ints, earlier: Ints, side: Floats) -> Ints:
    """Number rows that follow each other along the same two stretches on the same side."""
    order = np.lexsort((later, side, s.stretch[earlier], s.stretch[later]))
    a, b, c, d = s.stretch[later][order], s.stretch[earlier][order], side[order], later[order]
    new = np.r_[
        True,
        (np.diff(a) != 0) | (np.diff(b) != 0) | (np.diff(c) != 0) | (np.diff(d) > 3),
    ]
    chain = np.empty(len(later), dtype=np.int64)
    chain[order] = np.cumsum(new)
    return chain


def _steered_by(s: Samples, rows: Gaps) -> Gaps:
    """Leave out short chains, fragments, and the side that nobody steered by.

    A fragment is a chain that covers little of the later run while another chain on the same
    side covers more: there the nearest run is not the one that was followed.
    """
    later, earlier = rows.who[:, 0], rows.who[:, 1]
    count = np.bincount(rows.chain)
    size = count[rows.chain]
    length = np.bincount(s.stretch)[s.stretch[later]]
    keep = (size >= CHAIN) & (size >= np.minimum(_PART * length, _WHOLE))
    age = np.zeros(len(count))
    np.maximum.at(age, rows.chain, s.t_s[earlier])
    freshest = np.zeros(len(s))
    np.maximum.at(freshest, later[keep], age[rows.chain[keep]])
    keep &= age[rows.chain] >= freshest[later] - 1e-9
    kept = select(rows, keep)
    order = np.lexsort((kept.who[:, 0], kept.chain))
    return select(kept, order)
