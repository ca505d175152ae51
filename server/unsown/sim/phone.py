"""What the phone writes down: where it thinks it is, and the driver's taps.

The error is white noise, plus a slow first-order Gauss-Markov drift on each axis, plus a
constant bias of the phone and day, plus bursts of outliers. The sizes are fits to open
recordings of phones on the road against a reference.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from unsown.core.errors import TrackError
from unsown.core.plane import Plane
from unsown.core.words import Fixes, Floats, Log, Mark, Rig
from unsown.sim.drive import Poses
from unsown.sim.levers import Sowing
from unsown.sim.pace import Clock
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


@dataclass(frozen=True)
class Logging:
    """How a day is logged.

    Attributes:
        preset: a name of PRESETS; hz: fixes a second.
        speed, course, accuracy: whether the phone reports them.
        jitter_s: spread of the fixes' time stamps.
        gaps: number of blind stretches of 20 to 200 s; gap_s: their longest.
        late_s: taps come up to this much late; missing, doubled: shares of the taps.
        inverted_s: length of a stretch in which down and up are swapped (0: none).
        no_taps: leave out every tap.
        pegs: stops beside a known mark, 30 s each, before and after the day's driving.
        phone: the phone's label; start_ms: UTC of the day's start.
    """

    preset: str = "none"
    hz: float = 1.0
    speed: bool = True
    course: bool = True
    accuracy: bool = True
    jitter_s: float = 0.0
    gaps: int = 0
    gap_s: float = 200.0
    late_s: float = 0.0
    missing: float = 0.0
    doubled: float = 0.0
    inverted_s: float = 0.0
    no_taps: bool = False
    pegs: int = 0
    phone: str = "phone"
    start_ms: int = 1_778_767_200_000


@dataclass(frozen=True)
class Errors:
    """The phone's true position and its error, for checking: (n,) each, metres."""

    t_s: Floats
    x_m: Floats
    y_m: Floats
    error_x_m: Floats
    error_y_m: Floats


def log(
    poses: Poses,
    time: Clock,
    sowings: tuple[Sowing, ...],
    plane: Plane,
    rig: Rig,
    how: Logging,
    rng: np.random.Generator,
) -> tuple[Log, Errors]:
    """The day as logged by one phone, and the errors that went in."""
    preset = _preset(how.preset)
    t = np.arange(0.0, time.t[-1], 1.0 / how.hz)
    x, y, speed, way = _phone(poses, time, rig, t)
    ex, ey = errors(rng, len(t), 1.0 / how.hz, preset)
    error = Errors(t, x, y, ex, ey)
    lon, lat = plane.to_degrees(x + ex, y + ey)
    stamp = np.rint((t + how.jitter_s * rng.standard_normal(len(t)).clip(-2, 2)) * 1000)
    noise = 0.0 if preset.white_m == 0 else 0.07
    told_speed = np.maximum(speed + noise * rng.standard_normal(len(t)), 0.0)
    wobble = np.radians(1.0 + 1.5 / np.maximum(speed, 0.3)) * (noise > 0)
    told_way = way + wobble * rng.standard_normal(len(t))
    course = np.degrees(np.pi / 2 - told_way) % 360.0
    course = np.where(speed > 0.3, course, np.nan)
    none = np.full(len(t), np.nan)
    keep = _seen(rng, t, how)
    fixes = Fixes(
        t_ms=(how.start_ms + stamp).astype(np.int64)[keep],
        lat_deg=lat[keep],
        lon_deg=lon[keep],
        acc_m=(_accuracy(rng, t, preset) if how.accuracy else none)[keep],
        speed_m_s=(told_speed if how.speed else none)[keep],
        course_deg=(course if how.course else none)[keep],
        phone=np.zeros(int(keep.sum()), dtype=np.int64),
        segment=np.zeros(int(keep.sum()), dtype=np.int64),
        phones=(how.phone,),
    )
    return Log(fixes, taps(sowings, how, rng)), error


def _preset(name: str) -> Preset:
    if name not in PRESETS:
        raise TrackError("preset-unknown", f"expected one of {', '.join(PRESETS)}, got {name!r}")
    return PRESETS[name]


