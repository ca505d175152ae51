"""The day's stretches as believed, and draws of how they may lie instead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.cover import Poses
from unsown.core.samples import Samples
from unsown.core.words import Floats


@dataclass(frozen=True)
class Stretch:
    """One unbroken stretch of a run with its place among phones and its bar."""

    run: int
    leg: int
    front_m: float
    rear_m: float
    width_m: float
    poses: Poses

    @property
    def middle_m(self) -> float:
        """Middle of the ranks ahead of the axle."""
        return (self.front_m + self.rear_m) / 2


@dataclass(frozen=True)
class PegVisit:
    """A stop beside a known mark: when, which phone's leg, the logged mean place, the name."""

    t_s: float
    leg: int
    x_m: float
    y_m: float
    name: str


@dataclass(frozen=True)
class Picture:
    """The day's stretches as believed, and draws of how they may lie instead.

    ``east_m`` and ``north_m`` (samples,) are by how much the picture was moved, and
    ``east_draws`` and ``north_draws`` (draws, samples) are displacements from the picture at
    ``samples``. ``info`` is what is told of it; None where nothing was settled. ``sigma_m`` is
    the spread of the drift, or of the quick noise where nothing was settled.
    """

    stretches: tuple[Stretch, ...]
    samples: Samples
    east_draws: Floats
    north_draws: Floats
    info: dict[str, float] | None
    sigma_m: float
    east_m: Floats
    north_m: Floats

    def gap_m(self, length_m: float) -> float:
        """The constant gap, one sigma, that drift leaves between two runs over a length, m.

        The difference of two independent Gauss-Markov drifts averaged over the time T it takes
        to drive the length: σ²·2·(2τ/T)(1 − (1 − exp(−T/τ))τ/T). 0 where nothing was settled.
        """
        if self.info is None:
            return 0.0
        s = self.samples
        go = (np.diff(s.stretch) == 0) & (np.diff(s.t_s) > 0)
        way, time = np.hypot(np.diff(s.x_m), np.diff(s.y_m))[go], np.diff(s.t_s)[go]
        if len(time) == 0:
            return float(np.sqrt(2.0) * self.sigma_m)
        x = max(length_m / float(np.median(way / time)) / self.info["tau_s"], 1e-3)
        kept = 2 / x * (1 - (1 - np.exp(-x)) / x)
        return float(self.sigma_m * np.sqrt(2 * kept))

    def moved_at(self, t_s: float, leg: int) -> tuple[float, float]:
        """By how much the picture was moved near a time, metres east and north."""
        mine = np.flatnonzero(self.samples.leg == leg)
        if len(mine) == 0:
            return 0.0, 0.0
        t = self.samples.t_s[mine]
        return (
            float(np.interp(t_s, t, self.east_m[mine])),
            float(np.interp(t_s, t, self.north_m[mine])),
        )
