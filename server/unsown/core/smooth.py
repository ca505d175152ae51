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
#: The path stands still when a step changes nothing by more than this, m, m/s, rad, rad/s.
_STILL = 1e-4
#: Share of a step that is taken where it goes back on the one before.
_CALM = 0.55


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
    rounds: int = 5,
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
    last = np.zeros(n)
    v_weight = np.where(has_v, SPEED_SIGMA_M_S**-2, 0.0)
    for turn in range(rounds):
        band, grad = _motion_terms(s, dt, joined, turning)
        rx, ry = s[:, 0] - x_m, s[:, 1] - y_m
        if turn > 0:
            weight = 1.0 / (1.0 + (rx * rx + ry * ry) / (9.0 * sigma_m**2))
        w = weight / sigma_m**2
        diagonal = band[-1].reshape(n, 5)
        diagonal[:, 0] += w
        diagonal[:, 1] += w
        grad[:, 0] += w * rx
        grad[:, 1] += w * ry
        diagonal[:, 2] += v_weight + 1e-9
        grad[:, 2] += v_weight * np.where(has_v, s[:, 2] - speed_m_s, 0.0)
        speed = np.maximum(np.abs(s[:, 2]), 0.3)
        c_weight = np.where(has_c, np.radians(COURSE_SIGMA_DEG * (1 + 1 / speed)) ** -2, 0.0)
        diagonal[:, 3] += c_weight + 1e-6
        off = np.where(has_c, s[:, 3] - course_rad, 0.0)
        off = (off + np.pi) % (2 * np.pi) - np.pi
        c_weight = c_weight / (1.0 + (off / 0.5) ** 2)
        grad[:, 3] += c_weight * off
        diagonal[:, 4] += 1e-4
        grad[:, 4] += 1e-4 * s[:, 4]
        step = solveh_banded(band, -grad.ravel(), overwrite_ab=True, check_finite=False)
        step = step.reshape(n, 5)
        step[:, 3] = np.clip(step[:, 3], -1.0, 1.0)
        # near a stop the frame turns with the heading that is sought: such steps swing
        step[step[:, 3] * last < 0] *= _CALM
        last = step[:, 3].copy()
        s = s + step
        if turn >= 2 and float(np.abs(step).max()) < _STILL:
            break
        turning = _turning(s[:, 4], t_s)
    return Motion(*(np.ascontiguousarray(s[:, i]) for i in range(5)))


def _motion_terms(s: Floats, dt: Floats, joined: Bools, turning: Bools) -> tuple[Floats, Floats]:
    """Normal equations of the coordinated-turn model at the state ``s`` (n, 5).

    Per step the residuals are taken along and across the mean heading, where their covariance
    falls into an (along, speed) and an (across, heading, turn) block. Returned are the upper
    band (10, 5 n) as LAPACK wants it and the gradient (n, 5).
    """
    v, psi, om = s[:-1, 2], s[:-1, 3], s[:-1, 4]
    mid = psi + om * dt / 2
    c, sn = np.cos(mid), np.sin(mid)
    reach = np.sinc(om * dt / (2 * np.pi)) * dt
    dx, dy = s[:-1, 0] - s[1:, 0], s[:-1, 1] - s[1:, 1]
    e1, e2 = c * dx + sn * dy + v * reach, c * dy - sn * dx
    e3, e4, e5 = v - s[1:, 2], psi + om * dt - s[1:, 3], om - s[1:, 4]
    info = _information(np.abs(v), dt, joined, turning)
    a11, a13, a33, b22, b24, b25, b44, b45, b55 = info
    swing = v * reach
    half = swing * dt / 2
    w1, w3 = a11 * e1 + a13 * e3, a13 * e1 + a33 * e3
    w2 = b22 * e2 + b24 * e4 + b25 * e5
    w4 = b24 * e2 + b44 * e4 + b45 * e5
    w5 = b25 * e2 + b45 * e4 + b55 * e5
    gx, gy = c * w1 - sn * w2, sn * w1 + c * w2
    mine = [gx, gy, reach * w1 + w3, swing * w2 + w4, half * w2 + dt * w4 + w5]
    grad = np.zeros_like(s)
    grad[:-1] += np.stack(mine, axis=1)
    grad[1:] -= np.stack([gx, gy, w3, w4, w5], axis=1)
    return _band(c, sn, reach, swing, half, dt, info), grad


