"""What label a said patch truly deserves: what its true ground is worth, on the way that was told.

A label is advice about one place, given together with a way through the places that are worth it.
So the truth is asked about the same place on the same way. The true patch that a said one stands
for is the one that it shares most ground with, more than a quarter of the smaller of the two. Its
true net is the better of

- the runs that were told, as they were told, on the ground that is truly bare: value of what they
  would really sow, cost of what they would really sow again, and the time told;
- the runs that would be told had the phone known the truth, at the time told for the others, more
  or less by what these runs themselves take longer or shorter.

The label is that of this net by the product's own rule; where no straight run reaches anything,
told or true, it is ``leave``. Where nothing is bare, ``leave`` is the true label and no other:
there is nothing to go back for.

A patch that an open answer may close has no true label: whoever asks first goes where the answer
sends them. It is told apart, with what of it is truly bare.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from unsown.core.aim import Aim, Reach
from unsown.core.price import Prices
from unsown.core.words import Patch, Tally
from unsown.core.worth import LEVER_S, Group, Label, Worth, label_of

#: A said patch stands for a true one when they share this part of the smaller.
SHARED = 0.25


def labels(
    tally: Tally,
    true: Sequence[Patch],
    bare: BaseGeometry,
    told: Worth,
    known: Worth,
    prices: Prices,
    r: Reach,
    speed_m_s: float,
) -> list[dict[str, object]]:
    """Each sure patch with the label said and the true one; of parts of one the largest counts.

    Those that an answer decides are left out: ``asked`` has them.

    Args:
        tally: the day as it was said.
        true: the true patches, and ``bare`` all ground truly bare, on the same plane.
        bare: see above.
        told: what was told to go back for.
        known: what would be told of the true patches.
        prices: the farm's own.
        r: the rig's reach.
        speed_m_s: the working speed.
    """
    said = {n: g for g in told.groups for n in g.patches}
    best = {n: g for g in known.groups for n in g.patches}
    out, done = [], set()
    for p in sorted(tally.patches, key=lambda p: -p.area_m2):
        if p.call != "sure" or p.number not in said or _hangs(p, said[p.number]):
            continue
        t = stands_for(p, true)
        if t is not None and (t.number in done or t.number not in best):
            continue
        label: Label = "leave"
        if t is not None:
            done.add(t.number)
            judge = _Judge(tally.ground.net, bare, prices, r, speed_m_s)
            label = judge.label(said[p.number], t, best[t.number], true)
        out.append({"m2": p.area_m2, "said": said[p.number].label, "true": label})
        if t is None:
            out[-1]["there"] = False
    return out


def asked(
    tally: Tally, true: Sequence[Patch], bare: BaseGeometry, told: Worth
) -> list[dict[str, object]]:
    """Each patch that an open answer may close, or that is asked about first, however sure.

    ``bare``: it stands for a true patch; ``bare_m2``: so much of it is truly bare.
    """
    said = {n: g for g in told.groups for n in g.patches}
    return [
        {
            "m2": p.area_m2,
            "said": said[p.number].label,
            "bare": stands_for(p, true) is not None,
            "bare_m2": float(shapely.area(shapely.intersection(p.outline, bare))),
        }
        for p in tally.patches
        if p.number in said and _hangs(p, said[p.number])
    ]


def _hangs(p: Patch, told: Group) -> bool:
    """An answer decides: over the patch, or over the trip that it was told together with."""
    return bool(p.asks) or told.label == "ask first"


def stands_for(p: Patch, true: Sequence[Patch]) -> Patch | None:
    """The true patch that a said one stands for; None where nothing is bare."""
    shared = [float(shapely.area(shapely.intersection(p.outline, t.outline))) for t in true]
    if not shared:
        return None
    most = max(shared)
    t = true[shared.index(most)]
    return t if most > SHARED * min(p.area_m2, t.area_m2) else None


class _Judge:
    """Weighs true ground on a way that was told."""

    def __init__(
        self, net: BaseGeometry, bare: BaseGeometry, prices: Prices, r: Reach, speed_m_s: float
    ) -> None:
        self.net, self.bare, self.prices, self.r = net, bare, prices, r
        self.speed_m_s = speed_m_s

    def label(self, told: Group, t: Patch, best: Group, true: Sequence[Patch]) -> Label:
        sure = {p.number: replace(p, chance=1.0) for p in true}
        choices = [best]
        if told.runs and told.label != "look first":
            longer = self.alone_s(best.runs) - self.alone_s(told.runs)
            same = replace(best, cost=best.cost + self.hours(told.seconds + longer - best.seconds))
            choices = [self.driven(told, t), *([same] if best.runs else [])]
        return label_of(max(choices, key=lambda g: g.net), sure, self.prices)

    def driven(self, told: Group, t: Patch) -> Group:
        """The group as it was told, on the true ground."""
        half = self.r.width_m / 2
        swaths = [LineString([a.start, a.end]).buffer(half, cap_style="flat") for a in told.runs]
        ground = shapely.union_all(swaths)
        sown = float(shapely.area(shapely.intersection(ground, self.bare)))
        twice = float(shapely.area(shapely.intersection(ground, self.net))) - sown
        mine = float(shapely.area(shapely.intersection(ground, t.outline)))
        a_ha = self.prices.seed_and_fertiliser_ha + self.prices.fuel_l_ha * self.prices.fuel_price_l
        return replace(
            told,
            patches=(t.number,),
            value=sown / 1e4 * self.prices.bare_ha(),
            cost=max(twice, 0.0) / 1e4 * a_ha + self.hours(told.seconds),
            twice_m2=max(twice, 0.0),
            left_m2=max(t.area_m2 - mine, 0.0),
        )

    def hours(self, seconds: float) -> float:
        """What time costs."""
        return seconds / 3600 * self.prices.tractor_h

    def alone_s(self, runs: Sequence[Aim]) -> float:
        """What runs take by themselves: their way, a turn up to each, the lever."""
        way = sum(a.length_m + self.r.lead_m + 3.5 * self.r.turn_m for a in runs)
        return way / self.speed_m_s + 2 * LEVER_S * len(runs)
