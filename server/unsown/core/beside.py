"""What other passes did to the ground under and beside the bar.

Every second lays down a strip of the bar's width on a grid of metre cells, weighted by the
chance that the tool was down. At a later look each cell knows which passes crossed it and when,
so a pass can ask for the ground sown *before* it and *after* it without seeing its own strip.
The places to look at do not change when the chances do: they are found once (``Grid``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from unsown.core.ticks import Ticks
from unsown.core.words import Floats, Ints

_CELL_M = 1.0
#: Way within which ground counts as the pass's own, m, and in widths.
_OWN_M, _OWN_WIDTHS = 25.0, 2.0
#: Sideways places looked at on each side, in widths.
LOOKS = np.arange(0.05, 1.26, 0.1)
#: Ground counts as sown for the edge from a chance of a half on: so much weight, -ln(1 - 0.5).
_EDGE = float(np.log(2.0))

#: Places in the order of cell and way; half the width of Ints, since a day has a million of them.
Places = NDArray[np.int32]


@dataclass(frozen=True)
class Grid:
    """Strips on cells, and for each look the first and last of them to count.

    ``pieces`` are ``tick`` (which second) and ``share`` (of a cell) in order of cell and way;
    ``ends`` has shape (4, looks, sides, n): places in that order where the cell begins, where
    the pass's own strip begins and ends there, and where the cell ends.
    """

    tick: Ints
    share: Floats
    ends: Places


def grid(ticks: Ticks, width_m: float) -> Grid:
    """Lay the day's strips and find every look's place among them."""
    n = len(ticks)
    x0, y0 = ticks.x_m.min() - 2 * width_m, ticks.y_m.min() - 2 * width_m
    columns = int((ticks.x_m.max() - x0 + 2 * width_m) / _CELL_M) + 2
    rows = int((ticks.y_m.max() - y0 + 2 * width_m) / _CELL_M) + 2

    def cells(x: Floats, y: Floats) -> Places:
        column = ((x - x0) / _CELL_M).astype(np.int32)
        return np.asarray(((y - y0) / _CELL_M).astype(np.int32) * columns + column)

    c, s = np.cos(ticks.heading_rad), np.sin(ticks.heading_rad)
    across = int(np.ceil(width_m / _CELL_M))
    aside = (np.arange(across) + 0.5) / across * width_m - width_m / 2
    advance = np.clip(np.r_[np.diff(ticks.way_m), 0.0], 0.0, 8.0)
    laid_x, laid_y, laid_way = [], [], []
    for back in (-0.25, 0.25):
        mx = ticks.x_m + back * advance * c
        my = ticks.y_m + back * advance * s
        laid_x.append(mx[:, None] - aside * s[:, None])
        laid_y.append(my[:, None] + aside * c[:, None])
        laid_way.append(np.broadcast_to(ticks.way_m[:, None], (n, across)))
    where = cells(np.concatenate(laid_x).ravel(), np.concatenate(laid_y).ravel())
    way = np.concatenate(laid_way).ravel()
    order = np.lexsort((way, where))
    where, way = where[order], way[order]
    tick = np.tile(np.repeat(np.arange(n), across), 2)[order]
    share = (advance / 2 * width_m / across / _CELL_M**2)[tick]
    first = np.searchsorted(where, np.arange(columns * rows + 1)).astype(np.int32)

    own = max(_OWN_M, _OWN_WIDTHS * width_m)
    ends = np.empty((4, len(LOOKS), 2, n), dtype=np.int32)
    for side, sign in enumerate((1.0, -1.0)):
        for k, out in enumerate(sign * LOOKS * width_m):
            look = cells(ticks.x_m - out * s, ticks.y_m + out * c)
            ends[0, k, side], ends[3, k, side] = first[look], first[look + 1]
    here = ticks.way_m.astype(np.float64)
    ends[1] = _reached(way, ends[0], ends[3], here - own)
    ends[2] = _reached(way, ends[1], ends[3], here + own)
    return Grid(tick, share, ends)


def _reached(way: Floats, first: Places, end: Places, until: Floats) -> Places:
    """The first place from ``first`` on, before ``end``, whose way is not short of ``until``.

    A cell holds few strips, so one step at a time for those not there yet is quicker than
    a search from the middle.
    """
    place = first.copy()
    flat, stop = place.ravel(), end.ravel()
    aim = np.broadcast_to(until, first.shape).ravel()
    left = np.flatnonzero(flat < stop)
    while len(left):
        left = left[way[flat[left]] < aim[left]]
        flat[left] += 1
        left = left[flat[left] < stop[left]]
    return place


@dataclass(frozen=True)
class Beside:
    """Ground others sowed, at each tick; shapes (n,) and (n, sides).

    ``under_before``, ``under_after``, ``under``: share of the bar over it. ``edge_before``,
    ``edge_after``, ``edge``: index into LOOKS of the first sown place outward from the middle,
    len(LOOKS) for none. ``flank``: the share sown beside the bar, on the side with more.
    """

    under_before: Floats
    under_after: Floats
    under: Floats
    edge_before: Ints
    edge_after: Ints
    edge: Ints
    flank: Floats


def beside(laid: Grid, chance: Floats) -> Beside:
    """What lies under and beside the bar, given the chance of down at each tick."""
    weight = -np.log1p(-0.98 * np.clip(chance, 0.0, 1.0))[laid.tick] * laid.share
    total = np.r_[0.0, np.cumsum(weight)]
    a, b, c, d = (total[laid.ends[k]] for k in range(4))
    before, after = b - a, d - c
    both = before + after
    near = LOOKS < 0.5
    far = (LOOKS > 0.6) & (LOOKS < 1.1)
    flank = (1 - np.exp(-both[far])).mean(axis=0).max(axis=0)

    def under(laid_down: Floats) -> Floats:
        return np.asarray((1 - np.exp(-laid_down[near])).mean(axis=(0, 1)))

    def edge(laid_down: Floats) -> Ints:
        first = np.full(laid_down.shape[1:], len(LOOKS), dtype=np.int64)
        for k in range(len(LOOKS) - 1, -1, -1):
            first[laid_down[k] > _EDGE] = k
        return np.asarray(first.T)

    return Beside(
        under(before), under(after), under(both), edge(before), edge(after), edge(both), flank
    )
