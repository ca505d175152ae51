"""A grid of cells for sweeping many draws quickly: which cell centres lie in which strips.

The grid lies along the day's main direction of travel, so that a quadrilateral of a straight
run crosses few rows. A quadrilateral marks the cells whose centres it holds, row by row from
its leftmost to its rightmost crossing; polygons are filled by the even-odd rule. Touching
shapes share no cell and leave none out, because intervals are half open.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Bools, Floats, Ints


@dataclass(frozen=True)
class Grid:
    """Rows and columns of square cells on a turned plane.

    ``x0_m, y0_m`` is the turned corner, ``cos, sin`` of the turn, ``cell_m`` the cell's side.
    """

    x0_m: float
    y0_m: float
    cos: float
    sin: float
    cell_m: float
    rows: int
    columns: int

    @property
    def cell_m2(self) -> float:
        """Area of a cell."""
        return self.cell_m**2

    def turned(self, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
        """Coordinates in cells, column and row, of points on the plane."""
        u = (self.cos * x_m + self.sin * y_m - self.x0_m) / self.cell_m
        v = (self.cos * y_m - self.sin * x_m - self.y0_m) / self.cell_m
        return u, v

    def shift(self, dx_m: Floats, dy_m: Floats) -> tuple[Floats, Floats]:
        """A displacement in cells."""
        return (
            (self.cos * dx_m + self.sin * dy_m) / self.cell_m,
            (self.cos * dy_m - self.sin * dx_m) / self.cell_m,
        )


def grid_over(shape: BaseGeometry, heading_rad: float, cell_m: float = 0.5) -> Grid:
    """A grid that holds a shape, its rows along a heading."""
    points = shapely.get_coordinates(shape)
    c, s = float(np.cos(heading_rad)), float(np.sin(heading_rad))
    u = c * points[:, 0] + s * points[:, 1]
    v = c * points[:, 1] - s * points[:, 0]
    columns = int(np.ceil((u.max() - u.min()) / cell_m)) + 2
    rows = int(np.ceil((v.max() - v.min()) / cell_m)) + 2
    return Grid(float(u.min()) - cell_m, float(v.min()) - cell_m, c, s, cell_m, rows, columns)


def fill_polygon(grid: Grid, shape: BaseGeometry) -> Bools:
    """Cells whose centres lie in a polygon or multipolygon, (rows, columns)."""
    toggles = np.zeros((grid.rows, grid.columns + 1), dtype=np.int8)
    rings = shapely.get_rings(shapely.get_parts(shape))
    for ring in rings:
        points = shapely.get_coordinates(ring)
        u, v = grid.turned(points[:, 0], points[:, 1])
        row, column = _crossings(grid, u[:-1], v[:-1], u[1:], v[1:])
        np.bitwise_xor.at(toggles, (row, column), 1)
    inside = np.bitwise_xor.accumulate(toggles, axis=1)[:, :-1]
    return np.asarray(inside, dtype=np.bool_)


def _crossings(grid: Grid, ua: Floats, va: Floats, ub: Floats, vb: Floats) -> tuple[Ints, Ints]:
    """Rows and first columns right of the crossing, for edges given in cells."""
    low, high = np.minimum(va, vb), np.maximum(va, vb)
    first = np.maximum(np.ceil(low - 0.5), 0).astype(np.int64)
    last = np.minimum(np.ceil(high - 0.5) - 1, grid.rows - 1).astype(np.int64)
    count = np.maximum(last - first + 1, 0)
    edge = np.repeat(np.arange(len(ua)), count)
    row = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
    part = (row + 0.5 - va[edge]) / (vb - va)[edge]
    u = ua[edge] + part * (ub - ua)[edge]
    column = np.clip(np.ceil(u - 0.5), 0, grid.columns).astype(np.int64)
    return row, column


@dataclass(frozen=True)
class Covered:
    """Cells covered, as runs of flat indices: from ``first`` up to and without ``end``.

    Sorted, without overlap; a row is ``columns`` + 1 cells long, its last cell always free.
    """

    first: Ints
    end: Ints

    def holds(self, flat: Ints) -> Bools:
        """Which of the flat indices are covered."""
        if len(self.first) == 0:
            return np.zeros(len(flat), dtype=np.bool_)
        at = np.searchsorted(self.first, flat, side="right") - 1
        return np.asarray((at >= 0) & (flat < self.end[np.maximum(at, 0)]))


def flat_cells(inside: Bools) -> Ints:
    """Flat indices, in the sense of ``Covered``, of the cells of a mask (rows, columns)."""
    row, column = np.nonzero(inside)
    return np.asarray(row * (inside.shape[1] + 1) + column, dtype=np.int64)


def polygon_cells(grid: Grid, shape: BaseGeometry) -> Ints:
    """Flat indices of the cells that ``fill_polygon`` marks, at the cost of the shape alone."""
    row, column = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for ring in shapely.get_rings(shapely.get_parts(shape)):
        points = shapely.get_coordinates(ring)
        u, v = grid.turned(points[:, 0], points[:, 1])
        crossings = _crossings(grid, u[:-1], v[:-1], u[1:], v[1:])
        row.append(crossings[0])
        column.append(crossings[1])
    flat = np.sort(np.concatenate(row) * (grid.columns + 1) + np.concatenate(column))
    begin, count = flat[::2], flat[1::2] - flat[::2]  # a row is crossed inwards, then outwards
    return np.asarray(np.arange(count.sum()) + np.repeat(begin - np.cumsum(count) + count, count))


def cover_quads(grid: Grid, u: Floats, v: Floats) -> Covered:
    """Cells whose centres lie in any of the quadrilaterals; u, v (4, n) corners in cells.

    Each quadrilateral gives one interval a row; intervals are sorted and merged, so the cost
    is that of the strips and not of the grid.
    """
    _, a, b = quad_rows(grid, u, v)
    order = np.argsort(a)
    a, b = a[order], np.maximum.accumulate(b[order]) if len(b) else b
    new = np.r_[True, a[1:] > b[:-1]] if len(a) else np.zeros(0, dtype=np.bool_)
    starts = np.flatnonzero(new)
    ends = np.r_[starts[1:], len(a)] - 1 if len(a) else starts
    return Covered(a[starts], b[ends])


def quad_rows(grid: Grid, u: Floats, v: Floats) -> tuple[Ints, Ints, Ints]:
    """Each quadrilateral's cells row by row: which one, first flat index, end flat index."""
    low, high = v.min(axis=0), v.max(axis=0)
    first = np.maximum(np.ceil(low - 0.5), 0).astype(np.int32)
    last = np.minimum(np.ceil(high - 0.5) - 1, grid.rows - 1).astype(np.int32)
    count = np.maximum(last - first + 1, 0)
    quad = np.repeat(np.arange(u.shape[1], dtype=np.int32), count)
    begin = np.repeat((np.cumsum(count) - count).astype(np.int32), count)
    row = first[quad] + np.arange(len(quad), dtype=np.int32) - begin
    y = row.astype(np.float32) + np.float32(0.5)
    left = np.full(len(quad), np.inf, dtype=np.float32)
    right = np.full(len(quad), -np.inf, dtype=np.float32)
    corners_u, corners_v = u.astype(np.float32), v.astype(np.float32)
    for k in range(4):
        j = (k + 1) % 4
        rise = corners_v[j] - corners_v[k]
        slope = (corners_u[j] - corners_u[k]) / np.where(rise == 0, 1, rise)
        va = corners_v[k][quad]
        part = y - va
        cuts = (part >= 0) != (y >= corners_v[j][quad])
        at = corners_u[k][quad] + part * slope[quad]
        np.minimum(left, at, out=left, where=cuts)
        np.maximum(right, at, out=right, where=cuts)
    fine = right > left
    width = grid.columns + 1
    base = row[fine].astype(np.int64) * width
    a = base + np.clip(np.ceil(left[fine] - 0.5), 0, grid.columns).astype(np.int64)
    b = base + np.clip(np.ceil(right[fine] - 0.5), 0, grid.columns).astype(np.int64)
    return np.asarray(quad[fine], dtype=np.int64), a, b
