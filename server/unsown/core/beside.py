"""What other passes did to the ground under and beside the bar.

Every second lays down a strip of the bar's width on a grid of metre cells, weighted by the
chance that the tool was down. At a later look each cell knows which passes crossed it and when,
so a pass can ask for the ground sown *before* it and *after* it without seeing its own strip.
The places to look at do not change when the chances do: they are found once (``Grid``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.ticks import Ticks
from unsown.core.words import Floats, Ints

_CELL_M = 1.0
#: Way within which ground counts as the pass's own, m, and in widths.
_OWN_M, _OWN_WIDTHS = 25.0, 2.0
#: Sideways places looked at on each side, in widths.
LOOKS = np.arange(0.05, 1.26, 0.1)
#: Ground counts as sown for the edge from this chance on.
_EDGE = 0.5


@dataclass(frozen=True)
class Grid:
    """Strips on cells, and for each look the first and last of them to count.

    ``pieces`` are ``tick`` (which second) and ``share`` (of a cell) in order of cell and way;
    ``ends`` has shape (4, n, sides, looks): places in that order where the cell begins, where
    the pass's own strip begins and ends there, and where the cell ends.
    """

    tick: Ints
    share: Floats
    ends: Ints


def grid(ticks: Ticks, width_m: float) -> Grid:
    """Lay the day's strips and find every look's place among them."""
    n = len(ticks)
    x0, y0 = ticks.x_m.min() - 2 * width_m, ticks.y_m.min() - 2 * width_m
    columns = int((ticks.x_m.max() - x0 + 2 * width_m) / _CELL_M) + 2
    long = float(ticks.way_m[-1]) + 1000.0

    def cells(x: Floats, y: Floats) -> Floats:
        column = np.floor((x - x0) / _CELL_M)
        return np.asarray(np.floor((y - y0) / _CELL_M) * columns + column)

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
    key = where * long + way
    order = np.argsort(key, kind="stable")
    key = key[order]
    tick = np.tile(np.repeat(np.arange(n), across), 2)[order]
    share = (advance / 2 * width_m / across / _CELL_M**2)[tick]

    own = max(_OWN_M, _OWN_WIDTHS * width_m)
    ends = np.empty((4, n, 2, len(LOOKS)), dtype=np.int64)
    for side, sign in enumerate((1.0, -1.0)):
        out = sign * LOOKS * width_m
        look = cells(ticks.x_m[:, None] - out * s[:, None], ticks.y_m[:, None] + out * c[:, None])
        base = look * long
        here = ticks.way_m[:, None]
        for k, place in enumerate((base, base + here - own, base + here + own, base + long)):
            ends[k, :, side] = np.searchsorted(key, place)
    ends[1] = np.maximum(ends[1], ends[0])
    ends[2] = np.minimum(np.maximum(ends[2], ends[1]), ends[3])
    return Grid(tick, share, ends)


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
    before, after = 1 - np.exp(-(b - a)), 1 - np.exp(-(d - c))
    both = 1 - np.exp(-(b - a) - (d - c))
    near = LOOKS < 0.5
    far = (LOOKS > 0.6) & (LOOKS < 1.1)
    flank = both[:, :, far].mean(axis=2).max(axis=1)

    def under(sown: Floats) -> Floats:
        return np.asarray(sown[:, :, near].mean(axis=(1, 2)))

    def edge(sown: Floats) -> Ints:
        hit = sown > _EDGE
        first = np.where(hit.any(axis=2), hit.argmax(axis=2), len(LOOKS))
        return np.asarray(first, dtype=np.int64)

    return Beside(
        under(before), under(after), under(both), edge(before), edge(after), edge(both), flank
    )
