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
class Row:
    """One run from ``x0`` to ``x1`` along ``y`` (n,) at ``x`` (n,).

    ``misses`` names what went wrong on it, with place and size.
    """

    x0: float
    x1: float
    x: Floats
    y: Floats
    land: int
    misses: tuple[tuple[str, float, float], ...] = ()
    up: bool = False


@dataclass
class Habits:
    """What the driver does across the runs: spacing, spread, and misses by row number."""

    spacing_m: float
    spread_m: float
    length_m: float
    wander_rows: dict[int, list[tuple[float, float, float]]] = field(default_factory=dict)
    jump_rows: dict[int, float] = field(default_factory=dict)
    up_rows: set[int] = field(default_factory=set)


def rows_of(ground: BaseGeometry, width_m: float, spacing_m: float) -> list[list[tuple]]:
    """Nominal rows, bottom to top: for each the (x0, x1) stretches to be sown and its y."""
    x0, y0, x1, y1 = ground.bounds
    y = y0 + spacing_m - width_m / 2
    out: list[list[tuple]] = []
    while y - width_m / 2 < y1 - 0.3:
        strip = box(x0 - 1, y - width_m / 2, x1 + 1, y + width_m / 2).intersection(ground)
        out.append([(a, b, y) for a, b in _stretches(strip, 3 * width_m)])
        y += spacing_m
    return out


def _stretches(strip: BaseGeometry, near_m: float) -> list[tuple[float, float]]:
    spans = sorted(
        (g.bounds[0], g.bounds[2])
        for g in getattr(strip, "geoms", [strip])
        if isinstance(g, Polygon) and g.area > 8
    )
    out: list[tuple[float, float]] = []
    for a, b in spans:
        if out and a - out[-1][1] < near_m:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return [(a, b) for a, b in out if b - a > 12.0]


def lands_of(rows: list[list[tuple]]) -> list[list[tuple[float, float, float]]]:
    """Rows joined into lands: a land goes on while one stretch lies above just one other."""
    done: list[list[tuple[float, float, float]]] = []
    live: list[list[tuple[float, float, float]]] = []
    for row in rows:
        over = [[_shared(land[-1], s) for s in row] for land in live]
        hits = [[i for i, v in enumerate(o) if v] for o in over]
        taken: set[int] = set()
        still = []
        for land, mine in zip(live, hits, strict=True):
            alone = len(mine) == 1 and sum(mine[0] in other for other in hits) == 1
            if alone:
                land.append(row[mine[0]])
                taken.add(mine[0])
                still.append(land)
            else:
                done.append(land)
        live = still + [[s] for i, s in enumerate(row) if i not in taken]
    return done + live


def _shared(a: tuple, b: tuple) -> bool:
    return min(a[1], b[1]) - max(a[0], b[0]) > 0.2 * min(a[1] - a[0], b[1] - b[0])


def drawn(
    land: list[tuple[float, float, float]],
    ground: BaseGeometry,
    width_m: float,
    habits: Habits,
    obstacles: list[BaseGeometry],
    rng: np.random.Generator,
    number: int,
    lead_m: float = 60.0,
) -> list[Row]:
    """The rows of one land as really driven.

    A row beyond the planned ones is added while ground above the last is still unsown.
    """
    gx0, _, gx1, _ = ground.bounds
    x = np.arange(gx0 - lead_m, gx1 + lead_m, GRID_M)
    err = np.zeros(len(x))
    base = land[0][2]
    shift = 0.0
    out: list[Row] = []
    top = land[-1][2] + width_m / 2
    planned = list(land)
    k = 0
    while k < len(planned) + 3:
        y_nominal = base + k * habits.spacing_m + shift
        if k in habits.jump_rows and k:
            shift += habits.jump_rows[k]
            y_nominal += habits.jump_rows[k]
        err = followed(err, GRID_M) if k else err
        err = err + waver(rng, len(x), GRID_M, habits.spread_m, habits.length_m)
        mid = y_nominal + float(np.median(err))
        if mid - width_m / 2 > top + 0.15:
            break
        band = box(gx0 - 1, mid - width_m / 2, gx1 + 1, mid + width_m / 2).intersection(ground)
        near = planned[min(k, len(planned) - 1)]
        spans = [s for s in _stretches(band, 3 * width_m) if _shared(s, near)]
        k += 1
        if not spans:
            continue
        a, b = max(spans, key=lambda s: s[1] - s[0])
        misses: list[tuple[str, float, float]] = []
        local = np.zeros(len(x))
        for share, length, size in habits.wander_rows.get(k - 1, []):
            at = a + share * (b - a)
            local += size * bump(x, at, length)
            misses.append(("wander", at, size))
        line = y_nominal + err + local
        line, pockets = _round(x, line, obstacles, width_m)
        misses += [("pocket", p, 0.0) for p in pockets]
        if (k - 1) in habits.jump_rows and k > 1:
            misses.append(("lost furrow", (a + b) / 2, habits.jump_rows[k - 1]))
        out.append(Row(a, b, x, line, number, tuple(misses), (k - 1) in habits.up_rows))
        err = err + 0.5 * local
    return out


def _round(
    x: Floats, line: Floats, obstacles: list[BaseGeometry], width_m: float
) -> tuple[Floats, list[float]]:
    """Swerves past what stands in the way, to the side that needs the smaller swerve."""
    met = []
    for thing in obstacles:
        x0, y0, x1, y1 = thing.bounds
        middle = (x0 + x1) / 2
        here = float(np.interp(middle, x, line))
        room = width_m / 2 + 0.6
        up, down = y1 + room - here, here - (y0 - room)
        if up <= 0 or down <= 0:
            continue
        size = up if up < down else -down
        flat = x1 - x0 + 12
        line = line + size * bump(x, middle, flat + 2 * (24 + 1.5 * abs(size)), flat)
        met.append(middle)
    return line, met


def frame(angle: float) -> Floats:
    """Rotation (2, 2) from the plane into the run frame whose x axis lies at ``angle``."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, s], [-s, c]])


def turned(shape: BaseGeometry, rotation: Floats) -> BaseGeometry:
    """A shape brought into (or, with the transpose, out of) the run frame."""
    return shapely.transform(shape, lambda p: p @ rotation.T)
