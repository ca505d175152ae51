"""Two phones on one rig: one clock for both.

A page is not promised satellite time, so two phones in one cab may stamp the same moment minutes
apart. Both ride the same rig, so their velocities (speed and turns in one) agree second by second
once one is shifted by what the clocks differ. The stamps are the first guess: a shift is looked
for within a quarter of an hour of them, taken only where it is the only good one and brings the
two phones to the same place, and made inside the computation, never in the log.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from unsown.core.plane import Plane, wrap_deg
from unsown.core.words import Bools, Fixes, Floats, Ints, Log, Mark

#: Clocks differ by no more than this, s; less than this is left as stamped, s.
REACH_S, LEAVE_S = 900, 1.0
#: Wanted of both together: seconds seen, and seconds moving.
SEEN_S, MOVING_S = 600.0, 300.0
#: Largest misfit of velocities (0 the same, 1 unrelated); any other must be this much worse.
MISFIT, SHARP = 0.15, 2.0
#: Lags nearer than this to the best belong to it, s.
APART_S = 15
#: Phones of one cab lie this near, by the median over what they share, m.
CAB_M = 12.0
#: The same word on both phones within this is one press; within the first they agree, s.
AGREE_S, SAME_TAP_S = 3.0, 10.0
#: Places are joined over gaps of this; velocities over this to both sides, s.
_GAP_S, _HALF_S = 8.0, 2
#: What counts as moving, and how many times a phone's usual high speed is a jump.
_MOVING_M_S, _FASTEST = 0.7, 1.5
_LONGEST_S = 15 * 86_400
_IN_SAYS = ("from_ms", "to_ms", "since_ms")

Complex = npt.NDArray[np.complex128]


@dataclass(frozen=True)
class Going:
    """One phone second by second from ``first_s``: place (m) and velocity (m/s), x + iy.

    Arrays of shape (n,), NaN where not seen.
    """

    first_s: int
    place: Complex
    velocity: Complex


def one_clock(log: Log) -> tuple[Log, tuple[str, ...]]:
    """The log with every phone's times on the clock of the first phone it rode with.

    Phones are taken in the order of ``fixes.phones``. Where two never ran together, or their
    movement does not tell, the stamps stand.

    Returns:
        The log to compute with, and a note for each phone that was shifted.
    """
    fixes = log.fixes
    names = [int(i) for i in np.unique(fixes.phone)]
    fine = np.isfinite(fixes.lat_deg) & np.isfinite(fixes.lon_deg)
    if len(names) < 2 or not fine.any():
        return log, ()
    plane = _plane(fixes, fine)
    zero = int(fixes.t_ms[fine].min())
    placed: list[tuple[int, Going]] = []
    notes: list[str] = []
    together: list[tuple[str, str]] = []
    for i in names:
        mine = np.flatnonzero(fine & (fixes.phone == i))
        new = _going(fixes, mine, plane, zero)
        if new is None:
            continue
        for j, old in placed:
            ahead_s = clock_ahead(old, new)
            if ahead_s is None:
                continue
            together.append((fixes.phones[j], fixes.phones[i]))
            if abs(ahead_s) >= LEAVE_S:
                log = _shifted(log, i, -round(1000 * ahead_s))
                new = replace(new, first_s=new.first_s - round(ahead_s))
                notes.append(_note(fixes.phones[i], fixes.phones[j], ahead_s))
            break
        placed.append((i, new))
    for one, other in together:
        marks, more = _one_lever(log.marks, one, other)
        log = log if marks == log.marks else replace(log, marks=marks)
        notes += more
    return log, tuple(notes)


def clock_ahead(first: Going, second: Going) -> float | None:
    """Seconds by which the second phone's clock is ahead of the first's.

    None where they did not ride together long enough, moved too little, or two shifts would do.
    """
    lags, misfit, seen = _misfits(first, second)
    if not np.isfinite(misfit).any():
        return None
    best = int(np.argmin(misfit))
    rough = float(misfit[best])
    if rough > MISFIT:
        return None
    # rows of one length make a drive like itself two runs later: then the place decides
    near = misfit <= SHARP * rough + 0.01
    lows = near & (misfit <= np.r_[np.inf, misfit[:-1]]) & (misfit <= np.r_[misfit[1:], np.inf])
    rivals: list[int] = []
    for k in sorted(np.flatnonzero(lows), key=lambda k: float(misfit[k])):
        if all(abs(k - r) > APART_S for r in rivals):
            rivals.append(int(k))
    wide = [_distance(first, second, int(lags[k])) for k in rivals]
    order = np.argsort(wide)
    best = rivals[int(order[0])]
    apart = wide[int(order[0])]
    if apart > CAB_M or (len(order) > 1 and wide[int(order[1])] < SHARP * apart + 2.0):
        return None
    beside = [misfit[k] for k in (best - APART_S, best + APART_S) if 0 <= k < len(misfit)]
    if min(beside) <= SHARP * float(misfit[best]) + 0.01:
        return None
    stamped = float(seen[REACH_S])
    if stamped < SEEN_S / 2 or stamped < 0.5 * float(seen[best]):
        return None
    return float(lags[best]) + _lowest(misfit[max(best - 1, 0) : best + 2])


def _misfits(first: Going, second: Going) -> tuple[Ints, Floats, Floats]:
    """Lags (s), the misfit of velocities at each, and the seconds that both are seen.

    The misfit is the mean squared difference over twice the mean square; inf where too little is
    shared.
    """
    lags = np.arange(-REACH_S, REACH_S + 1)
    a, b = first.velocity, second.velocity
    offset = second.first_s - first.first_s
    size = 1 << int(np.ceil(np.log2(len(a) + len(b) + 1)))
    at = lags - offset  # b's index is a's index + at
    inside = (at > -len(a)) & (at < len(b))

    def lagged(u: Complex | Floats, w: Complex | Floats) -> Floats:
        both = np.fft.ifft(np.conj(np.fft.fft(u, size)) * np.fft.fft(w, size)).real
        return np.asarray(np.where(inside, both[np.where(inside, at, 0) % size], 0.0))

    seen_a, seen_b = (np.isfinite(v).astype(np.float64) for v in (a, b))
    va, vb = (np.where(np.isfinite(v), v, 0.0) for v in (a, b))
    going = (np.abs(va) > _MOVING_M_S).astype(np.float64)
    seen = lagged(seen_a, seen_b)
    enough = (seen >= SEEN_S) & (lagged(going, seen_b) >= MOVING_S)
    power = lagged(np.abs(va) ** 2, seen_b) + lagged(seen_a, np.abs(vb) ** 2)
    misfit = 1.0 - 2.0 * lagged(va, vb) / np.maximum(power, 1e-9)
    return lags, np.where(enough, np.maximum(misfit, 0.0), np.inf), seen


def _distance(first: Going, second: Going, lag: int) -> float:
    """Median distance of the phones over what they share at a lag, m."""
    at = lag - (second.first_s - first.first_s)
    a0, b0 = max(0, -at), max(0, at)
    n = min(len(first.place) - a0, len(second.place) - b0)
    apart = np.abs(first.place[a0 : a0 + n] - second.place[b0 : b0 + n])
    apart = apart[np.isfinite(apart)]
    return float(np.median(apart)) if len(apart) else float("inf")


def _lowest(around: Floats) -> float:
    """Where a parabola through three neighbouring values is lowest, from the middle one."""
    if len(around) < 3 or not np.isfinite(around).all():
        return 0.0
    low, mid, high = (float(v) for v in around)
    bend = low - 2 * mid + high
    return float(np.clip((low - high) / (2 * bend), -0.5, 0.5)) if bend > 0 else 0.0


def _going(fixes: Fixes, rows: Ints, plane: Plane, zero_ms: int) -> Going | None:
    """Place and velocity at whole seconds; None where the phone shows next to nothing."""
    t_ms, first = np.unique(fixes.t_ms[rows], return_index=True)
    if len(t_ms) < 2:
        return None
    t = (t_ms - zero_ms) / 1000.0
    start, end = int(np.ceil(t[0])), int(np.floor(t[-1]))
    if not 2 * _HALF_S < end - start < _LONGEST_S:
        return None
    x, y = plane.to_xy(fixes.lon_deg[rows][first], fixes.lat_deg[rows][first])
    grid = np.arange(start, end + 1, dtype=np.float64)
    after = np.clip(np.searchsorted(t, grid), 1, len(t) - 1)
    known: Bools = t[after] - t[after - 1] <= _GAP_S
    place = np.interp(grid, t, x) + 1j * np.interp(grid, t, y)
    place[~known] = np.nan
    velocity = np.full(len(grid), np.nan + 0j)
    half = _HALF_S
    velocity[half:-half] = (place[2 * half :] - place[: -2 * half]) / (2 * half)
    speed = np.abs(velocity)
    if np.isfinite(speed).any():
        velocity[speed > _FASTEST * float(np.nanquantile(speed, 0.9))] = np.nan
    return Going(start, place, velocity)


def _plane(fixes: Fixes, fine: Bools) -> Plane:
    """A plane about the middle of all fixes; longitudes may lie on both sides of 180°."""
    lon = fixes.lon_deg[fine]
    return Plane(
        float(np.clip(np.median(fixes.lat_deg[fine]), -89.0, 89.0)),
        float(wrap_deg(lon[0] + np.median(wrap_deg(lon - lon[0])))),
    )


def _shifted(log: Log, phone: int, by_ms: int) -> Log:
    """One phone's fixes and marks, and the times its marks tell of, moved."""
    fixes = log.fixes
    t_ms = np.where(fixes.phone == phone, fixes.t_ms + by_ms, fixes.t_ms)
    name = fixes.phones[phone]
    marks = [_mark(m, by_ms) if m.phone == name else m for m in log.marks]
    marks.sort(key=lambda m: (m.t_ms, m.phone, m.seq))
    return replace(log, fixes=replace(fixes, t_ms=t_ms), marks=tuple(marks))


