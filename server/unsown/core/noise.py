"""How noisy a phone is, measured from its own fixes: the quick part, and how fast it wanders."""

from __future__ import annotations

import numpy as np

from unsown.core.smooth import Motion
from unsown.core.words import Bools, Floats

#: Most phones' quick noise is less, m; fixes this near together, s, may show more, up to that, m.
QUIET_M, OFTEN_S, MOST_M = 0.6, 2.5, 3.0


def quick_noise(t_s: Floats, x_m: Floats, y_m: Floats, joined: Bools) -> float:
    """The white part of the position noise per axis, m, from third differences.

    Divided differences take uneven times as they are: over four fixes Σ c_k x_k with
    c_k = Π 1/(t_k - t_j) is nought on any parabola and has variance σ² Σ c_k² (20 σ² for even
    fixes and plain differences). The median over the day is deaf to turns; it is taken of the
    squared length, half of whose median over ln 2 is σ², so that the axes' direction does not
    matter. Never below 0.01 m (seven decimals of a degree) nor above 3 m; above 0.6 m only where
    fixes come often: of seldom ones it is turns that are left.
    """
    ok = joined[:-2] & joined[1:-1] & joined[2:]
    if ok.sum() < 20:
        return 0.1
    at = np.flatnonzero(ok)[:, None] + np.arange(4)
    t = t_s[at]
    gaps = t[:, :, None] - t[:, None, :] + np.eye(4)
    c = 1.0 / gaps.prod(axis=2)
    c /= np.sqrt((c * c).sum(axis=1, keepdims=True))
    square = np.sum([(c * a[at]).sum(axis=1) ** 2 for a in (x_m, y_m)], axis=0)
    most = MOST_M if np.median(np.diff(t_s)) <= OFTEN_S else QUIET_M
    return float(np.clip(np.sqrt(np.median(square) / (2 * np.log(2))), 0.01, most))


def drift_rate(
    t_s: Floats, x_m: Floats, y_m: Floats, m: Motion, joined: Bools
) -> tuple[float, float]:
    """How fast the position error wanders, m/√s, from the raw fixes on straights; NaN if untold.

    Across the path D_L = z(t+L) − 2 z(t) + z(t−L) has variance 6 w² + 2 q² L for white noise w
    and a wander of rate q (q² = 2σ²/τ of a Gauss-Markov drift); a vehicle on a straight adds
    next to nothing within a few seconds. The slope over four lags gives q. With it comes one
    sigma of q², m²/s: of a few short runs it may be as large as q² itself. A variance told by a
    median of n values is good to 2.3/√n of itself; of values that overlap only so many count as
    fit beside each other.
    """
    dt = np.diff(t_s)
    usual = float(np.median(dt)) if len(dt) else 0.0
    if usual <= 0 or usual > 6.0:
        return float("nan"), float("nan")
    stride = max(1, round(1.0 / usual))
    even = joined & (np.abs(dt - usual) < 0.2 * usual)
    count = np.r_[0, np.cumsum(even)]
    n = len(t_s)
    half = max(2, round(15.0 / usual))
    way = np.full(n, np.nan)
    bend = np.full(n, np.inf)
    if n > 2 * half:
        mid = np.arange(half, n - half)
        into = np.arctan2(y_m[mid] - y_m[mid - half], x_m[mid] - x_m[mid - half])
        out = np.arctan2(y_m[mid + half] - y_m[mid], x_m[mid + half] - x_m[mid])
        whole = count[mid + half] - count[mid - half] == 2 * half
        bend[mid] = np.where(whole, turned(out, into), np.inf)
        way[mid] = np.arctan2(y_m[mid + half] - y_m[mid - half], x_m[mid + half] - x_m[mid - half])
    lags, spreads, errors = [], [], []
    for k in range(1, 5):
        reach = k * stride
        i = np.arange(reach, n - reach)
        i = i[(bend[i] < np.radians(10.0)) & (m.speed_m_s[i] > 0.7)]
        if len(i) < 100:
            return float("nan"), float("nan")
        d = [a[i + reach] - 2 * a[i] + a[i - reach] for a in (x_m, y_m)]
        across = -np.sin(way[i]) * d[0] + np.cos(way[i]) * d[1]
        lags.append(reach * usual)
        spreads.append((1.4826 * float(np.median(np.abs(across)))) ** 2)
        errors.append(spreads[-1] * 2.3 * np.sqrt(2 * reach / len(i)))
    off = np.subtract(lags, np.mean(lags))
    slope, error = off @ spreads, np.hypot.reduce(off * errors)
    return float(np.sqrt(max(slope, 0.0) / (2 * (off @ off)))), float(error / (2 * (off @ off)))


def turned(a: Floats, b: Floats) -> Floats:
    """Size of the angle between two directions, radians, 0 to π."""
    return np.asarray(np.abs((a - b + np.pi) % (2 * np.pi) - np.pi))
