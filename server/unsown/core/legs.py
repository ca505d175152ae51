"""Each phone cleaned and towed by itself; where two of a rig overlap the better is believed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from unsown.core.clean import Track, clean
from unsown.core.errors import TrackError
from unsown.core.outfits import outfits
from unsown.core.plane import Plane
from unsown.core.spans import joined, without
from unsown.core.trail import Trail, trail
from unsown.core.walk import walks
from unsown.core.words import Bools, Fixes, Floats, Rig

Window = tuple[float, float]

#: Why fixes are left out that were taken on foot.
LEFT = "the phone left the cab"
_BETTER = (
    "Positions so coarse show no rows. Allow the logger the precise location and let it see the "
    "sky; if acc_m in the file is no 95 % radius in metres, leave it out."
)
#: Fixes further apart than this leave the way to another phone, where one saw it, s.
_SELDOM_S = 12.0


@dataclass(frozen=True)
class Leg:
    """One phone's track and its trail for each rig card, with the times it is believed for.

    ``outfit`` numbers the rigs at work, ``cards`` are the places of its rig's cards.
    """

    phone: str
    track: Track
    trails: tuple[Trail, ...]
    windows: tuple[Window, ...]
    outfit: int = 0
    cards: tuple[int, ...] = (0,)


def legs_of(
    fixes: Fixes, plane: Plane, rigs: Sequence[Rig], t0_ms: int
) -> tuple[list[Leg], dict[str, int]]:
    """Each phone cleaned and towed by itself; where two of a rig overlap the better is believed.

    Args:
        fixes: of one or several phones, already on one clock.
        plane: the paddock's plane.
        rigs: rig cards; every leg gets a trail for each.
        t0_ms: what seconds are counted from, UTC ms.

    Returns:
        The legs in the order of ``fixes.phones``, and how many fixes were left out and why.

    Raises:
        TrackError: no phone has two usable fixes.
        DayError: two phones drove at the same time far from each other, and no card names them.
    """
    x, y = plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    t = (fixes.t_ms - t0_ms) / 1000.0
    course = np.radians(90.0 - fixes.course_deg)
    dropped: dict[str, int] = {}
    legs: list[Leg] = []
    for i, name in enumerate(fixes.phones):
        mine = np.flatnonzero(fixes.phone == i)
        if len(mine) == 0:
            continue
        track, walked = _in_the_cab(
            t[mine], x[mine], y[mine], fixes.acc_m[mine], fixes.speed_m_s[mine], course[mine]
        )
        if walked:
            dropped[LEFT] = dropped.get(LEFT, 0) + walked
        for reason, count in track.dropped.items():
            dropped[reason] = dropped.get(reason, 0) + count
        if len(track):
            legs.append(Leg(name, track, tuple(trail(track, rig) for rig in rigs), ()))
    if not legs:
        raise TrackError(
            "track-unusable",
            f"expected at least two usable fixes, but all {len(fixes)} were dropped: "
            + ", ".join(f"{n} {why}" for why, n in sorted(dropped.items())),
            hint=_BETTER if any("accuracy" in why for why in dropped) else "",
        )
    found = outfits([leg.phone for leg in legs], [leg.track for leg in legs], rigs)
    for number, each in enumerate(found):
        for i, leg in zip(each.tracks, _believed([legs[i] for i in each.tracks]), strict=True):
            legs[i] = replace(leg, outfit=number, cards=each.cards)
    return legs, dropped


def _in_the_cab(
    t_s: Floats, x_m: Floats, y_m: Floats, acc_m: Floats, speed_m_s: Floats, course_rad: Floats
) -> tuple[Track, int]:
    """The cleaned track without what the phone did outside the cab, and how many fixes that was.

    They have to go before the tool is towed: a walk round it would drag it along.
    """

    def cleaned(rows: Bools) -> Track:
        return clean(
            t_s[rows],
            x_m[rows],
            y_m[rows],
            acc_m=acc_m[rows],
            speed_m_s=speed_m_s[rows],
            course_rad=course_rad[rows],
        )

    inside = np.ones(len(t_s), dtype=bool)
    track = cleaned(inside)
    away = walks(track) if len(track) else []
    for a, b in away:
        inside &= (t_s <= a) | (t_s >= b)
    return (cleaned(inside) if away else track), int((~inside).sum())


def _believed(legs: list[Leg]) -> list[Leg]:
    """Give every leg the times it is believed for: the quieter phone wherever it saw the way.

    What nobody saw stays with a phone that was running then: it is blind, not bare.
    """
    first = min(float(leg.track.t_s[0]) for leg in legs)
    last = max(float(leg.track.t_s[-1]) for leg in legs)
    order = np.argsort(_noise(legs), kind="stable").tolist() if len(legs) > 1 else [0]
    free: list[Window] = [(first, last)]
    taken: list[list[Window]] = [[] for _ in legs]
    for seen in (_seen, _running):
        for i in order:
            for span in seen(legs[i]):
                taken[i] += _common(free, span)
                free = without(free, [span])
    return [
        replace(leg, windows=tuple(joined(mine))) for leg, mine in zip(legs, taken, strict=True)
    ]


def _seen(leg: Leg) -> list[Window]:
    """Times between fixes that followed each other soon enough to be one way."""
    t = leg.track.t_s
    cuts = np.flatnonzero(np.diff(t) > _SELDOM_S)
    begin, end = t[np.r_[0, cuts + 1]], t[np.r_[cuts, len(t) - 1]]
    return [(float(a), float(b)) for a, b in zip(begin, end, strict=True) if b > a]


def _running(leg: Leg) -> list[Window]:
    return [(float(leg.track.t_s[0]), float(leg.track.t_s[-1]))]


def _common(spans: Sequence[Window], other: Window) -> list[Window]:
    both = [(max(a, other[0]), min(b, other[1])) for a, b in spans]
    return [(a, b) for a, b in both if b > a]


def _noise(legs: Sequence[Leg]) -> list[float]:
    """How far each phone strays within a minute, metres: its quick noise and its wander."""
    rates = [leg.track.rate for leg in legs]
    told = bool(np.isfinite(rates).all())
    wander = [60.0**0.5 * r if told else 0.0 for r in rates]
    return [float(np.hypot(leg.track.sigma_m, w)) for leg, w in zip(legs, wander, strict=True)]
