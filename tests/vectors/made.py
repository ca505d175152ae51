"""Writes the cases of most stages: ``python tests/vectors/made.py``.

Expected values come from formulas, from a step-by-step roll of one link, or from counting cell
centres one by one; never from the engine that they test.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import atan, atan2, cos, exp, floor, hypot, pi, sin, sqrt, tan
from pathlib import Path
from typing import Any

from shapely.geometry import Point, Polygon

FOLDER = Path(__file__).parent
Points = list[tuple[float, float]]
#: A drawbar in these cases, m.
LINK_M = 6.0


def case(name: str, why: str, given: Any, expect: Any, tolerance: Any) -> None:
    body = {"why": why, "given": given, "expect": expect, "tolerance": tolerance}
    path = FOLDER / f"{name}.json"
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(body, ensure_ascii=False) + "\n", encoding="utf-8")


def straight(start: tuple[float, float], way_rad: float, length_m: float, step_m: float) -> Points:
    """Points from a start along a direction, the start itself left out."""
    count = round(length_m / step_m)
    return [
        (start[0] + step_m * k * cos(way_rad), start[1] + step_m * k * sin(way_rad))
        for k in range(1, count + 1)
    ]


def rolled(
    points: Points, link_m: float, backing: Sequence[bool], fresh: Sequence[bool], reset: bool
) -> list[float]:
    """The link's heading by the tractrix of one straight step after another."""
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, points[1:], strict=False)]
    ways = [
        atan2(dy, dx) + (pi if back else 0.0) for (dx, dy), back in zip(steps, backing, strict=True)
    ]
    first = zip(ways, steps, fresh, strict=True)
    theta = next(w for w, s, lost in first if hypot(*s) > 0 and not lost)
    out, pushed = [theta], 0.0
    for k, (way, step) in enumerate(zip(ways, steps, strict=True)):
        size = hypot(*step)
        pushed = pushed + size if backing[k] else 0.0
        swing = (theta - way + pi) % (2 * pi) - pi
        if fresh[k]:
            later = (j for j in range(k, len(steps)) if hypot(*steps[j]) > 0 and not fresh[j])
            swing = (theta - ways[next(later)] + pi) % (2 * pi) - pi
            theta -= swing
        elif backing[k] and reset:
            theta -= swing
        elif size > 0 and (not backing[k] or pushed <= link_m / 2):
            sign = 1.0 if backing[k] else -1.0
            theta += 2 * atan(tan(swing / 2) * exp(sign * size / link_m)) - swing
        out.append(theta)
    return out


def tow(name: str, why: str, points: Points, **how: Any) -> None:
    count = len(points) - 1
    backing, fresh = how.get("backing", [False] * count), how.get("fresh", [False] * count)
    reset = how.get("reset", False)
    given = {
        "length_m": LINK_M,
        "x_m": [round(x, 6) for x, _ in points],
        "y_m": [round(y, 6) for _, y in points],
        "backing": backing,
        "fresh": fresh,
        "reset": reset,
    }
    there = list(zip(given["x_m"], given["y_m"], strict=True))
    heading = rolled(there, LINK_M, backing, fresh, reset)
    case(f"tow/{name}", why, given, {"heading_rad": heading}, {"radians": 1e-6})


def tows() -> None:
    corner = [(0.0, 0.0), (0.0, 0.5), *straight((0.0, 0.5), 0.0, 40.0, 0.5)]
    tow("round_a_corner", "Round a right corner: each step by the tractrix formula.", corner)
    forth = [(0.0, 0.0), (0.0, 0.5), *straight((0.0, 0.5), 0.0, 12.0, 0.5)]
    back = [*forth, *reversed(forth[-5:-1])]
    tow(
        "back_the_way_it_came",
        "Pushed back 2 m over its own way, less than half a link: the swing grows as it shrank.",
        back,
        backing=[False] * (len(forth) - 1) + [True] * 4,
    )
    far = [*forth, *reversed(forth[-11:-1])]
    tow(
        "pushed_too_far",
        "Pushed back 5 m: after half a link the heading is held.",
        far,
        backing=[False] * (len(forth) - 1) + [True] * 10,
    )
    tow(
        "a_short_link_backing",
        "A short link takes the direction of travel while backing instead of being pushed.",
        far,
        backing=[False] * (len(forth) - 1) + [True] * 10,
        reset=True,
    )
    lost = [*forth, (40.0, 30.0), *straight((40.0, 30.0), 2.0, 10.0, 0.5)]
    tow(
        "after_a_blind_step",
        "Over a step nothing is known of, the link starts anew straight behind the next one.",
        lost,
        fresh=[False] * (len(forth) - 1) + [True] + [False] * 20,
    )
    noise = [(0.0, 0.0), (0.02, -0.01), (0.0, -0.03), *straight((0.0, -0.03), 2.0, 10.0, 0.5)]
    tow(
        "from_where_it_stood",
        "Nothing is known of the first steps: the link starts straight behind the first that is.",
        noise,
        fresh=[True] * 2 + [False] * 20,
    )
    halt = [*forth, *[forth[-1]] * 3, *straight(forth[-1], 0.4, 6.0, 0.5)]
    tow("a_halt", "Points that do not move leave the link as it stands.", halt)


