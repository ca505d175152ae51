"""Points along all runs, and gaps between edges seen from them.

What a day says of the drift of its own picture is written as gaps: a signed distance in metres
(positive: bare ground between) with the samples of the path whose drift it depends on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from unsown.core.cover import Poses
from unsown.core.words import Bools, Floats, Ints

#: Samples lie about this far apart along a run, m.
SAMPLE_M = 12.0
#: Only ground sown longer ago than this is a furrow to steer by, s.
AGO_S = 40.0
#: A chain of samples shorter than this says nothing about steering.
CHAIN = 5


@dataclass(frozen=True)
class Samples:
    """Points along all runs, in time order; arrays of shape (n,).

    The middle of the bar, its heading, the run's index, an index of the unbroken stretch, the
    phone's leg and the working width.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    run: Ints
    stretch: Ints
    leg: Ints
    width_m: Floats

    def __len__(self) -> int:
        return len(self.t_s)


@dataclass(frozen=True)
class Gaps:
    """Observed gaps, one row each: gap_m + Σ a·B is the true gap, B the drift at samples.

    ``who`` (n, 3) are sample indices, ``east`` and ``north`` (n, 3) the coefficients of their
    drift. ``chain`` numbers rows that follow each other along one pair of runs; ``width_m`` is
    the working width, ``first`` the time of the earlier ground.
    """

    gap_m: Floats
    who: Ints
    east: Floats
    north: Floats
    chain: Ints
    width_m: Floats

    def __len__(self) -> int:
        return len(self.gap_m)


def samples(
    stretches: Sequence[tuple[int, int, float, float, Poses]],
) -> Samples:
    """Samples of the given stretches: (run, leg, middle ahead of axle m, width m, poses)."""
    columns: list[list[Floats]] = [[] for _ in range(8)]
    for number, (run, leg, ahead, width, poses) in enumerate(stretches):
        way = poses.path_m
        count = max(2, int((way[-1] - way[0]) / SAMPLE_M) + 1)
        at = np.linspace(way[0], way[-1], count)
        t, x, y, h = (
            np.interp(at, way, a) for a in (poses.t_s, poses.x_m, poses.y_m, poses.heading_rad)
        )
        ones = np.ones(count)
        row = (t, x + ahead * np.cos(h), y + ahead * np.sin(h), h)
        for column, value in zip(
            columns, (*row, run * ones, number * ones, leg * ones, width * ones), strict=True
        ):
            column.append(value)
    if not stretches:
        none, whole = np.zeros(0), np.zeros(0, dtype=np.int64)
        return Samples(none, none, none, none, whole, whole, whole, none)
    t, x, y, h, run_, part, leg_, width_ = (np.concatenate(c) for c in columns)
    order = np.lexsort((t, leg_))
    runs, parts, legs = (a[order].astype(np.int64) for a in (run_, part, leg_))
    return Samples(t[order], x[order], y[order], h[order], runs, parts, legs, width_[order])


def one_width(chain: Ints, gap_in_widths: Floats, most: float) -> Bools:
    """Rows of chains whose middle gap is that of neighbours, not of runs two widths apart."""
    order = np.lexsort((gap_in_widths, chain))
    first = np.searchsorted(chain[order], np.arange(int(chain.max()) + 2))
    middle = np.zeros(len(first) - 1)
    for i, (a, b) in enumerate(zip(first[:-1], first[1:], strict=True)):
        if b > a:
            middle[i] = gap_in_widths[order[(a + b) // 2]]
    return np.asarray(np.abs(middle[chain]) < most)


def unmoved(rows: Gaps, east: Floats, north: Floats) -> Gaps:
    """Rows found in a picture moved by (−east, −north), with their gaps as logged."""
    by = (rows.east * east[rows.who]).sum(1) + (rows.north * north[rows.who]).sum(1)
    return replace(rows, gap_m=rows.gap_m - by)


def select(rows: Gaps, which: Bools | Ints) -> Gaps:
    """Some of the rows, in the order given."""
    return Gaps(
        rows.gap_m[which],
        rows.who[which],
        rows.east[which],
        rows.north[which],
        rows.chain[which],
        rows.width_m[which],
    )


def no_gaps() -> Gaps:
    """No rows at all."""
    none, two = np.zeros(0), np.zeros((0, 3))
    return Gaps(none, two.astype(np.int64), two, two, np.zeros(0, dtype=np.int64), none)