def _band(
    c: Floats,
    sn: Floats,
    reach: Floats,
    swing: Floats,
    half: Floats,
    dt: Floats,
    info: tuple[Floats, ...],
) -> Floats:
    """The band of JᵀWJ: J is the Jacobian of the residuals above, W their information.

    ``q1`` to ``q5`` are one column of WJ by residual; entries that are nought are None.
    """
    a11, a13, a33, b22, b24, b25, b44, b45, b55 = info
    columns: tuple[tuple[Floats | None, ...], ...] = (
        (a11 * c, -b22 * sn, a13 * c, -b24 * sn, -b25 * sn),
        (a11 * sn, b22 * c, a13 * sn, b24 * c, b25 * c),
        (a11 * reach + a13, None, a13 * reach + a33, None, None),
        (None, b22 * swing + b24, None, b24 * swing + b44, b25 * swing + b45),
        (
            *(None, b22 * half + b24 * dt + b25, None),
            *(b24 * half + b44 * dt + b45, b25 * half + b45 * dt + b55),
        ),
    )
    band = np.zeros((10, len(dt) + 1, 5))

    def own(row: int, col: int, value: Floats) -> None:
        band[9 + row - col, :-1, col] += value

    def following(row: int, col: int, value: Floats) -> None:
        band[9 + row - col, 1:, col] += value

    for col, (q1, q2, q3, q4, q5) in enumerate(columns):
        ahead, aside = _sum(q1, c, q2, -sn), _sum(q1, sn, q2, c)
        own(0, col, ahead)
        if col > 0:
            own(1, col, aside)
        if col > 1 and q1 is not None and q3 is not None:
            own(2, col, reach * q1 + q3)
        if col > 2 and q2 is not None and q4 is not None and q5 is not None:
            own(3, col, swing * q2 + q4)
            if col > 3:
                own(4, col, half * q2 + dt * q4 + q5)
        for into, value in enumerate((ahead, aside, q3, q4, q5)):
            if value is not None:
                band[4 + col - into, 1:, into] -= value
    following(0, 0, a11 * c * c + b22 * sn * sn)
    following(0, 1, (a11 - b22) * c * sn)
    following(1, 1, a11 * sn * sn + b22 * c * c)
    following(0, 2, a13 * c)
    following(1, 2, a13 * sn)
    for col, value in ((3, b24), (4, b25)):
        following(0, col, -value * sn)
        following(1, col, value * c)
    for row, col, value in ((2, 2, a33), (3, 3, b44), (3, 4, b45), (4, 4, b55)):
        following(row, col, value)
    return band.reshape(10, -1)


def _sum(a: Floats | None, by: Floats, b: Floats | None, of: Floats) -> Floats:
    """The sum a · by + b · of, where what is None is nought."""
    if a is None:
        return np.zeros_like(of) if b is None else b * of
    return a * by if b is None else a * by + b * of


def _information(speed: Floats, dt: Floats, joined: Bools, turning: Bools) -> tuple[Floats, ...]:
    """Inverse covariance of the motion noise over each step, nought where nothing is joined.

    Along the path (place, speed): a11, a13, a33; across it (place, heading, turn): b22, b24, b25,
    b44, b45, b55; each of shape (n - 1,).
    """
    qa, qy = ACCELERATION**2, np.where(turning, YAW_TURN, YAW_STRAIGHT) ** 2
    slip, on = _SLIP**2 * dt, joined.astype(np.float64)
    along, both, free = qa * dt**3 / 3 + slip, qa * dt**2 / 2, qa * dt
    scale = on / (along * free - both * both)
    a11, a13, a33 = free * scale, -both * scale, along * scale
    q22, q24, q25 = (
        qy * speed**2 * dt**5 / 20 + slip,
        qy * speed * dt**4 / 8,
        qy * speed * dt**3 / 6,
    )
    q44, q45, q55 = qy * dt**3 / 3 + 1e-8 * dt, qy * dt**2 / 2, qy * dt
    m22, m24, m25 = q44 * q55 - q45 * q45, q25 * q45 - q24 * q55, q24 * q45 - q25 * q44
    scale = on / (q22 * m22 + q24 * m24 + q25 * m25)
    b44, b45, b55 = q22 * q55 - q25 * q25, q24 * q25 - q22 * q45, q22 * q44 - q24 * q24
    return (
        *(a11, a13, a33),
        *(m22 * scale, m24 * scale, m25 * scale, b44 * scale, b45 * scale, b55 * scale),
    )


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
