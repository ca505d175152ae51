"""How a driver wavers: smooth random sideways motion along a line, and bumps."""

from __future__ import annotations

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter
from scipy.special import erfc

from unsown.core.words import Floats


def gauss_markov(rng: np.random.Generator, n: int, step: float, length: float) -> Floats:
    """A first-order Gauss-Markov series of spread 1: n values ``step`` apart.

    ``length`` is the distance (or time) over which the correlation falls to 1/e.
    """
    keep = float(np.exp(-step / length))
    kicks = rng.standard_normal(n) * np.sqrt(1 - keep**2)
    if n:
        kicks[0] = rng.standard_normal()
    return np.asarray(lfilter([1.0], [1.0, -keep], kicks), dtype=np.float64)


def waver(
    rng: np.random.Generator, n: int, step_m: float, spread_m: float, length_m: float
) -> Floats:
    """Sideways steering error along a line, metres: Gauss-Markov, drivable (8 m smooth).

    The spread is kept: Gaussian smoothing of width g leaves exp(g²/l²)·erfc(g/l) of the
    variance.
    """
    smooth = min(8.0, 0.3 * length_m)
    left = np.exp((smooth / length_m) ** 2) * erfc(smooth / length_m)
    pad = int(4 * smooth / step_m) + 1
    rough = gauss_markov(rng, n + 2 * pad, step_m, length_m)
    soft = gaussian_filter1d(rough, smooth / step_m)[pad : pad + n]
    return np.asarray(spread_m * soft / np.sqrt(left), dtype=np.float64)


def bump(s: Floats, middle: float, length: float, flat: float = 0.0) -> Floats:
    """A smooth bump of height 1: raised cosine sides, ``flat`` metres of level top."""
    side = max((length - flat) / 2, 1e-6)
    away = np.clip((np.abs(s - middle) - flat / 2) / side, 0.0, 1.0)
    return np.asarray(0.5 + 0.5 * np.cos(np.pi * away), dtype=np.float64)


def followed(before: Floats, step_m: float) -> Floats:
    """The last furrow as the driver's eye takes it: short waves seen smoothed over 15 m.

    A twentieth of its bends is straightened out each run, so that they do not pile up without
    end; its mean is kept.
    """
    mean = float(before.mean())
    bends = gaussian_filter1d(before - mean, 15.0 / step_m, mode="nearest")
    return np.asarray(mean + 0.95 * bends)