def _mark(mark: Mark, by_ms: int) -> Mark:
    says = dict(mark.says)
    for word in _IN_SAYS:
        if isinstance(says.get(word), int | float) and not isinstance(says[word], bool):
            says[word] = says[word] + by_ms
    return replace(mark, t_ms=mark.t_ms + by_ms, says=says)


def _one_lever(marks: tuple[Mark, ...], one: str, other: str) -> tuple[tuple[Mark, ...], list[str]]:
    """The marks without presses on one phone that the other phone of the cab has too.

    The phone with more presses counts; a press on the other is the same where the word is and the
    time nearly is. Presses that only one phone has all stay.
    """
    taps = {n: [m for m in marks if m.kind == "lever" and m.phone == n] for n in (one, other)}
    if not taps[one] or not taps[other]:
        return marks, []
    main, less = (other, one) if len(taps[other]) > len(taps[one]) else (one, other)
    free = list(taps[main])
    again: set[int] = set()
    apart = 0
    for mark in taps[less]:
        same = [m for m in free if m.says.get("lever") == mark.says.get("lever")]
        near = min(same, key=lambda m: abs(m.t_ms - mark.t_ms), default=None)
        if near is None or abs(near.t_ms - mark.t_ms) > 1000 * SAME_TAP_S:
            continue
        free.remove(near)
        again.add(id(mark))
        apart += abs(near.t_ms - mark.t_ms) > 1000 * AGREE_S
    notes = []
    if apart:
        notes.append(
            f"{apart} lever presses on {less!r} stand {AGREE_S:g} to {SAME_TAP_S:g} s from those on"
            f" {main!r}: those on {main!r} count"
        )
    return tuple(m for m in marks if id(m) not in again), notes


def _note(name: str, other: str, ahead_s: float) -> str:
    minutes, seconds = divmod(round(abs(ahead_s)), 60)
    size = f"{minutes} min {seconds} s" if minutes else f"{seconds} s"
    way = "ahead of" if ahead_s > 0 else "behind"
    return (
        f"the clock of {name!r} ran {size} {way} that of {other!r}, by their movement: its times"
        f" are counted on the clock of {other!r}"
    )
