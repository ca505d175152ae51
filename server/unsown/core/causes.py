"""Why ground was sown again: each extra cover goes to one cause, by the later of two visits.

The settled ways of the tool are laid on a grid. Where a cell was covered in a second visit, the
later visit decides, and the first rule that fits (job paper 3.15):

1. *turns*: one run over its own ground, not as its own neighbour;
2. *finishing*: a run made when little was left, mostly over ground already sown;
3. *restart*: in line with the earlier strip, where one of the two begins or ends;
4. *round obstacles*: at an angle, nearer to a keep-out than to the fence;
5. *headland ends*: at more than 25°;
6. *point rows*: at 3 to 25°;
7. *between runs*: side by side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.raster import Grid, fill_polygon, grid_over, quad_rows
from unsown.core.words import Bools, Floats, Ints, Way

TURNS, FINISHING, RESTART = "turns", "finishing", "restart"
OBSTACLES, ENDS = "round obstacles", "headland ends"
POINTS, BETWEEN = "point rows", "between runs"
CAUSES = (BETWEEN, ENDS, POINTS, OBSTACLES, RESTART, FINISHING, TURNS)

#: Two passes of one run are two visits when more than this lies between: s, and widths of way.
_VISIT_S, _VISIT_WIDTHS = 20.0, 2.0
#: Headings that differ by less are side by side; by more, the runs cross, degrees.
_BESIDE_DEG, _ACROSS_DEG = 3.0, 25.0
#: In line: the middles lie nearer than this part of a width sideways.
_IN_LINE_W = 0.5
#: Finishing: so little of the net ground left, and so much of the run over sown ground. About
#: either a run is finishing in part, this far to both sides: a phone cannot tell it exactly.
_LEFT, _AGAIN = (0.02, 0.015), (0.5, 0.2)
#: Poses are thinned to these steps, m and rad; no more cells than this are counted.
_STEP_M, _STEP_RAD, _CELLS = 6.0, 0.05, 4_000_000
#: A quad's heading is taken over this much way to either side, m.
_COURSE_M = 25.0
#: The grid lies aslant to the runs, so that no seam falls on a row of cells, rad.
_ASLANT = 0.37


@dataclass(frozen=True)
class Quads:
    """What the tool passed over between two poses: corners (4, n) on the plane, and of which run.

    ``at_m`` is the way from the run's beginning, ``left_m`` that to its end.
    """

    x_m: Floats
    y_m: Floats
    run: Ints
    t_s: Floats
    heading_rad: Floats
    at_m: Floats
    left_m: Floats

    @property
    def middle(self) -> tuple[Floats, Floats]:
        """Middles of the quads, m."""
        return self.x_m.mean(axis=0), self.y_m.mean(axis=0)


@dataclass(frozen=True)
class Extra:
    """Ground covered again: which quad covered which again, cells of it, and their size, m²."""

    later: Ints
    earlier: Ints
    cells: Ints
    cell_m2: float
    new: Ints
    again: Ints


def quads_of(ways: Sequence[Way], half_m: float) -> Quads:
    """The quads of all runs: swept by a bar through the tool's middle.

    A run begins ``half_m`` behind its first place, with the rear rank, and ends as far ahead of its
    last, with the front rank. Between, the middle counts alone: a phone's noise turns the tool a
    little, and ranks swept each by itself would make every run wider than it was.
    """
    x, y, run, t, heading, at, left = [], [], [], [], [], [], []
    gone: dict[int, float] = {}
    total: dict[int, float] = {}
    for w in ways:
        total[w.run] = total.get(w.run, 0.0) + w.length_m
    for w in ways:
        way = np.r_[0.0, np.cumsum(np.hypot(np.diff(w.x_m), np.diff(w.y_m)))]
        turn = np.r_[0.0, np.cumsum(np.abs(np.diff(w.heading_rad)))]
        step = np.floor(way / _STEP_M + turn / _STEP_RAD)
        keep = np.unique(np.r_[0, np.flatnonzero(np.diff(step) > 0) + 1, len(way) - 1])
        px, py, h = w.x_m[keep], w.y_m[keep], np.asarray(w.heading_rad)[keep]
        c, s, half = np.cos(h), np.sin(h), w.width_m / 2
        beyond = np.zeros(len(keep))
        beyond[0], beyond[-1] = -half_m, half_m
        px, py = px + beyond * c, py + beyond * s
        x.append(_corners(px, -half * s))
        y.append(_corners(py, half * c))
        middle = (way[keep][1:] + way[keep][:-1]) / 2 + gone.get(w.run, 0.0)
        gone[w.run] = gone.get(w.run, 0.0) + w.length_m
        run.append(np.full(len(middle), w.run))
        t.append((w.t_s[keep][1:] + w.t_s[keep][:-1]) / 2)
        heading.append(_course(w, way, (way[keep][1:] + way[keep][:-1]) / 2))
        at.append(middle)
        left.append(total[w.run] - middle)
    if not x:
        none = np.zeros(0)
        return Quads(np.zeros((4, 0)), np.zeros((4, 0)), none.astype(np.int64), *[none] * 4)
    flat = (np.concatenate(c) for c in (run, t, heading, at, left))
    return Quads(np.concatenate(x, axis=1), np.concatenate(y, axis=1), *flat)


def _course(w: Way, way: Floats, at_m: Floats) -> Floats:
    """Heading over the ground nearby, radians: a quad is too short for its own to be told."""
    back, ahead = np.maximum(at_m - _COURSE_M, 0.0), np.minimum(at_m + _COURSE_M, way[-1])
    dx = np.interp(ahead, way, w.x_m) - np.interp(back, way, w.x_m)
    dy = np.interp(ahead, way, w.y_m) - np.interp(back, way, w.y_m)
    return np.asarray(np.arctan2(dy, dx))


def _corners(middle: Floats, left: Floats) -> Floats:
    """Left and right at one pose, right and left at the next: (4, n - 1)."""
    return np.stack(
        [(middle + left)[:-1], (middle - left)[:-1], (middle - left)[1:], (middle + left)[1:]]
    )


def extras(quads: Quads, net: BaseGeometry, width_m: float) -> Extra:
    """Cells of the net ground that a second or later visit covered, by pairs of quads."""
    none = np.zeros(0, dtype=np.int64)
    if not len(quads.run) or net.is_empty:
        return Extra(none, none, none, 0.0, none, none)
    cell = max(0.5, float(np.sqrt(net.area * 1.3 / _CELLS)))
    main = float(quads.heading_rad[np.argmax(quads.left_m)])
    grid = grid_over(net, main + _ASLANT, cell)
    flat, quad = _cells(grid, quads, net)
    order = np.lexsort((quads.t_s[quad], flat))
    flat, quad = flat[order], quad[order]
    same = np.r_[False, flat[1:] == flat[:-1]]
    before = np.r_[0, quad[:-1]]
    one_run = quads.run[quad] == quads.run[before]
    near = (quads.t_s[quad] - quads.t_s[before] <= _VISIT_S) | (
        quads.at_m[quad] - quads.at_m[before] <= _VISIT_WIDTHS * width_m
    )
    extra = same & ~(one_run & near)
    first = ~same
    pair, count = np.unique(quad[extra] * len(quads.run) + before[extra], return_counts=True)
    n = len(quads.run)
    return Extra(
        pair // n,
        pair % n,
        count,
        grid.cell_m2,
        np.bincount(quad[first], minlength=n),
        np.bincount(quad[extra], minlength=n),
    )


def _cells(grid: Grid, quads: Quads, net: BaseGeometry) -> tuple[Ints, Ints]:
    """Every (cell, quad) of which the quad covers the cell's middle, on net ground."""
    u, v = grid.turned(quads.x_m, quads.y_m)
    which, begin, end = quad_rows(grid, u, v)
    count = end - begin
    flat = np.arange(count.sum()) + np.repeat(begin - np.cumsum(count) + count, count)
    quad = np.repeat(which, count)
    inside = np.zeros(grid.rows * (grid.columns + 1), dtype=np.bool_)
    inside.reshape(grid.rows, grid.columns + 1)[:, :-1] = fill_polygon(grid, net)
    kept = inside[flat]
    return flat[kept], quad[kept]


