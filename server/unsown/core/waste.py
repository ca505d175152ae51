"""Sown twice: how much by bookkeeping, of what causes, and what it cost.

The headline is bookkeeping (job paper 3.15): width times the way of the openers is all the ground
that was seeded, counted as often as it was; less the ground that got seed at all, it is what was
seeded again. The phone's drift drops out of the way, which comes from speed as much as from
places. What the map shows is split by cause; what the two disagree by is told as "not explained".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from unsown.core.causes import BETWEEN, CAUSES, causes, late_runs, quads_of
from unsown.core.price import Prices, capacity_ha_per_h
from unsown.core.spread import LEFT, OVER, spread_ha
from unsown.core.words import Rig, Tally

#: Stretches of way are off each for itself, so the whole is off by the root of its length: m for
#: each √m, one sigma, and with each metre of drift. Measured on the runs of simulated days whose
#: taps were exact; a phone whose speed is biased is off by as much more.
_WALK, _WALK_DRIFT = 0.027, 0.032
#: So much of the band of bare ground counts where a picture was settled, and more with each metre
#: of drift: that band is kept wide enough for days with taps forgotten and positions missing.
#: Measured on the days of the accuracy report, and on others.
_BARE, _BARE_DRIFT = 0.75, 0.12
_Z = 1.645


@dataclass(frozen=True)
class Waste:
    """What was sown again. Hectares; 5 to 95 % band; by cause as the map shows it.

    ``spread_ha`` is how far each cause may be off to either side, half of its 5 to 95 % band.
    ``wished_ha`` is the driver's own choice, the wished overlap of each seam: a part of
    ``causes["between runs"]``, not on top of it. ``unexplained_ha`` is the headline less all
    causes. ``finished`` False: much is still bare, so the headline leans on the map.
    """

    again_ha: float
    low_ha: float
    high_ha: float
    share: float
    causes: Mapping[str, float]
    spread_ha: Mapping[str, float]
    wished_ha: float
    unexplained_ha: float
    seeded_ha: float
    finished: bool

    def cost(self, prices: Prices, ha_per_h: float) -> Cost:
        """What the headline cost at the farm's prices."""
        return cost(self.again_ha, prices, ha_per_h)


@dataclass(frozen=True)
class Cost:
    """What so many hectares sown again cost; money in the farm's own currency."""

    ha: float
    seed_kg: float
    fert_kg: float
    fuel_l: float
    hours: float
    money: float


def cost(ha: float, prices: Prices, ha_per_h: float) -> Cost:
    """Seed, fertiliser, fuel, hours and money of hectares sown again.

    Args:
        ha: hectares.
        prices: the farm's own.
        ha_per_h: effective field capacity, stops included.
    """
    return Cost(
        ha=ha,
        seed_kg=ha * prices.seed_kg_ha,
        fert_kg=ha * prices.fert_kg_ha,
        fuel_l=ha * prices.fuel_l_ha,
        hours=ha / ha_per_h,
        money=ha * prices.twice_ha(ha_per_h),
    )


def pace_ha_per_h(tally: Tally, width_m: float) -> float:
    """Hectares an hour over the whole time in the paddock, or from a usual pace where none is."""
    if tally.hours > 0 and tally.sown_ha > 0:
        return tally.sown_ha / tally.hours
    return capacity_ha_per_h(2.0, width_m)


