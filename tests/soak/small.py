"""Two small days a preset, measured in seconds: what the quick test looks at."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor

from soak.measure import Row, day_row
from unsown.sim import trial

SEEDS = (30010, 30011)
#: The preset and seed on which the other ways are measured too.
BESIDE = ("typical", 30011)


def small_days(presets: tuple[str, ...]) -> dict[str, list[Row]]:
    """Rows of the small days by preset, measured in a process of its own.

    In there the matrix library runs on one thread: on shared cores several spend their time
    waiting for each other. It has to be told before it is loaded.
    """
    before = os.environ.get("OPENBLAS_NUM_THREADS")
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    try:
        with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
            return pool.submit(_measured, presets).result()
    finally:
        if before is None:
            del os.environ["OPENBLAS_NUM_THREADS"]
        else:
            os.environ["OPENBLAS_NUM_THREADS"] = before


def _measured(presets: tuple[str, ...]) -> dict[str, list[Row]]:
    drives = [trial(s, area_ha=9.0, rig="demo", laps=2, keep_outs=0) for s in SEEDS]
    return {
        p: [{"seed": d.seed, **day_row(d.logged(p), beside=(p, d.seed) == BESIDE)} for d in drives]
        for p in presets
    }