def causes(
    ways: Sequence[Way],
    net: BaseGeometry,
    fence: BaseGeometry,
    keep_out: BaseGeometry,
    *,
    half_m: float,
    settle_m: float,
    hidden_m2: float = 0.0,
) -> tuple[Mapping[str, float], Quads, Extra, Ints]:
    """Area sown again by cause, m².

    Args:
        ways: where the tool went, settled.
        net: net ground, on the plane.
        fence: the paddock's outer lines.
        keep_out: what is not to be sown.
        half_m: half the distance between front and rear rank.
        settle_m: way within which a restart runs over ground where seed had not yet landed.
        hidden_m2: ground between runs that is believed to be bare though the ways cover it: as
            much was sown again there. Each run has of it by the new ground that it covered.

    Returns:
        Area of each cause, and what it was counted from: quads, pairs and the place in ``CAUSES``
        that most of each pair has.
    """
    quads = quads_of(ways, half_m)
    width = max((w.width_m for w in ways), default=1.0)
    extra = extras(quads, net, width)
    kind = _kinds(quads, extra, fence, keep_out, width, settle_m)
    slivers = _slivers(extra, hidden_m2)
    runs = late_runs(quads, extra, net, hidden_m2)
    late = runs.part()[runs.of]
    last = np.where(kind == CAUSES.index(TURNS), 0.0, late[extra.later])
    area = np.bincount(kind, extra.cells * (1 - last), minlength=len(CAUSES))
    area[CAUSES.index(BETWEEN)] += float((slivers * (1 - late)).sum())
    area[CAUSES.index(FINISHING)] += float((extra.cells * last).sum() + (slivers * late).sum())
    area = np.maximum(area, 0.0)
    kind = np.where(last > 0.5, CAUSES.index(FINISHING), kind)
    areas = dict(zip(CAUSES, (area * extra.cell_m2).tolist(), strict=True))
    return areas, quads, extra, kind


