"""What phones write down: where they think they are, the driver's taps, the peg stops."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from unsown.core.plane import Plane
from unsown.core.words import Bools, Fixes, Floats, Log, Mark, Rig
from unsown.sim import receiver
from unsown.sim.drive import Poses, between
from unsown.sim.levers import Sowing
from unsown.sim.pace import Clock
from unsown.sim.taps import tapped

PEG_S = 40.0
_NIGHT_S = 15 * 3600.0


@dataclass(frozen=True)
class Logging:
    """How a day is logged.

    Attributes:
        preset: a name of ``receiver.PRESETS``.
        hz: fixes a second.
        speed: whether the phone reports speed; ``course`` and ``accuracy`` likewise.
        jitter_s: spread of the fixes' time stamps.
        gaps: number of blind stretches of 20 s to ``gap_s``.
        late_s: taps come up to this much late; missing, doubled: shares of the taps.
        inverted_s: length of a stretch in which down and up are swapped (0: none).
        no_taps: leave out every tap.
        pegs: stand beside a known mark before the drive and at the end of each day.
        two_days: share of the drive done on the first day; the rest is driven next morning
            with a new bias, by the second phone if ``two_phones`` (0: all in one day).
        two_phones: without ``two_days`` both phones log the whole drive, the second one's
            clock off by ``clock_off_s``.
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
    pegs: bool = False
    two_days: float = 0.0
    two_phones: bool = False
    clock_off_s: float = 0.0
    phone: str = "phone"
    start_ms: int = 1_778_767_200_000


@dataclass(frozen=True)
class Session:
    """One phone logging from ``a_s`` to ``b_s`` of the drive; its clock adds ``add_s``."""

    a_s: float
    b_s: float
    add_s: float
    phone: int
    pegs: tuple[float, ...] = ()


@dataclass(frozen=True)
class Errors:
    """The phones' true places and errors at every fix, gaps not taken out: (n,), metres.

    ``t_s`` is seconds of the drive (before 0 and after its end: standing at a peg).
    """

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
    """The day as logged, and the errors that went in."""
    plan = sessions(how, sowings, float(time.t[-1]))
    streams = rng.spawn(len(plan) + 1)
    names = (how.phone, f"second {how.phone}")[: 1 + max(s.phone for s in plan)]
    fixes, marks, errors = [], [], []
    for session, stream in zip(plan, streams[1:], strict=True):
        fix, error, pegs = _session(session, poses, time, plane, rig, how, stream)
        fixes.append(fix)
        errors.append(error)
        marks += pegs
    if not how.no_taps:
        said = tapped(
            sowings,
            streams[0],
            late_s=how.late_s,
            missing=how.missing,
            doubled=how.doubled,
            inverted_s=how.inverted_s,
        )
        marks += [_tap(t, word, plan, how) for t, word in said]
    marks.sort(key=lambda m: m[0])
    last = [0] * len(names)
    numbered = []
    for t_ms, kind, phone, says in marks:
        last[phone] += 1
        numbered.append(Mark(t_ms, kind, names[phone], last[phone], says))
    return Log(_joined(fixes, names), tuple(numbered)), _all_errors(errors)


def sessions(how: Logging, sowings: tuple[Sowing, ...], end_s: float) -> list[Session]:
    """Who logs when: one phone, two at once, or two days."""
    peg = PEG_S if how.pegs else 0.0
    if how.two_days:
        tops = np.array(
            [(a.up_s + b.down_s) / 2 for a, b in zip(sowings, sowings[1:], strict=False)]
        )
        cut = float(tops[np.argmin(np.abs(tops - how.two_days * end_s))])
        first = Session(-peg, cut + peg, 0.0, 0, (-peg, cut) if peg else ())
        second = Session(
            cut - peg, end_s + peg, _NIGHT_S, int(how.two_phones), (cut - peg, end_s) if peg else ()
        )
        return [first, second]
    one = Session(-peg, end_s + peg, 0.0, 0, (-peg, end_s) if peg else ())
    return [one, replace(one, phone=1, add_s=how.clock_off_s)] if how.two_phones else [one]