def _phone(poses: Poses, time: Clock, rig: Rig, t: Floats) -> tuple[Floats, ...]:
    """Place, speed over ground and direction of motion of the phone at times t."""
    index = np.arange(len(poses.s))

    def place(at: Floats) -> tuple[Floats, Floats]:
        i = time.index_at(at)
        psi = np.interp(i, index, poses.psi)
        c, s = np.cos(psi), np.sin(psi)
        a, b = rig.phone.ahead_of_axle_m, rig.phone.left_of_centre_m
        return (
            np.interp(i, index, poses.x) + a * c - b * s,
            np.interp(i, index, poses.y) + a * s + b * c,
        )

    x, y = place(t)
    (x0, y0), (x1, y1) = place(t - 0.1), place(t + 0.1)
    gone = np.minimum(t + 0.1, time.t[-1]) - np.maximum(t - 0.1, 0.0)
    speed = np.hypot(x1 - x0, y1 - y0) / gone
    return x, y, speed, np.arctan2(y1 - y0, x1 - x0)


def errors(
    rng: np.random.Generator, n: int, step_s: float, preset: Preset
) -> tuple[Floats, Floats]:
    """Error east and north, metres, n fixes ``step_s`` apart."""
    out = []
    for _ in range(2):
        drift = preset.drift_m * gauss_markov(rng, n, step_s, preset.drift_s)
        white = preset.white_m * rng.standard_normal(n)
        out.append(drift + white + preset.bias_m * rng.standard_normal())
    if preset.outliers:
        for at, length, east, north in _bursts(rng, n, step_s, preset.outliers):
            out[0][at : at + length] += east
            out[1][at : at + length] += north
    return out[0], out[1]


def _bursts(
    rng: np.random.Generator, n: int, step_s: float, most: float
) -> list[tuple[int, int, float, float]]:
    """Bursts of 1 to 8 s, up to 75 m off, together a random share of the fixes."""
    left = rng.uniform(0, most) * n
    out = []
    while left > 0:
        length = max(1, round(rng.uniform(1, 8) / step_s))
        size = min(75.0, 8.0 + rng.exponential(20.0))
        way = rng.uniform(0, 2 * np.pi)
        out.append((int(rng.integers(0, n)), length, size * np.cos(way), size * np.sin(way)))
        left -= length
    return out


def _accuracy(rng: np.random.Generator, t: Floats, preset: Preset) -> Floats:
    """A plausible reported 95 % radius, wavering slowly."""
    sigma = float(np.hypot(preset.drift_m, preset.white_m))
    step = float(t[1] - t[0]) if len(t) > 1 else 1.0
    sway = np.exp(0.2 * gauss_markov(rng, len(t), step, 200.0))
    return np.maximum(np.round(2.45 * sigma * sway, 2), 0.01)


def _seen(rng: np.random.Generator, t: Floats, how: Logging) -> np.ndarray:
    keep = np.ones(len(t), dtype=bool)
    for _ in range(how.gaps):
        length = rng.uniform(min(20.0, how.gap_s), how.gap_s)
        a = rng.uniform(0.05, 0.95) * t[-1]
        keep &= (t < a) | (t > a + length)
    return keep


def taps(sowings: tuple[Sowing, ...], how: Logging, rng: np.random.Generator) -> tuple[Mark, ...]:
    """Lever entries: exact, or late, missing, doubled, swapped as told."""
    if how.no_taps:
        return ()
    true = sorted([(s.down_s, "down") for s in sowings] + [(s.up_s, "up") for s in sowings])
    swap = (np.inf, np.inf)
    if how.inverted_s > 0:
        a = rng.uniform(0.2, 0.7) * true[-1][0]
        swap = (a, a + how.inverted_s)
    said: list[tuple[float, str]] = []
    for t, lever in true:
        late = rng.uniform(0, how.late_s) if how.late_s else 0.0
        gone, again = rng.random(2)
        if gone < how.missing:
            continue
        word = lever
        if swap[0] <= t < swap[1]:
            word = "up" if lever == "down" else "down"
        said.append((t + late, word))
        if again < how.doubled:
            said.append((t + late + rng.uniform(0.3, 2.0), word))
    said.sort()
    return tuple(
        Mark(
            t_ms=how.start_ms + round(t * 1000),
            kind="lever",
            phone=how.phone,
            seq=i + 1,
            says={"lever": word, "how": "pad"},
        )
        for i, (t, word) in enumerate(said)
    )
