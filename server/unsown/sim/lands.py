"""Up-and-back runs: the ground inside the headland cut into lands, each run by the last furrow.

Everything here is in the run frame: x along the runs, y across them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Floats
from unsown.sim.steer import bump, followed, waver

GRID_M = 2.0


@dataclass(frozen=True)
class Stretch:
    """A nominal run: row number ``row`` at height ``y``, to be sown from ``a`` to ``b``."""

    row: int
    y: float
    a: float
    b: float

    def shares(self, other: Stretch) -> bool:
        """Whether the two lie side by side for more than a fifth of the shorter."""
        both = min(self.b, other.b) - max(self.a, other.a)
        return both > 0.2 * min(self.b - self.a, other.b - other.a)


@dataclass(frozen=True)
class Row:
    """One run from ``x0`` to ``x1`` along ``y`` (n,) at ``x`` (n,).

    ``furrow`` is what the next run follows: the line without swerves. ``misses`` names what
    went wrong on it, with place and size.
    """

    place: Stretch
    x: Floats
    y: Floats
    furrow: Floats
    misses: tuple[tuple[str, float, float], ...] = ()
    up: bool = False


@dataclass
class Habits:
    """What the driver does across the runs: spacing, spread, and misses by row in the land.

    ``swerve_m`` is the radius of a swerve round an obstacle.
    """

    spacing_m: float
    spread_m: float
    length_m: float
    swerve_m: float = 15.0
    wander_rows: dict[int, list[tuple[float, float, float]]] = field(default_factory=dict)
    jump_rows: dict[int, float] = field(default_factory=dict)
    up_rows: set[int] = field(default_factory=set)


def rows_of(ground: BaseGeometry, width_m: float, spacing_m: float) -> list[list[Stretch]]:
    """Nominal rows, bottom to top, each with its stretches to be sown."""
    _, y0, _, y1 = ground.bounds
    y, row = y0 + spacing_m - width_m / 2, 0
    out: list[list[Stretch]] = []
    while y - width_m / 2 < y1 - 0.3:
        out.append([Stretch(row, y, a, b) for a, b in spans(ground, y, width_m)])
        y += spacing_m
        row += 1
    return out


def spans(ground: BaseGeometry, y: float, width_m: float) -> list[tuple[float, float]]:
    """Where a swath at height ``y`` meets the ground: (from, to), gaps under 3 widths closed."""
    x0, _, x1, _ = ground.bounds
    strip = box(x0 - 1, y - width_m / 2, x1 + 1, y + width_m / 2).intersection(ground)
    found = sorted(
        (g.bounds[0], g.bounds[2])
        for g in getattr(strip, "geoms", [strip])
        if isinstance(g, Polygon) and g.area > 8
    )
    out: list[tuple[float, float]] = []
    for a, b in found:
        if out and a - out[-1][1] < 3 * width_m:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return [(a, b) for a, b in out if b - a > 12.0]


def lands_of(rows: list[list[Stretch]]) -> list[list[Stretch]]:
    """Rows joined into lands: a land goes on while one stretch lies above just one other."""
    done: list[list[Stretch]] = []
    live: list[list[Stretch]] = []
    for row in rows:
        hits = [[i for i, s in enumerate(row) if land[-1].shares(s)] for land in live]
        taken: set[int] = set()
        still = []
        for land, mine in zip(live, hits, strict=True):
            if len(mine) == 1 and sum(mine[0] in other for other in hits) == 1:
                land.append(row[mine[0]])
                taken.add(mine[0])
                still.append(land)
            else:
                done.append(land)
        live = still + [[s] for i, s in enumerate(row) if i not in taken]
    return done + live


class Sower:
    """Draws the rows of land after land as really driven, each by the furrow below it."""

    def __init__(
        self,
        ground: BaseGeometry,
        width_m: float,
        obstacles: list[BaseGeometry],
        lands: list[list[Stretch]],
        rng: np.random.Generator,
    ) -> None:
        self.ground, self.width, self.obstacles, self.rng = ground, width_m, obstacles, rng
        x0, _, x1, _ = ground.bounds
        self.x = np.arange(x0 - 60, x1 + 60, GRID_M)
        self.driven: list[Row] = []
        self.waiting = [s for land in lands for s in land]

    def rows(self, land: list[Stretch], habits: Habits) -> list[list[Row]]:
        """The rows of one land; one more is added while ground above the last is unsown.

        A row is in two parts where the line really driven meets a keep-out's headland.
        """
        out: list[list[Row]] = []
        self.waiting = [s for s in self.waiting if s not in land]
        furrow = self._below(land[0])
        for k in range(len(land) + 3):
            near = land[min(k, len(land) - 1)]
            if k >= len(land) and self._closed(out, near):
                break
            if furrow is None:
                line = np.full(len(self.x), near.y)
            else:
                line = followed(furrow, GRID_M) + habits.spacing_m
            if k:
                line = line + habits.jump_rows.get(k, 0.0)
            line = line + waver(self.rng, len(self.x), GRID_M, habits.spread_m, habits.length_m)
            parts = self._row(k, near, line, habits)
            if not parts:
                break
            furrow = parts[0].furrow
            out.append(parts)
        self.driven += [part for parts in out for part in parts]
        return out

    def _row(self, k: int, near: Stretch, line: Floats, habits: Habits) -> list[Row]:
        here = (self.x > near.a) & (self.x < near.b)
        middle = float(np.median(line[here]))
        reach = 3 * self.width
        met = [
            Stretch(near.row, middle, max(a, near.a - reach), min(b, near.b + reach))
            for a, b in spans(self.ground, middle, self.width)
            if b > near.a - reach and a < near.b + reach
        ]
        met = [s for s in met if s.b - s.a > 12.0 and s.shares(near)]
        if not met:
            return []
        misses: list[tuple[str, float, float]] = []
        if k and k in habits.jump_rows:
            misses.append(("lost furrow", (met[0].a + met[0].b) / 2, habits.jump_rows[k]))
        local = np.zeros(len(self.x))
        for share, length, size in habits.wander_rows.get(k, []):
            at = met[0].a + share * (met[0].b - met[0].a)
            local += size * bump(self.x, at, length)
            misses.append(("wander", at, size))
        way, pockets = self._round(line + local, habits.swerve_m)
        misses += [("pocket", at, 0.0) for at in pockets]
        furrow = line + 0.5 * local
        up = k in habits.up_rows
        return [Row(place, self.x, way, furrow, tuple(misses), up) for place in met]

    def blocked(self, first: Stretch) -> bool:
        """Whether ground right below a land's first row still waits to be sown."""
        return any(s.row == first.row - 1 and s.shares(first) for s in self.waiting)

    def _below(self, first: Stretch) -> Floats | None:
        """The furrow of the row below, where another land has been driven there."""
        below = [
            row for row in self.driven if row.place.row == first.row - 1 and row.place.shares(first)
        ]
        if not below:
            return None
        furrow = np.full(len(self.x), np.nan)
        for row in below:
            here = (self.x > row.place.a) & (self.x < row.place.b)
            furrow[here] = row.furrow[here]
        known = np.isfinite(furrow)
        return np.asarray(np.interp(self.x, self.x[known], furrow[known]), dtype=np.float64)

    def _closed(self, rows: list[list[Row]], last: Stretch) -> bool:
        """Whether the land's last row reaches what lies above it, but for a few decimetres.

        Where another land goes on above, that one follows this one's last furrow.
        """
        goes_on = any(s.row == last.row + 1 and s.shares(last) for s in self.waiting)
        if not rows or goes_on:
            return True
        row = rows[-1][0]
        here = (self.x > last.a) & (self.x < last.b)
        top = np.full(int(here.sum()), last.y + self.width / 2)
        for other in self.driven:
            if other.place.row == last.row + 1 and other.place.shares(last):
                top = other.furrow[here] - self.width / 2
        gap = top - (row.furrow[here] + self.width / 2)
        return bool(np.quantile(gap, 0.8) < 0.4)

    def _round(self, line: Floats, swerve_m: float) -> tuple[Floats, list[float]]:
        """Swerves past what stands in the way, to the side that needs the smaller swerve."""
        met = []
        for thing in self.obstacles:
            x0, y0, x1, y1 = thing.bounds
            middle = (x0 + x1) / 2
            here = float(np.interp(middle, self.x, line))
            room = self.width / 2 + 0.6
            up, down = y1 + room - here, here - (y0 - room)
            if up <= 0 or down <= 0:
                continue
            size = up if up < down else -down
            flat = x1 - x0 + 4.0
            side = np.pi * np.sqrt(0.5 * abs(size) * swerve_m) + 6.0
            line = line + size * bump(self.x, middle, flat + 2 * side, flat)
            met.append(middle)
        return line, met


def frame(angle: float) -> Floats:
    """Rotation (2, 2) from the plane into the run frame whose x axis lies at ``angle``."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, s], [-s, c]])


def turned(shape: BaseGeometry, rotation: Floats) -> BaseGeometry:
    """A shape brought into (or, with the transpose, out of) the run frame."""
    return shapely.transform(shape, lambda p: p @ rotation.T)