def waste(tally: Tally, rigs: Sequence[Rig], *, boundary_sd_ha: float = 0.0) -> Waste:
    """What a day or a whole sowing of a paddock sowed again.

    Args:
        tally: what the engine found, with its ways.
        rigs: the rig cards of the day.
        boundary_sd_ha: spread of the paddock's own area where it came from a driven lap, ha.
    """
    g = tally.ground
    rig_of = {run.number: rigs[run.rig] for run in tally.runs}
    ranks = {n: r.tool.front_rank_m - r.tool.rear_rank_m for n, r in rig_of.items()}
    worked = {w.run for w in tally.ways}
    width = {w.run: w.width_m for w in tally.ways}
    ends_ha = sum(ranks[n] * width[n] for n in worked) / 1e4
    seeded = tally.swept_ha + ends_ha
    half = max(ranks.values(), default=0.0) / 2
    ground = tally.sown_ha + tally.part_ha + tally.outside_ha
    ground += _through_ha(tally, half)
    again = max(seeded - ground, 0.0)
    down, up = _spread_ha(tally, boundary_sd_ha)
    fence = shapely.union_all(
        np.asarray([p.exterior for p in shapely.get_parts(_outline(tally))], dtype=object)
    )
    # slivers beside seams that the picture cannot hold, but the estimate of bare ground does: as
    # much as a wandering run leaves bare on one side it sows again on the other
    slivers = tally.bare_ha * 1e4 - float(g.bare.area)
    areas, quads, extra, kind = causes(
        tally.ways, g.net, fence, g.keep_out,
        half_m=half, settle_m=settle_m(tally, rigs), hidden_m2=slivers,
    )  # fmt: skip
    by = {name: areas[name] / 1e4 for name in CAUSES}
    seam = float(np.sum(extra.cells[kind == CAUSES.index(BETWEEN)])) * extra.cell_m2 / 1e4
    swing = late_runs(quads, extra, g.net, slivers).swing_m2(*_shares_off(tally, width.values()))
    return Waste(
        again_ha=again,
        low_ha=max(again - down, 0.0),
        high_ha=again + up,
        share=again / ground if ground > 0 else 0.0,
        causes=by,
        spread_ha=spread_ha(
            by,
            net_ha=tally.net_ha,
            drift_m=_drift_m(tally),
            headline_ha=(down + up) / 2,
            swing_ha=swing / 1e4,
        ),
        wished_ha=min(_wished_ha(tally, rig_of), seam),
        unexplained_ha=again - sum(by.values()),
        seeded_ha=seeded,
        finished=tally.bare_ha + tally.doubt_ha < 0.05 * max(tally.net_ha, 1e-9),
    )


def _drift_m(tally: Tally) -> float:
    return (tally.settle or {}).get("sigma_m", 0.0)


def _shares_off(tally: Tally, widths_m: Iterable[float]) -> tuple[float, float]:
    """What was left, and what of a run went over sown ground: half the bands of these parts."""
    band = tally.bare_high_ha - tally.bare_low_ha
    left = _Z * LEFT * band / max(tally.net_ha, 1e-9)
    return left, _Z * OVER * _drift_m(tally) / max(widths_m, default=1.0)


def _spread_ha(tally: Tally, boundary_sd_ha: float) -> tuple[float, float]:
    """How far below and above the headline its 5 to 95 % band reaches, ha.

    A bare hectare less means a hectare sown once more: the band of bare ground is this one's too.
    """
    drift = _drift_m(tally)
    part = min(_BARE + _BARE_DRIFT * drift, 1.0) if tally.settle is not None else 1.0
    walked = float(np.sqrt(sum(w.width_m**2 * w.length_m for w in tally.ways))) / 1e4
    other = _Z * float(np.hypot(np.hypot(_WALK, _WALK_DRIFT * drift) * walked, boundary_sd_ha))
    below, above = tally.bare_ha - tally.bare_low_ha, tally.bare_high_ha - tally.bare_ha
    return float(np.hypot(other, part * below)), float(np.hypot(other, part * above))


def _through_ha(tally: Tally, half_m: float) -> float:
    """Ground in keep-outs that got seed: it is neither net nor outside, but was seeded, ha."""
    thing = tally.ground.keep_out
    if thing.is_empty:
        return 0.0
    quads = quads_of(tally.ways, half_m)
    shapes = shapely.polygons(np.stack([quads.x_m.T, quads.y_m.T], axis=2))
    shapely.prepare(thing)
    hit = shapes[shapely.intersects(thing, shapes)]
    return float(shapely.area(shapely.intersection(shapely.union_all(hit), thing))) / 1e4


def _outline(tally: Tally) -> shapely.Geometry:
    filled = shapely.union(tally.ground.net, tally.ground.keep_out)
    return shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(filled)])


def settle_m(tally: Tally, rigs: Sequence[Rig]) -> float:
    """Way at a restart within which seeding again was to be expected, m."""
    speed = tally.down_km * 1000 / sum(max(r.up_s - r.down_s, 1e-9) for r in tally.runs) \
        if tally.runs else 2.0  # fmt: skip
    return max(
        2 * (r.tool.front_rank_m - r.tool.rear_rank_m) + speed * r.times.fill_s for r in rigs
    )


def _wished_ha(tally: Tally, rig_of: Mapping[int, Rig]) -> float:
    """The wished overlap along every metre that ran beside another run, ha."""
    return sum(w.length_m * rig_of[w.run].tool.overlap_wish_m for w in tally.ways) / 1e4
