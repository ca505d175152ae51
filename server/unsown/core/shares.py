"""What each of the rigs at work did: its own strips, apart from those of the others."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.cover import Strip, sown_by_all
from unsown.core.legs import Leg
from unsown.core.rigs import Share
from unsown.core.words import Rig, Run


def shares(
    strips: Sequence[Strip],
    runs: Sequence[Run],
    legs: Sequence[Leg],
    rigs: Sequence[Rig],
    net: BaseGeometry,
) -> tuple[Share, ...]:
    """The rigs in the order of their outfits' numbers.

    Args:
        strips: of every run, in the order of ``runs``.
        runs: of all rigs.
        legs: of all phones.
        rigs: the rig cards.
        net: ground to sow, on the plane.
    """
    out = []
    for number in sorted({leg.outfit for leg in legs}):
        mine = [leg for leg in legs if leg.outfit == number]
        own = [s for s, run in zip(strips, runs, strict=True) if run.outfit == number]
        worked = [r for r in runs if r.outfit == number and r.up_s > r.down_s]
        first, last = (
            (min(r.down_s for r in worked), max(r.up_s for r in worked)) if worked else (0.0, 0.0)
        )
        out.append(
            Share(
                rigs[mine[0].cards[0]].name,
                tuple(leg.phone for leg in mine),
                float(shapely.area(shapely.intersection(sown_by_all(own), net))) / 1e4,
                sum(s.way_m * s.width_m for s in own) / 1e4,
                sum(s.way_m for s in own) / 1000,
                (last - first) / 3600,
            )
        )
    return tuple(out)