def run(points: Points, headings: Sequence[float], speed_m_s: float = 2.0) -> dict[str, Any]:
    """Poses of a bar along points, driven at a speed (or, on the spot, half a second each)."""
    t, way = [0.0], [0.0]
    for a, b in zip(points, points[1:], strict=False):
        size = hypot(b[0] - a[0], b[1] - a[1])
        t.append(t[-1] + (size / speed_m_s if size > 0 else 0.5))
        way.append(way[-1] + (size if size > 0 else 1e-3))
    return {
        "t_s": t,
        "x_m": [round(x, 6) for x, _ in points],
        "y_m": [round(y, 6) for _, y in points],
        "heading_rad": list(headings),
        "path_m": way,
    }


def lane(y_m: float, west: float = 0.0, east: float = 100.0, back: bool = False) -> dict[str, Any]:
    """A straight run of five metre steps."""
    start, way = ((east, y_m), pi) if back else ((west, y_m), 0.0)
    points = [start, *straight(start, way, east - west, 5.0)]
    return run(points, [way] * len(points))


def later(made: dict[str, Any], by_s: float) -> dict[str, Any]:
    return {**made, "t_s": [t + by_s for t in made["t_s"]]}


def box(west: float, south: float, east: float, north: float) -> Points:
    return [(west, south), (east, south), (east, north), (west, north)]


def cover(
    name: str, why: str, runs: Sequence[dict[str, Any]], expect: Any, within: float, **how: Any
) -> None:
    given = {
        "width_m": how.get("width_m", 8.0),
        "front_rank_m": how.get("front_rank_m", 0.0),
        "rear_rank_m": how.get("rear_rank_m", 0.0),
        "boundary": how["boundary"],
        "keep_out": how.get("keep_out"),
        "unreachable": how.get("unreachable"),
        "runs": list(runs),
    }
    case(f"cover/{name}", why, given, expect, {"square_metres": within})


def covers() -> None:
    cover(
        "two_runs_that_overlap",
        "Two runs of 8 m, 7 m apart, 100 m long: 1 m of overlap along all of it.",
        [lane(4.0), later(lane(11.0, back=True), 100.0)],
        {"sown": 1500.0, "part": 0.0, "twice": 100.0, "again": 100.0, "bare": 500.0},
        0.05,
        boundary=box(0, 0, 100, 20),
    )
    cover(
        "ranks_apart",
        "Front rank 1.7 m ahead and rear rank 0.7 m behind: 2.4 m at each end by one rank only.",
        [lane(4.0, 10.0, 90.0)],
        {"sown": 8 * 77.6, "part": 2 * 8 * 2.4, "twice": 0.0, "again": 0.0, "bare": 820 - 8 * 82.4},
        0.05,
        boundary=box(0, 0, 100, 8.2),
        front_rank_m=1.7,
        rear_rank_m=-0.7,
    )
    cover(
        "three_times_over",
        "One strip sown three times: sown twice counts its ground once, again each extra cover.",
        [lane(4.0), later(lane(4.0, back=True), 200.0), later(lane(4.0), 400.0)],
        {"sown": 800.0, "part": 0.0, "twice": 800.0, "again": 1600.0, "bare": 200.0},
        0.05,
        boundary=box(0, 0, 100, 10),
    )
    turn = [2 * pi * k / 240 for k in range(241)]
    ring = [(3 * sin(a), -3 * cos(a)) for a in turn]
    cover(
        "round_its_own_inner_end",
        "A full circle 3 m about the middle of a 12 m bar: the inner end runs backwards, and the"
        " whole disc of 9 m is swept.",
        [run(ring, turn)],
        {"sown": pi * 81, "part": 0.0, "bare": 400 - pi * 81},
        0.6,
        boundary=box(-10, -10, 10, 10),
        width_m=12.0,
    )
    angles = [pi / 2 * k / 60 for k in range(61)]
    cover(
        "turned_on_the_spot",
        "A bar of 12 m turned a quarter about its middle: two quarter discs, bars that cross.",
        [run([(0.0, 0.0)] * 61, angles)],
        {"sown": pi / 2 * 36, "part": 0.0, "bare": 196 - pi / 2 * 36},
        0.1,
        boundary=box(-7, -7, 7, 7),
        width_m=12.0,
    )
    cover(
        "keep_out_and_out_of_reach",
        "A keep-out under the run, and a strip out of reach beside it: neither is bare; what is"
        " swept beyond the boundary is outside.",
        [lane(4.0, 0.0, 110.0)],
        {
            **{"net": 100 * 12 - 40, "sown": 800.0 - 40, "bare": 100 * 4 - 50},
            **{"unreachable": 50.0, "outside": 80.0, "twice": 0.0},
        },
        0.05,
        boundary=box(0, 0, 100, 12),
        keep_out=box(40, 2, 50, 6),
        unreachable=box(0, 11, 50, 12),
    )