def _session(
    session: Session,
    poses: Poses,
    time: Clock,
    plane: Plane,
    rig: Rig,
    how: Logging,
    rng: np.random.Generator,
) -> tuple[Fixes, Errors, list[tuple[int, str, int, dict[str, object]]]]:
    size = receiver.preset(how.preset)
    step = 1.0 / how.hz
    t = np.arange(session.a_s, session.b_s, step)
    drive = np.clip(t, session.a_s + PEG_S * bool(session.pegs), session.b_s)
    if session.pegs:
        drive = np.minimum(drive, session.b_s - PEG_S)
    x, y, speed, way = _phone(poses, time, rig, drive)
    ex, ey = receiver.errors(rng, len(t), step, size)
    lon, lat = plane.to_degrees(x + ex, y + ey)
    zero = how.start_ms + 1000.0 * session.add_s
    stamp = t + how.jitter_s * rng.standard_normal(len(t)).clip(-2, 2)
    acc = receiver.accuracy(rng, len(t), step, size)
    told_speed, course = _motion(rng, speed, way, size.white_m > 0)
    keep = _seen(rng, t, how)
    none = np.full(len(t), np.nan)
    fixes = Fixes(
        t_ms=np.rint(zero + 1000 * stamp).astype(np.int64)[keep],
        lat_deg=np.round(lat, 8)[keep],
        lon_deg=np.round(lon, 8)[keep],
        acc_m=(acc if how.accuracy else none)[keep],
        speed_m_s=(told_speed if how.speed else none)[keep],
        course_deg=(course if how.course else none)[keep],
        phone=np.full(int(keep.sum()), session.phone, dtype=np.int64),
        segment=np.zeros(int(keep.sum()), dtype=np.int64),
    )
    pegs = []
    for number, at in enumerate(session.pegs):
        stood = (t >= at) & (t < at + PEG_S)
        true_lon, true_lat = plane.to_degrees(x[stood].mean(), y[stood].mean())
        says: dict[str, object] = {
            "name": _peg_name(session, number, how),
            "lat_deg": float(lat[stood].mean()),
            "lon_deg": float(lon[stood].mean()),
            "n": int(stood.sum()),
        }
        if number == 0 and session.add_s == 0:
            says |= {"true_lat_deg": float(true_lat), "true_lon_deg": float(true_lon)}
        pegs.append((round(zero + 1000 * (at + PEG_S)), "peg", session.phone, says))
    return fixes, Errors(t, x, y, ex, ey), pegs


def _peg_name(session: Session, number: int, how: Logging) -> str:
    if how.two_days and (session.add_s > 0) == (number == 0):
        return "night peg"
    return "morning peg" if number == 0 else "evening peg"


def _motion(
    rng: np.random.Generator, speed: Floats, way: Floats, noisy: bool
) -> tuple[Floats, Floats]:
    """Reported speed (m/s) and course (degrees clockwise from north; NaN when standing)."""
    a, b = rng.standard_normal((2, len(speed)))
    told = np.maximum(speed + 0.07 * noisy * a, 0.0)
    wobble = np.radians(1.0 + 1.5 / np.maximum(speed, 0.3)) * noisy
    course = np.degrees(np.pi / 2 - (way + wobble * b)) % 360.0
    course = np.round(course, 2 if noisy else 3) % 360.0
    return np.round(told, 2 if noisy else 4), np.where(speed > 0.3, course, np.nan)


def _phone(poses: Poses, time: Clock, rig: Rig, t: Floats) -> tuple[Floats, ...]:
    """Place, speed over ground and direction of motion of the phone at times t."""

    def place(at: Floats) -> tuple[Floats, Floats]:
        i = time.index_at(at)
        psi = between(poses.psi, i)
        c, s = np.cos(psi), np.sin(psi)
        a, b = rig.phone.ahead_of_axle_m, rig.phone.left_of_centre_m
        return (
            between(poses.x, i) + a * c - b * s,
            between(poses.y, i) + a * s + b * c,
        )

    x, y = place(t)
    before, after = np.maximum(t - 0.1, 0.0), np.minimum(t + 0.1, time.t[-1])
    (x0, y0), (x1, y1) = place(before), place(after)
    gone = np.maximum(after - before, 0.05)
    return x, y, np.hypot(x1 - x0, y1 - y0) / gone, np.arctan2(y1 - y0, x1 - x0)


def _seen(rng: np.random.Generator, t: Floats, how: Logging) -> Bools:
    keep = np.ones(len(t), dtype=np.bool_)
    for _ in range(how.gaps):
        length = rng.uniform(min(20.0, how.gap_s), how.gap_s)
        first = t[0] + rng.uniform(0.05, 0.95) * (t[-1] - t[0])
        keep &= (t < first) | (t > first + length)
    return keep


def _tap(
    t: float, word: str, plan: list[Session], how: Logging
) -> tuple[int, str, int, dict[str, object]]:
    at = next((s for s in plan if s.a_s <= t < s.b_s - PEG_S * bool(s.pegs)), plan[-1])
    ms = round(how.start_ms + 1000 * (t + at.add_s))
    return ms, "lever", at.phone, {"lever": word, "how": "pad"}


def _joined(parts: list[Fixes], names: tuple[str, ...]) -> Fixes:
    if len(parts) == 1:
        return replace(parts[0], phones=names)
    columns = {
        k: np.concatenate([getattr(p, k) for p in parts])
        for k in (
            "t_ms",
            "lat_deg",
            "lon_deg",
            "acc_m",
            "speed_m_s",
            "course_deg",
            "phone",
        )
    }
    columns["segment"] = np.concatenate([p.segment + i for i, p in enumerate(parts)])
    order = np.argsort(columns["t_ms"], kind="stable")
    return Fixes(**{k: v[order] for k, v in columns.items()}, phones=names)


def _all_errors(parts: list[Errors]) -> Errors:
    names = ("t_s", "x_m", "y_m", "error_x_m", "error_y_m")
    return Errors(*(np.concatenate([getattr(p, k) for p in parts]) for k in names))
