"""When to move the lever at an edge: so many metres, and so many seconds, past it.

The job paper's 3.14. With v the working speed, m the margin and the edge crossed square:

    lift  = (phone to rear rank)  - v * (lever up to last seed)          + m
    lower = (phone to front rank) - v * (lever down to seed from all)    - m

both along the run, metres of the *phone* past the edge; negative is before it. Every rank has
then seeded to m beyond the edge: *sown* is where all of them did. A count runs from the *seat*,
where the eye is: a phone ahead of it is past the edge by so much when the seat crosses it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from unsown.core.errors import RigError
from unsown.core.lever import start_delay, stop_delay
from unsown.core.words import Rig

#: How far an eye on the edge and a spoken count spread together, one sigma, m (3.14).
EYE_M = 1.0
#: No margin is worth less or more than this, m.
_LEAST_M, _MOST_M = 0.5, 3.0


@dataclass(frozen=True)
class Cue:
    """Where the phone is when the lever should move, and the same as a count.

    Metres and seconds past the edge; negative is before it. ``seat_m`` is how far the phone is
    ahead of the seat.
    """

    speed_m_s: float
    margin_m: float
    lift_m: float
    lower_m: float
    seat_m: float = 0.0

    @property
    def lift_count_s(self) -> float:
        """Seconds from the seat's crossing to lifting."""
        return (self.lift_m - self.seat_m) / self.speed_m_s

    @property
    def lower_count_s(self) -> float:
        """Seconds from the seat's crossing to lowering."""
        return (self.lower_m - self.seat_m) / self.speed_m_s

    @property
    def lift_s(self) -> float:
        """Seconds from the phone's crossing to lifting."""
        return self.lift_m / self.speed_m_s

    @property
    def lower_s(self) -> float:
        """Seconds from the phone's crossing to lowering."""
        return self.lower_m / self.speed_m_s


def cue(rig: Rig, speed_m_s: float, margin_m: float) -> Cue:
    """The cue of a rig at one working speed.

    Args:
        rig: the rig card; its times must have been measured, zeros are taken as they are.
        speed_m_s: working speed, above zero.
        margin_m: how much too long each end is wished (``margin``).

    Raises:
        RigError: the speed is not above zero.
    """
    if not (math.isfinite(speed_m_s) and speed_m_s > 0):
        raise RigError(
            "cue-speed",
            f"expected a working speed above zero, got {speed_m_s:g} m/s",
            where=rig.name,
            hint="Give the speed the tool is drawn at when it sows.",
        )
    front, rear = ranks_behind(rig)
    lift = rear - speed_m_s * stop_delay(rig.times) + margin_m
    lower = front - speed_m_s * start_delay(rig.times) - margin_m
    return Cue(speed_m_s, margin_m, lift, lower, rig.phone.ahead_of_seat_m)


def ranks_behind(rig: Rig) -> tuple[float, float]:
    """Front and rear rank, metres behind the phone on the straight (negative: ahead of it)."""
    axle = rig.phone.ahead_of_axle_m
    if rig.kind != "mounted":
        axle += rig.axle_to_pin_m + rig.tool.pin_to_axle_m
    if rig.cart is not None:
        axle += rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
    return axle - rig.tool.front_rank_m, axle - rig.tool.rear_rank_m


def margin(bare: float, twice: float, spread_m: float = EYE_M) -> float:
    """How much too long an end should be wished, m, kept within 0.5 to 3 m.

    Being short by a metre costs ``bare``, being long by one ``twice`` (any one currency, of the
    same area). The cheapest aim is the quantile bare / (bare + twice) of the spread: the
    newsvendor's critical fractile (Arrow, Harris and Marschak 1951).

    Raises:
        RigError: a cost or the spread is not above zero.
    """
    if not all(math.isfinite(x) and x > 0 for x in (bare, twice, spread_m)):
        raise RigError(
            "cue-margin",
            f"expected costs and a spread above zero, got {bare:g}, {twice:g} and {spread_m:g} m",
        )
    wished = NormalDist(0.0, spread_m).inv_cdf(bare / (bare + twice))
    return min(max(wished, _LEAST_M), _MOST_M)
