"""The simulator's true ground: does it add up, and is it what a finger on a map would count?"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from unsown.core.words import Floats
from unsown.sim import SimDay, day
from unsown.sim.drive import between
from unsown.sim.levers import seed_times
from unsown.sim.rigs import DEMO, RIGS


@cache
def small(seed: int = 5, rig: str = "demo") -> SimDay:
    return day(seed, size="small", rig=rig, area_ha=4.0, halts=1)


def counted(made: SimDay, cell_m: float) -> tuple[float, float]:
    """Sown and any-rank ground in m², by stamping both ranks on a grid every 5 cm of travel."""
    x0, y0, x1, y1 = made.truth.net.bounds
    nx, ny = int((x1 - x0) / cell_m) + 1, int((y1 - y0) / cell_m) + 1
    sown, either = np.zeros(nx * ny, bool), np.zeros(nx * ny, bool)
    tool, poses = made.rig.tool, made.drive.poses
    across = np.arange(-tool.width_m / 2 + 0.02, tool.width_m / 2, 0.05) + tool.offset_left_m
    for sowing in made.truth.sowings:
        a, b = made.drive.time.index_at(np.array([sowing.on_s, sowing.off_s]))
        at = np.arange(a, b, 0.05 / 0.4)
        seen = []
        for rank in (tool.front_rank_m, tool.rear_rank_m):
            hit = np.zeros(nx * ny, bool)
            for part in np.array_split(at, max(1, len(at) // 2000)):
                hit[_cells(poses, part, rank, across, (x0, y0, cell_m, nx))] = True
            seen.append(hit)
        sown |= seen[0] & seen[1]
        either |= seen[0] | seen[1]
    gx, gy = np.meshgrid(x0 + (np.arange(nx) + 0.5) * cell_m, y0 + (np.arange(ny) + 0.5) * cell_m)
    inside = shapely.contains_xy(made.truth.net, gx.ravel(), gy.ravel())
    return (sown & inside).sum() * cell_m**2, (either & inside).sum() * cell_m**2


def _cells(poses: object, at: Floats, rank: float, across: Floats, grid: tuple) -> Floats:
    theta = between(poses.theta, at)[:, None]
    x = between(poses.tool_x, at)[:, None] + rank * np.cos(theta) - across * np.sin(theta)
    y = between(poses.tool_y, at)[:, None] + rank * np.sin(theta) + across * np.cos(theta)
    x0, y0, cell_m, nx = grid
    i, j = ((x - x0) / cell_m).astype(int), ((y - y0) / cell_m).astype(int)
    ok = (i >= 0) & (i < nx) & (j >= 0)
    cells = (j * nx + i)[ok]
    return cells[cells < nx * (int(j.max()) + 1)]


def test_a_grid_stamped_along_the_drive_counts_the_same_ground() -> None:
    made = small()
    sown, either = counted(made, 0.25)
    # A cell counts as soon as it is touched: an edge of length P adds about P·cell/2.
    edge = made.truth.bare.length * 0.25 / 2
    assert sown == pytest.approx(made.truth.sown_m2, abs=0.7 * edge)
    assert either - sown == pytest.approx(made.truth.part_m2, rel=0.1)


@pytest.mark.parametrize("rig", sorted(RIGS))
def test_sown_part_and_bare_make_up_the_net_ground(rig: str) -> None:
    truth = small(rig=rig).truth
    assert truth.sown_m2 + truth.part_m2 + truth.bare_m2 == pytest.approx(truth.net_m2, abs=1e-6)
    assert truth.part.area == pytest.approx(truth.part_m2, abs=3.0)
    # Edges stand on a grid of a millimetre: some ten kilometres of them leave a metre or two.
    assert truth.sown.intersection(truth.bare).area < 2.5
    assert truth.twice.difference(truth.net.buffer(0.01)).area < 0.5


def test_ground_swept_is_ground_sown_and_what_was_sown_again() -> None:
    truth = small().truth
    assert truth.sown_m2 < truth.swept_m2
    covered = truth.sown_m2 + truth.part_m2 + truth.outside_m2
    assert truth.swept_m2 == pytest.approx(covered + truth.twice_m2, rel=0.02)


def test_patches_are_bare_open_to_one_point_two_metres_and_at_least_six_square_metres() -> None:
    truth = small().truth
    assert truth.misses
    for miss in truth.misses:
        assert miss.area_m2 >= 6.0
        assert miss.width_m > 1.15
        assert miss.outline.difference(truth.bare.buffer(0.01)).area < 0.01
        assert miss.why
    listed = sum(m.area_m2 for m in truth.misses)
    assert 0.5 * truth.bare_m2 < listed <= truth.bare_m2


def test_a_missed_run_is_one_width_of_bare_ground() -> None:
    made = day(8, size="small", rig="demo", missed_runs=1, wanders=0, gross=0, keep_outs=0)
    missed = [m for m in made.truth.misses if m.why == "missed run"]
    assert len(missed) == 1
    assert missed[0].width_m == pytest.approx(8.4 - 0.3, abs=1.2)


def test_a_run_driven_with_the_tool_up_leaves_its_strip_bare() -> None:
    made = day(9, size="small", rig="demo", up_runs=1, wanders=0, gross=0, keep_outs=0)
    assert [m.why for m in made.truth.misses].count("tool up") == 1


def test_wider_delays_with_the_same_driving_leave_no_more_bare() -> None:
    """The driver allows for the rig's delays: they move the taps, not the seed."""
    made = small()
    for sowing in made.truth.sowings:
        on, off = seed_times(sowing.down_s, sowing.up_s, None, DEMO.times)
        assert sowing.on_s <= on + 1e-9
        assert sowing.off_s == pytest.approx(off)
        assert off == pytest.approx(sowing.up_s + 0.6)


def test_hoses_still_charged_fill_in_proportion() -> None:
    on = [seed_times(100.0, 200.0, before, DEMO.times)[0] for before in (None, 50.0, 98.6)]
    assert on[0] == pytest.approx(105.9)
    assert on[1] == pytest.approx(105.9)
    assert on[2] == pytest.approx(100.9 + 5.0 * 2.3 / 4.6)
