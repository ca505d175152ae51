"""Which phones ride on which rig: every rig at work is an outfit of its own.

Cards that name their phones hold for those, the others for every phone that none names. Phones
that drive side by side ride on one rig, whatever cards they name; phones of one card that drive
apart at the same time ride on two rigs of that card, if the card names them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from unsown.core.clean import Track
from unsown.core.errors import DayError
from unsown.core.words import Bools, Floats, Rig

#: Both drove (m/s), seen within this (s), for this long (s): then further apart than this they
#: are two rigs, and nearer than that one cab, m.
_DRIVES_M_S, _SEEN_S, _AT_ONCE_S, _APART_M, _CAB_M = 0.5, 10.0, 120, 50.0, 8.0


@dataclass(frozen=True)
class Outfit:
    """Places of its phones among the tracks, and of its cards among the rig cards."""

    tracks: tuple[int, ...]
    cards: tuple[int, ...]


def outfits(names: Sequence[str], tracks: Sequence[Track], rigs: Sequence[Rig]) -> list[Outfit]:
    """The rigs that were at work, in the order of their first phones.

    Args:
        names: label of the phone of each track.
        tracks: cleaned, all on one clock.
        rigs: the rig cards.

    Raises:
        DayError: a phone has no card, or two phones that no card names drove apart at once.
    """
    cards = [_cards(name, rigs) for name in names]
    # a phone without a card may ride beside one that has one
    order = sorted(range(len(names)), key=lambda k: not cards[k])
    apart: dict[tuple[int, int], float] = {}
    for i in range(len(tracks)):
        for j in range(i):
            distance = _at_once(tracks[i], tracks[j])
            if distance is not None:
                apart[i, j] = apart[j, i] = distance
    found: list[Outfit] = []
    for i in order:
        mine = cards[i]
        place = _place(i, mine, found, apart)
        if place is None and not mine:
            _nameless(names[i], rigs)
        if place is None and mine == _unnamed(rigs) and any(o.cards == mine for o in found):
            _refuse(i, names, apart)
        if place is None:
            found.append(Outfit((i,), mine))
            continue
        tracks_ = tuple(sorted((*found[place].tracks, i)))
        found[place] = Outfit(tracks_, found[place].cards)
    return sorted(found, key=lambda outfit: outfit.tracks)


def miscalled(rides: Sequence[tuple[str, tuple[int, ...]]], rigs: Sequence[Rig]) -> list[str]:
    """Notes on phones that rode on another rig than their card says: (phone, cards counted)."""
    return [
        f"phone {name!r} rode with another one that has another card: that card counts for both"
        for name, cards in rides
        if _cards(name, rigs) not in ((), cards)
    ]


def _cards(name: str, rigs: Sequence[Rig]) -> tuple[int, ...]:
    """The cards that hold for a phone; empty where others are named and it is not."""
    return tuple(k for k, rig in enumerate(rigs) if name in rig.phones) or _unnamed(rigs)


def _nameless(name: str, rigs: Sequence[Rig]) -> None:
    have = ", ".join(repr(p) for rig in rigs for p in rig.phones)
    raise DayError(
        "rig-of-phone",
        f"expected a rig card for phone {name!r}, but the cards are those of {have}",
        hint="Give a card for this phone, or one that names no phone.",
    )


def _unnamed(rigs: Sequence[Rig]) -> tuple[int, ...]:
    return tuple(k for k, rig in enumerate(rigs) if not rig.phones)


def _place(
    i: int, mine: tuple[int, ...], found: Sequence[Outfit], apart: dict[tuple[int, int], float]
) -> int | None:
    """The outfit that a phone belongs to: side by side with it, else of its card and not apart."""
    for k, outfit in enumerate(found):
        if any(apart.get((i, j), np.inf) < _CAB_M for j in outfit.tracks):
            return k
    for k, outfit in enumerate(found):
        away = any(apart.get((i, j), 0.0) > _APART_M for j in outfit.tracks)
        if outfit.cards == mine and not away:
            return k
    return None


def _refuse(i: int, names: Sequence[str], apart: dict[tuple[int, int], float]) -> None:
    """Nobody can know the second rig's card: one would hide the other."""
    other, distance = next((j, d) for (a, j), d in apart.items() if a == i and d > _APART_M)
    raise DayError(
        "two-rigs",
        f"expected phones of one rig, but {names[other]!r} and {names[i]!r} drove"
        f" {distance:.0f} m apart at the same time",
        hint="Say which card each phone's rig has, or leave out the phone that was elsewhere. If it"
        " is one rig, their clocks differ more than could be told.",
    )


def _at_once(one: Track, other: Track) -> float | None:
    """Median distance of two phones while both drove, m; None where they hardly did at once."""
    ends = min(one.t_s[-1], other.t_s[-1])
    t = np.arange(max(one.t_s[0], other.t_s[0]), ends)
    if len(t) <= _AT_ONCE_S:
        return None
    (x, y, drove), (u, v, also) = _driving(one, t), _driving(other, t)
    distance = np.hypot(x - u, y - v)[drove & also]
    return float(np.median(distance)) if len(distance) > _AT_ONCE_S else None


def _driving(track: Track, t_s: Floats) -> tuple[Floats, Floats, Bools]:
    """Place of a phone at times, and whether it was seen to drive there."""
    m = track.motion
    x, y, v = (np.interp(t_s, track.t_s, a) for a in (m.x_m, m.y_m, np.abs(m.speed_m_s)))
    after = np.clip(np.searchsorted(track.t_s, t_s), 1, len(track) - 1)
    seen = track.t_s[after] - track.t_s[after - 1] < _SEEN_S
    return x, y, np.asarray(seen & (v > _DRIVES_M_S))
