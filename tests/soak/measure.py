"""One simulated day, said against true: a row of plain numbers that can be written down."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable, Iterator
from dataclasses import asdict
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from soak import plain
from soak.judge import best_shift, brought, constant_error, shares, shifted, united
from unsown.core.bare import LIKELY, measure
from unsown.core.day import find
from unsown.core.words import Settings, Tally
from unsown.sim import trial
from unsown.sim.day import SimDay

Row = dict[str, Any]

#: A patch counts as said from this chance on where true ones are looked for.
SAID = 0.5
#: The true patches that have to be found, m² and m.
LARGE_M2, WIDE_M = 50.0, 2.0
#: Options of the missed-run days, by kind of row.
KINDS: dict[str, dict[str, Any]] = {
    "day": {},
    "missed run": {"missed_runs": 1},
    "missed run, pegs": {"missed_runs": 1, "pegs": True, "two_days": 0.5},
}


def rows(
    seed: int, presets: tuple[str, ...], kind: str = "day", make: Callable[..., SimDay] = trial
) -> Iterator[Row]:
    """The rows of one drive, a preset each; whatever is raised becomes a row that says so."""
    head = {"seed": seed, "kind": kind}
    try:
        drive = make(seed, preset="none", **KINDS[kind])
    except Exception as why:
        yield from ({**head, "preset": p, "failed": _failure(why)} for p in presets)
        return
    for preset in presets:
        row = {**head, "preset": preset}
        try:
            yield {**row, **(day_row if kind == "day" else missed_row)(drive.logged(preset))}
        except Exception as why:
            yield {**row, "failed": _failure(why)}


def _failure(why: Exception) -> str:
    at = traceback.extract_tb(why.__traceback__)[-1]
    return f"{type(why).__name__}: {why} ({at.filename.rpartition('/')[2]} line {at.lineno})"


#: Towing alone costs as much as a whole day: it is measured on every fourth seed.
TOW_EVERY = 4


def day_row(day: SimDay, settings: Settings = Settings(), beside: bool = True) -> Row:  # noqa: B008
    """Everything the report needs of one day; ``beside`` adds the plain way and tow only."""
    started = time.process_time()
    tally, plane = find(day.log, day.paddock, [day.rig], settings)
    cpu_s = time.process_time() - started
    outlines = brought([p.outline for p in tally.patches], plane, day.plane)
    chance = np.asarray([p.chance for p in tally.patches])
    true = [m.outline for m in day.truth.misses]
    width = [measure(t)[0] for t in true]
    said = united(outlines, chance >= SAID)
    large = [t for t, w in zip(true, width, strict=True) if t.area >= LARGE_M2 and w >= WIDE_M]
    shift = best_shift(large, said, constant_error(day)) if large else (0.0, 0.0)
    back = (-shift[0], -shift[1])
    columns = zip(
        tally.patches,
        shares(outlines, day.truth.bare),
        shares(outlines, shifted(day.truth.bare, back)),
        strict=True,
    )
    hits = shares(true, said), shares(true, shifted(said, shift))
    return {
        **_what(day),
        "error_m": constant_error(day),
        "shift_m": shift,
        "cpu_s": cpu_s,
        "bare_ha": tally.bare_ha,
        "low_ha": tally.bare_low_ha,
        "high_ha": tally.bare_high_ha,
        "settle": None if tally.settle is None else dict(tally.settle),
        "said": [
            {"m2": p.area_m2, "width_m": p.width_m, "chance": p.chance, "real": r, "real_moved": s}
            for p, r, s in columns
        ],
        "true": [
            {
                "m2": m.area_m2,
                "width_m": width[i],
                "widest_m": m.width_m,
                "why": m.why,
                "found": float(hits[0][i]),
                "found_moved": float(hits[1][i]),
            }
            for i, m in enumerate(day.truth.misses)
        ],
        **(
            {"plain": _beside(day, plain.buffered)}
            | ({"tow": _beside(day, plain.towed)} if day.seed % TOW_EVERY == 3 else {})
            if beside
            else {}
        ),
    }


def missed_row(day: SimDay) -> Row:
    """How a whole missed run came out: the largest bare strip that the day's story left."""
    tally, plane = find(day.log, day.paddock, [day.rig])
    runs = [m for m in day.truth.misses if m.why == "missed run"]
    if not runs:
        return {**_what(day), "run": None}
    run = max(runs, key=lambda m: m.area_m2)
    outlines = brought([p.outline for p in tally.patches], plane, day.plane)
    return {
        **_what(day),
        "run": {"m2": run.area_m2, **_said_of(run.outline, tally, outlines, day.rig.tool.width_m)},
    }


def _said_of(run: BaseGeometry, tally: Tally, outlines: list[BaseGeometry], width_m: float) -> Row:
    """Shares of a true strip covered by listed patches, and the chance said of that ground.

    ``beside`` is the share once the strip is moved sideways by ``beside_m``, at most a working
    width, to where most of it is covered: a picture that is off by its drift shows a strip beside
    its place.
    """
    chance = np.asarray([p.chance for p in tally.patches])
    common = np.asarray([shapely.intersection(o, run).area for o in outlines])
    covered = float(common.sum())
    beside, off = _beside_it(run, shapely.union_all(outlines), width_m)
    return {
        "listed": covered / run.area,
        "beside": beside,
        "beside_m": off,
        "likely": float(common[chance >= LIKELY].sum()) / run.area,
        "chance": float((common * chance).sum() / covered) if covered > 0 else 0.0,
    }


def _beside_it(run: BaseGeometry, said: BaseGeometry, width_m: float) -> tuple[float, float]:
    """The largest share of a strip covered when it is moved sideways, and by how much, m."""
    x, y = shapely.get_coordinates(shapely.minimum_rotated_rectangle(run))[:3].T
    long = int(np.argmax(np.hypot(np.diff(x), np.diff(y))))
    along = np.array([np.diff(x)[long], np.diff(y)[long]])
    side = np.array([-along[1], along[0]]) / np.hypot(*along)
    steps = np.arange(-int(2 * width_m), int(2 * width_m) + 1) / 2
    share = [
        shapely.intersection(shifted(run, tuple(side * s)), said).area / run.area for s in steps
    ]
    best = int(np.argmax(np.asarray(share) - 1e-4 * np.abs(steps)))
    return float(share[best]), float(steps[best])


def _beside(day: SimDay, way: Callable[[SimDay], plain.Picture]) -> Row:
    bare, outlines = way(day)
    return {
        "bare_ha": bare.area / 1e4,
        "patches": [float(r) for r in shares(outlines, day.truth.bare)],
        "m2": [float(o.area) for o in outlines],
    }


def _what(day: SimDay) -> Row:
    """What kind of day it was."""
    return {
        "true_ha": day.truth.bare_m2 / 1e4,
        "net_ha": day.truth.net_m2 / 1e4,
        "hours": float(day.drive.time.t[-1]) / 3600,
        "width_m": day.rig.tool.width_m,
        "story": asdict(day.story),
    }
