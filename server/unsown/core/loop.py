"""How exact the area inside a driven lap is: by draws of the drift along it.

A constant error of a phone moves the lap and leaves its area; what changes the area is how the
error wanders while the lap is driven. The plain formula, perimeter times spread over the root of
the number of independent stretches, was off by -20 to +70 % when simulated (job paper 3.10), so
the lap is moved by draws of a first-order Gauss-Markov drift and its area taken each time.
"""

from __future__ import annotations

import numpy as np

from unsown.core.words import Floats

#: The drift's correlation time where one lap alone has to tell: median (s) and factor, as in drift.
TAU_S, TAU_FACTOR = 100.0, 2.5
_STEP_S = 5.0


def area_sigma(
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    rate: float,
    *,
    draws: int = 200,
    seed: int = 1,
) -> float:
    """One standard deviation of the area inside a lap.

    Args:
        t_s: times along the lap, seconds, increasing, shape (n,).
        x_m: the lap, metres on the paddock's plane; it is closed from its last point to its first.
        y_m: the same, north.
        rate: how fast the error wanders, m/√s (``noise.drift_rate``); NaN where not known.
        draws: how many.
        seed: of the draws.

    Returns:
        Square metres; NaN where the rate is not known.
    """
    if not np.isfinite(rate) or len(t_s) < 3:
        return float("nan")
    at = np.arange(t_s[0], t_s[-1], _STEP_S)
    x, y = np.interp(at, t_s, x_m), np.interp(at, t_s, y_m)
    rng = np.random.default_rng(seed)
    tau = TAU_S * TAU_FACTOR ** rng.standard_normal(draws)
    sigma = rate * np.sqrt(tau / 2)  # the rate is σ√(2/τ): what the fixes tell
    keep = np.exp(-_STEP_S / tau)
    fresh = np.sqrt(1 - keep**2)
    moved = np.empty((len(at), 2, draws))
    moved[0] = rng.standard_normal((2, draws))
    for i in range(1, len(at)):
        moved[i] = keep * moved[i - 1] + fresh * rng.standard_normal((2, draws))
    moved *= sigma
    areas = _area(x[:, None] + moved[:, 0], y[:, None] + moved[:, 1])
    return float(np.std(areas))


def _area(x: Floats, y: Floats) -> Floats:
    """The area inside each column's ring, by the shoelace formula about its own first point."""
    x, y = x - x[0], y - y[0]
    doubled = np.sum(x * np.roll(y, -1, axis=0) - y * np.roll(x, -1, axis=0), axis=0)
    return np.asarray(np.abs(doubled) / 2)
