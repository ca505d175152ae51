"""The driver's taps: exact, or late, missing, doubled, swapped as told."""

from __future__ import annotations

import numpy as np

from unsown.sim.levers import Sowing


def tapped(
    sowings: tuple[Sowing, ...],
    rng: np.random.Generator,
    *,
    late_s: float,
    missing: float,
    doubled: float,
    inverted_s: float,
) -> list[tuple[float, str]]:
    """(seconds, ``down`` or ``up``) in time order, from the true lever times.

    Each tap comes up to ``late_s`` late; a share is missing, a share comes twice; for
    ``inverted_s`` somewhere in the middle of the day down and up are swapped.
    """
    true = sorted([(s.down_s, "down") for s in sowings] + [(s.up_s, "up") for s in sowings])
    swap = (np.inf, np.inf)
    if inverted_s > 0 and true:
        first = float(rng.uniform(0.2, 0.7)) * true[-1][0]
        swap = (first, first + inverted_s)
    said: list[tuple[float, str]] = []
    for t, lever in true:
        late = float(rng.uniform(0, late_s)) if late_s else 0.0
        gone, again, gap = rng.random(3)
        if gone < missing:
            continue
        word = lever
        if swap[0] <= t < swap[1]:
            word = "up" if lever == "down" else "down"
        said.append((t + late, word))
        if again < doubled:
            said.append((t + late + 0.3 + 1.7 * float(gap), word))
    return sorted(said)
