"""A fixed-interval smoother for a vehicle that turns: positions -> position, speed, heading.

State per fix: x, y (m), v (m/s, negative when backing), ψ (rad), ω (rad/s); between fixes a
coordinated turn (constant v and ω) driven by white acceleration and white yaw acceleration.
The estimate is the most probable whole path: all residuals, of measurements and of the motion
model, are minimised together by Gauss-Newton steps. The normal matrix is block tridiagonal, so
a step is one banded Cholesky solve over the whole day: the same answer as an iterated extended
Kalman filter with Rauch-Tung-Striebel smoothing (Bell, "The iterated Kalman smoother as a
Gauss-Newton method", SIAM J. Optim. 4(3), 1994), without a loop over fixes.

Positions enter with a heavy-tailed weight, so that single bad fixes lose their pull.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solveh_banded

from unsown.core.words import Bools, Floats

#: Acceleration along the path, m/s² per root Hz.
ACCELERATION = 0.4
#: Yaw acceleration, rad/s² per root Hz: in turns, and on straights.
YAW_TURN = 0.15
YAW_STRAIGHT = 0.03
#: Reported speed and course, one sigma.
SPEED_SIGMA_M_S = 0.15
COURSE_SIGMA_DEG = 2.0
#: Sideways slip of the model itself, m per root second: keeps a standing vehicle solvable.
_SLIP = 0.01
#: |ω| above which a stretch counts as a turn, rad/s, and how far the turn reaches, s.
_TURNING = 0.03
_REACH_S = 4.0


@dataclass(frozen=True)
class Motion:
    """The smoothed state at every fix, arrays of shape (n,)."""

    x_m: Floats
    y_m: Floats
    speed_m_s: Floats
    heading_rad: Floats
    turn_rad_s: Floats


def smooth(
    t_s: Floats,
    x_m: Floats,
    y_m: Floats,
    *,
    start: Motion,
    joined: Bools,
    sigma_m: float,
    speed_m_s: Floats,
    course_rad: Floats,
    rounds: int = 6,
) -> Motion:
    """The most probable path through the fixes.

    Args:
        t_s: time of each fix, increasing, shape (n,).
        x_m: measured east, m.
        y_m: measured north, m.
        start: first guess of the state (headings unwrapped).
        joined: whether the motion model links fix k to fix k + 1, shape (n - 1,).
        sigma_m: quick part of the position noise, per axis, m.
        speed_m_s: reported speed, signed like the state, NaN where not given.
        course_rad: reported heading of the nose, radians anticlockwise from east, NaN where not
            given or not to be used.
        rounds: Gauss-Newton steps.

    Returns:
        The smoothed motion; headings unwrapped.
    """
    n = len(t_s)
    dt = np.where(joined, np.diff(t_s), 1.0)
    s = np.column_stack(
        [start.x_m, start.y_m, start.speed_m_s, start.heading_rad, start.turn_rad_s]
    )
    turning = np.ones(n - 1, dtype=bool)
    weight = np.ones(n)
    has_v, has_c = np.isfinite(speed_m_s), np.isfinite(course_rad)
    v_weight = np.where(has_v, SPEED_SIGMA_M_S**-2, 0.0)
    for turn in range(rounds):
        blocks, links, grad = _motion_terms(s, dt, joined, turning)
        rx, ry = s[:, 0] - x_m, s[:, 1] - y_m
        if turn > 0:
            weight = 1.0 / (1.0 + (rx * rx + ry * ry) / (9.0 * sigma_m**2))
        w = weight / sigma_m**2
        blocks[:, 0, 0] += w
        blocks[:, 1, 1] += w
        grad[:, 0] += w * rx
        grad[:, 1] += w * ry
        blocks[:, 2, 2] += v_weight + 1e-9
        grad[:, 2] += v_weight * np.where(has_v, s[:, 2] - speed_m_s, 0.0)
        speed = np.maximum(np.abs(s[:, 2]), 0.3)
        c_weight = np.where(has_c, np.radians(COURSE_SIGMA_DEG * (1 + 1 / speed)) ** -2, 0.0)
        blocks[:, 3, 3] += c_weight + 1e-6
        off = np.where(has_c, s[:, 3] - course_rad, 0.0)
        off = (off + np.pi) % (2 * np.pi) - np.pi
        c_weight = c_weight / (1.0 + (off / 0.5) ** 2)
        grad[:, 3] += c_weight * off
        blocks[:, 4, 4] += 1e-4
        grad[:, 4] += 1e-4 * s[:, 4]
        step = _solve(blocks, links, -grad)
        step[:, 3] = np.clip(step[:, 3], -1.0, 1.0)
        s = s + step
        turning = _turning(s[:, 4], t_s)
    return Motion(*(np.ascontiguousarray(s[:, i]) for i in range(5)))


def _motion_terms(
    s: Floats, dt: Floats, joined: Bools, turning: Bools
) -> tuple[Floats, Floats, Floats]:
    """Normal-equation blocks of the coordinated-turn model at the state ``s`` (n, 5)."""
    n = len(s)
    v, psi, om = s[:-1, 2], s[:-1, 3], s[:-1, 4]
    mid = psi + om * dt / 2
    c, sn = np.cos(mid), np.sin(mid)
    reach = np.sinc(om * dt / (2 * np.pi)) * dt
    error = np.empty((n - 1, 5))
    error[:, 0] = s[:-1, 0] + v * reach * c - s[1:, 0]
    error[:, 1] = s[:-1, 1] + v * reach * sn - s[1:, 1]
    error[:, 2] = v - s[1:, 2]
    error[:, 3] = psi + om * dt - s[1:, 3]
    error[:, 4] = om - s[1:, 4]
    f = np.zeros((n - 1, 5, 5))
    f[:, range(5), range(5)] = 1.0
    f[:, 0, 2], f[:, 1, 2] = reach * c, reach * sn
    f[:, 0, 3], f[:, 1, 3] = -v * reach * sn, v * reach * c
    f[:, 0, 4], f[:, 1, 4] = -v * reach * sn * dt / 2, v * reach * c * dt / 2
    f[:, 3, 4] = dt
    info = _information(np.abs(v), dt, c, sn, turning) * joined[:, None, None]
    fi = np.swapaxes(f, 1, 2) @ info
    blocks = np.zeros((n, 5, 5))
    blocks[:-1] += fi @ f
    blocks[1:] += info
    grad = np.zeros((n, 5))
    grad[:-1] += (fi @ error[:, :, None])[:, :, 0]
    grad[1:] -= (info @ error[:, :, None])[:, :, 0]
    return blocks, -fi, grad


def _information(speed: Floats, dt: Floats, c: Floats, s: Floats, turning: Bools) -> Floats:
    """Inverse covariance of the motion noise over each step, (n - 1, 5, 5)."""
    qa = ACCELERATION**2
    qy = np.where(turning, YAW_TURN, YAW_STRAIGHT) ** 2
    q = np.zeros((len(dt), 5, 5))
    q[:, 0, 0] = qa * dt**3 / 3 + _SLIP**2 * dt
    q[:, 0, 2] = q[:, 2, 0] = qa * dt**2 / 2
    q[:, 2, 2] = qa * dt
    q[:, 1, 1] = qy * speed**2 * dt**5 / 20 + _SLIP**2 * dt
    q[:, 1, 3] = q[:, 3, 1] = qy * speed * dt**4 / 8
    q[:, 1, 4] = q[:, 4, 1] = qy * speed * dt**3 / 6
    q[:, 3, 3] = qy * dt**3 / 3 + 1e-8 * dt
    q[:, 3, 4] = q[:, 4, 3] = qy * dt**2 / 2
    q[:, 4, 4] = qy * dt
    turn = np.zeros_like(q)
    turn[:, range(2, 5), range(2, 5)] = 1.0
    turn[:, 0, 0], turn[:, 0, 1], turn[:, 1, 0], turn[:, 1, 1] = c, -s, s, c
    inverse = np.linalg.inv(q)
    return np.asarray(turn @ inverse @ np.swapaxes(turn, 1, 2))


def _solve(blocks: Floats, links: Floats, rhs: Floats) -> Floats:
    """Solve the block tridiagonal system; blocks (n, m, m), links (n - 1, m, m), rhs (n, m)."""
    n, m, _ = blocks.shape
    band = 2 * m - 1
    ab = np.zeros((band + 1, n * m))
    for r in range(m):
        for col in range(m):
            if r <= col:
                ab[band + r - col, col::m] = blocks[:, r, col]
            ab[band + r - m - col, m + col :: m] = links[:, r, col]
    out = solveh_banded(ab, rhs.ravel(), overwrite_ab=True, check_finite=False)
    return np.asarray(out).reshape(n, m)


def _turning(turn_rad_s: Floats, t_s: Floats) -> Bools:
    """Steps within reach of a turn, (n - 1,)."""
    hot = t_s[np.abs(turn_rad_s) > _TURNING]
    if len(hot) == 0:
        return np.zeros(len(t_s) - 1, dtype=bool)
    at = np.searchsorted(hot, t_s)
    after = np.abs(hot[np.minimum(at, len(hot) - 1)] - t_s)
    before = np.abs(t_s - hot[np.maximum(at - 1, 0)])
    near = np.minimum(after, before) <= _REACH_S
    return near[:-1] | near[1:]