def raster(
    name: str, why: str, heading_rad: float, net: Points, polygon: Points, quad: Points
) -> None:
    """Cells whose centres lie in a polygon and in a quadrilateral, asked for one by one."""
    cell = 0.5
    c, s = cos(heading_rad), sin(heading_rad)
    turned = [(c * x + s * y, c * y - s * x) for x, y in net]
    x0, y0 = min(u for u, _ in turned) - cell, min(v for _, v in turned) - cell
    columns = floor((max(u for u, _ in turned) - x0 - cell) / cell + 0.999999) + 2
    rows = floor((max(v for _, v in turned) - y0 - cell) / cell + 0.999999) + 2

    def held(points: Points) -> list[int]:
        shape = Polygon(points)
        out = []
        for row in range(rows):
            for column in range(columns):
                u, v = x0 + (column + 0.5) * cell, y0 + (row + 0.5) * cell
                if shape.contains(Point(c * u - s * v, s * u + c * v)):
                    out.append(row * (columns + 1) + column)
        return out

    given = {
        "heading_rad": heading_rad,
        "cell_m": cell,
        **{"net": net, "polygon": polygon, "quad": quad},
    }
    expect = {
        **{"rows": rows, "columns": columns},
        **{"polygon_cells": held(polygon), "quad_cells": held(quad)},
    }
    case(f"raster/{name}", why, given, expect, {"cells": 0})


def rasters() -> None:
    net = [(0.03, 0.04), (12.31, 0.07), (12.28, 9.12), (0.01, 9.17)]
    odd = [(1.13, 1.07), (8.77, 2.41), (10.91, 7.83), (4.29, 5.17), (2.33, 8.71)]
    quad = [(2.17, 1.91), (9.73, 3.37), (8.89, 7.43), (1.21, 5.87)]
    why = "Cells by asking each centre, on a grid along "
    raster("upright", why + "the axes.", 0.0, net, odd, quad)
    raster("turned", why + "0.4 rad.", 0.4, net, odd, quad)
    raster("steep", why + "1.9 rad, rows running back.", 1.9, net, odd, quad)
    thin = [(0.91, 4.11), (11.37, 4.19), (11.36, 4.53), (0.92, 4.46)]
    raster("thinner_than_a_cell", why + "0.3 rad: a sliver has gaps.", 0.3, net, odd, thin)
    beyond = [(-3.13, 2.21), (7.19, 1.97), (7.33, 14.07), (-2.91, 13.77)]
    raster("beyond_the_grid", why + "0.7 rad: what lies outside is not.", 0.7, net, odd, beyond)
    tip = sqrt(50)
    spike = [(1.03, 1.01), (tip + 3.01, 4.47), (tip + 3.02, 4.51), (1.07, 8.03)]
    raster("a_spike", why + "2.6 rad.", 2.6, net, spike, quad)


if __name__ == "__main__":
    tows()
    covers()
    rasters()
