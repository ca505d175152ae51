"""The gate check at home: forty patches weighed, their runs laid and put in order."""

from __future__ import annotations

import time

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point, box

from unsown.core.aim import Field, plans, reach
from unsown.core.order import order
from unsown.core.price import Prices
from unsown.core.ways import costs_of
from unsown.core.words import Patch, Rig, Tool
from unsown.core.worth import Circumstances, weighed

#: The invented farm's prices and its rig; a square of 60 ha with a slough in it.
FARM = Prices(118, 0.46, 105, 0.88, 5.2, 1.35, 58, 2.4, 330, 150)
DRILL = Rig(
    "drill",
    "towed",
    Tool(8.4, pin_to_axle_m=6.1, front_rank_m=1.7, rear_rank_m=-0.7),
    axle_to_pin_m=1.05,
    tightest_m=9.0,
)
SIDE_M, PATCHES = 780.0, 40


def row() -> tuple[str, float, str, str]:
    """The line of the table: what, processor seconds, against what, a note."""
    rng = np.random.default_rng(4)
    patches = [_patch(rng, number) for number in range(1, PATCHES + 1)]
    r = reach(DRILL)
    bare = shapely.union_all([p.outline for p in patches])
    field = Field.of(box(0, 0, SIDE_M, SIDE_M), Point(400, 400).buffer(60), bare, r)
    here = Circumstances((300.0, 300.0, 0.0), (0.0, 0.0), 2.0)
    start = time.process_time()
    tried = plans(patches, [0.0] * len(patches), field, r)
    laid = time.process_time() - start
    found = weighed(patches, tried, field, r, FARM, here)
    whole = time.process_time() - start
    legs = costs_of([run for _, run in found.stops], here.start, here.gate, field.room, r)
    start = time.process_time()
    order(legs.costs)
    ordered = time.process_time() - start
    note = f"{len(found.stops)} runs, {found.route.length_m / 1000:.1f} km"
    against = f"laying runs {laid / whole:.0%}, ordering {ordered / whole:.0%} of it"
    return f"gate check: worth and way of {PATCHES} patches", whole, against, note


def _patch(rng: np.random.Generator, number: int) -> Patch:
    """A pocket of 3 to 8 by 10 to 60 m anywhere, turned anyhow."""
    x, y = rng.uniform(40, SIDE_M - 40, 2)
    wide, long = rng.uniform(3, 8), rng.uniform(10, 60)
    shape = affinity.rotate(box(x, y, x + long, y + wide), rng.uniform(0, 180))
    inside = shape.intersection(box(0, 0, SIDE_M, SIDE_M))
    chance = 1 - 0.02 * (number % 10)
    return Patch(
        number, inside, inside.area, wide, long, "pocket", chance, "sure", inside.centroid
    )  # fmt: skip