def _kinds(
    q: Quads,
    extra: Extra,
    fence: BaseGeometry,
    keep_out: BaseGeometry,
    width_m: float,
    settle_m: float,
) -> Ints:
    """The cause of each pair, finishing apart, as its place in ``CAUSES``."""
    j, i = extra.later, extra.earlier
    turn = np.degrees(q.heading_rad[j] - q.heading_rad[i])
    angle = np.abs((turn + 90.0) % 180.0 - 90.0)
    x, y = q.middle
    n = -np.sin(q.heading_rad[j]), np.cos(q.heading_rad[j])
    aside = np.abs(n[0] * (x[j] - x[i]) + n[1] * (y[j] - y[i]))
    in_line = (angle < _ACROSS_DEG) & (aside < _IN_LINE_W * width_m)
    near_end = np.minimum(
        np.minimum(q.at_m[j], q.left_m[j]), np.minimum(q.at_m[i], q.left_m[i])
    ) < (settle_m + width_m)
    here = shapely.points(x[j], y[j])
    to_fence = shapely.distance(fence, here)
    to_thing = np.full(len(j), np.inf)
    if not keep_out.is_empty:
        to_thing = shapely.distance(keep_out, here)
    round_thing = (to_thing < 2 * width_m) & (to_thing < to_fence) & (angle > _BESIDE_DEG)
    own = (q.run[j] == q.run[i]) & ~((angle < _ACROSS_DEG) & ~in_line)
    rules: list[tuple[str, Bools]] = [
        (TURNS, own),
        (RESTART, in_line & near_end),
        (OBSTACLES, round_thing),
        (ENDS, angle > _ACROSS_DEG),
        (POINTS, angle > _BESIDE_DEG),
    ]
    choices = [np.full(len(j), CAUSES.index(name)) for name, _ in rules]
    return np.select([mask for _, mask in rules], choices, CAUSES.index(BETWEEN))


@dataclass(frozen=True)
class Late:
    """Of each run: what was left when it began and how much of it went over sown ground, as parts.

    ``m2`` is what it covered, ``of`` the run of each quad by place; arrays of shape (runs,).
    """

    of: Ints
    left: Floats
    over: Floats
    m2: Floats

    def part(self, left: float = 0.0, over: float = 0.0) -> Floats:
        """How far each run is finishing; either share moved by so much."""
        late = 0.5 + (_LEFT[0] - self.left - left) / (2 * _LEFT[1])
        twice = 0.5 + (self.over + over - _AGAIN[0]) / (2 * _AGAIN[1])
        return np.asarray(np.clip(late, 0.0, 1.0) * np.clip(twice, 0.0, 1.0))

    def swing_m2(self, left_off: float, over_off: float) -> float:
        """How far all that is finishing may be off where the two shares are by so much, m².

        What was left is off for all runs alike, what went over sown ground for each by itself.
        """

        def m2(left: float, over: float) -> Floats:
            return self.part(left, over) * (self.over + over) * self.m2

        now = m2(0.0, 0.0)
        later, sooner = (abs(float((m2(d, 0.0) - now).sum())) for d in (left_off, -left_off))
        more, less = (np.abs(m2(0.0, d) - now) for d in (over_off, -over_off))
        each = float(np.square(np.maximum(more, less)).sum())
        return float(np.sqrt(each + max(later, sooner) ** 2))


def late_runs(q: Quads, extra: Extra, net: BaseGeometry, hidden_m2: float = 0.0) -> Late:
    """What finishing is judged by, of each run; ``hidden_m2`` as ``causes`` has it."""
    runs, index = np.unique(q.run, return_inverse=True)
    slivers = _slivers(extra, hidden_m2)
    fresh, twice = extra.new - slivers, extra.again + slivers
    new, again = (np.bincount(index, c, minlength=len(runs)) for c in (fresh, twice))
    begin = np.full(len(runs), np.inf)
    np.minimum.at(begin, index, q.t_s)
    order = np.argsort(begin)
    sown = np.empty(len(runs))
    sown[order] = np.cumsum(new[order]) - new[order]
    left = 1.0 - sown * extra.cell_m2 / max(float(net.area), 1.0)
    m2 = np.asarray((new + again) * extra.cell_m2, dtype=np.float64)
    return Late(index, left, again / np.maximum(new + again, 1), m2)


def _slivers(extra: Extra, hidden_m2: float) -> Floats:
    """What each quad has of the hidden ground, cells: by the new ground that it covered."""
    made_m2 = float(extra.new.sum()) * extra.cell_m2
    return extra.new.astype(np.float64) * (hidden_m2 / max(made_m2, 1.0))
