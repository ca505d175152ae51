"""How a receiver errs: presets, drift, bursts of outliers, and the accuracy it claims.

White noise, plus a slow first-order Gauss-Markov drift on each axis, plus a constant bias of
the phone and day, plus bursts. The sizes are fits to open recordings of phones on the road
against a reference (sizes good to a quarter, times to a factor of two).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.errors import TrackError
from unsown.core.words import Floats
from unsown.sim.steer import gauss_markov


@dataclass(frozen=True)
class Preset:
    """Sizes of a receiver's error, metres and seconds; ``outliers`` is a share of fixes."""

    white_m: float
    drift_m: float
    drift_s: float
    bias_m: float
    outliers: float = 0.0


PRESETS = {
    "none": Preset(0.0, 0.0, 100.0, 0.0),
    "rtk": Preset(0.01, 0.01, 100.0, 0.0),
    "good": Preset(0.03, 0.65, 100.0, 0.5),
    "typical": Preset(0.10, 1.1, 60.0, 0.8),
    "poor": Preset(0.03, 1.8, 150.0, 1.5, 0.007),
    "slow": Preset(0.30, 1.5, 600.0, 1.0),
}


def preset(name: str) -> Preset:
    """The preset of that name; TrackError when there is none."""
    if name not in PRESETS:
        raise TrackError("preset-unknown", f"expected one of {', '.join(PRESETS)}, got {name!r}")
    return PRESETS[name]


def errors(rng: np.random.Generator, n: int, step_s: float, size: Preset) -> tuple[Floats, Floats]:
    """Error east and north, metres, of n fixes ``step_s`` apart."""
    out = []
    for _ in range(2):
        drift = size.drift_m * gauss_markov(rng, n, step_s, size.drift_s)
        white = size.white_m * rng.standard_normal(n)
        out.append(drift + white + size.bias_m * rng.standard_normal())
    for at, length, east, north in _bursts(rng, n, step_s, size.outliers):
        out[0][at : at + length] += east
        out[1][at : at + length] += north
    return out[0], out[1]


def _bursts(
    rng: np.random.Generator, n: int, step_s: float, most: float
) -> list[tuple[int, int, float, float]]:
    """Bursts of 1 to 8 s, 8 to 75 m off, together a random share of the fixes."""
    left = rng.uniform(0, most) * n
    out = []
    while left >= 1:
        length = max(1, round(rng.uniform(1, 8) / step_s))
        size = min(75.0, 8.0 + rng.exponential(20.0))
        way = rng.uniform(0, 2 * np.pi)
        out.append((int(rng.integers(0, n)), length, size * np.cos(way), size * np.sin(way)))
        left -= length
    return out


def accuracy(rng: np.random.Generator, n: int, step_s: float, size: Preset) -> Floats:
    """A plausible reported 95 % radius, metres, wavering slowly."""
    sigma = float(np.hypot(size.drift_m, size.white_m))
    sway = np.exp(0.2 * gauss_markov(rng, n, step_s, 200.0))
    return np.maximum(np.round(2.45 * sigma * sway, 2), 0.01)
