"""Grid sweeping: cells against polygons."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from shapely.geometry import Point, box

from unsown.core.raster import cover_quads, fill_polygon, flat_cells, grid_over, polygon_cells

FIELD = box(0, 0, 200, 120)


@pytest.mark.parametrize("heading", [0.0, 0.3, 2.0])
def test_a_filled_polygon_has_the_polygons_area(heading: float) -> None:
    shape = Point(90, 60).buffer(50).difference(box(80, 50, 100, 70))
    grid = grid_over(FIELD, heading)
    assert_allclose(fill_polygon(grid, shape).sum() * grid.cell_m2, shape.area, rtol=2e-3)


def quads(seed: int, count: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    middle = rng.uniform((20, 20), (180, 100), (count, 2))
    turn = rng.uniform(0, np.pi, count)
    along, half = rng.uniform(2, 12, count), rng.uniform(1, 6, count)
    corners = np.array([(-1, 1), (-1, -1), (1, -1), (1, 1)])
    u = corners[:, :1] * along
    v = corners[:, 1:] * half
    x = middle[:, 0] + u * np.cos(turn) - v * np.sin(turn)
    y = middle[:, 1] + u * np.sin(turn) + v * np.cos(turn)
    return np.stack([x, y])


@pytest.mark.parametrize("seed", range(5))
def test_covered_quads_are_the_cells_whose_centres_their_union_holds(seed: int) -> None:
    x, y = quads(seed, 60)
    grid = grid_over(FIELD, 0.7)
    covered = cover_quads(grid, *grid.turned(x, y))
    union = shapely.union_all(shapely.polygons(np.stack([x, y], axis=-1).transpose(1, 0, 2)))
    cells = np.zeros((grid.rows, grid.columns), dtype=bool)
    every = flat_cells(np.ones_like(cells))
    swept = covered.holds(every).sum() * grid.cell_m2
    assert_allclose(swept, union.area, rtol=0.01)
    assert swept == (covered.end - covered.first).sum() * grid.cell_m2


def test_touching_quads_share_no_cell_and_leave_none_out() -> None:
    grid = grid_over(FIELD, 0.0)
    x = np.array([[10, 30], [10, 30], [30, 50], [30, 50]], dtype=float)
    y = np.array([[10, 10], [20, 20], [20, 20], [10, 10]], dtype=float)
    covered = cover_quads(grid, *grid.turned(x, y))
    assert (covered.end - covered.first).sum() * grid.cell_m2 == 400.0


def test_nothing_covers_nothing() -> None:
    grid = grid_over(FIELD, 0.0)
    none = np.zeros((4, 0))
    covered = cover_quads(grid, none, none)
    assert not covered.holds(np.arange(10)).any()


@pytest.mark.parametrize("heading", [0.0, 0.4, 2.0])
def test_a_shapes_cells_are_those_that_filling_it_marks(heading: float) -> None:
    holed = Point(20, 30).buffer(9).difference(Point(22, 31).buffer(3)).union(box(40, 2, 41.3, 50))
    grid = grid_over(box(0, 0, 60, 70), heading)
    cells = polygon_cells(grid, holed)
    assert len(cells) * grid.cell_m2 == pytest.approx(holed.area, rel=0.05)
    assert cells.tolist() == flat_cells(fill_polygon(grid, holed)).tolist()
    assert len(polygon_cells(grid, box(5, 5, 5.1, 5.1))) == 0
