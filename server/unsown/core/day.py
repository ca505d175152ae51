"""The whole engine on one page: log + paddock + rig -> tally."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from unsown.core.bare import Shape, bounding_runs, call_of, kind_of, parted, patches, strip_chance
from unsown.core.between import Part, Seam, in_words, laid_together, tested
from unsown.core.cover import Strip, ground
from unsown.core.errors import TrackError
from unsown.core.fit import elsewhere, spacing
from unsown.core.hangs import hanging
from unsown.core.join import one_clock
from unsown.core.land import driven_lap, land_of, plane_of
from unsown.core.legs import Leg, legs_of
from unsown.core.outfits import miscalled
from unsown.core.picture import PegVisit, Picture, Stretch
from unsown.core.plane import Plane
from unsown.core.samples import SAMPLE_M
from unsown.core.settle import settle
from unsown.core.shares import shares
from unsown.core.strips import stretches_of, strips_of
from unsown.core.sure import Sure, count_draws, nearer
from unsown.core.words import (
    Ground,
    Log,
    Paddock,
    Patch,
    Rig,
    Run,
    Settings,
    Tally,
    Way,
)
from unsown.core.work import work_of

#: What the seed of the next rig's draws is larger by.
_RIG_SEED = 1000

Progress = Callable[[str, float], None]


def find(
    log: Log,
    paddock: Paddock,
    rigs: Sequence[Rig],
    settings: Settings = Settings(),  # noqa: B008 - frozen
    progress: Progress | None = None,
) -> tuple[Tally, Plane]:
    """Compute one day.

    Args:
        log: everything that was logged.
        paddock: boundary and keep-outs; ``area`` None takes the boundary from the first lap.
        rigs: rig cards, at least one.
        settings: what the caller chose.
        progress: called with a stage and the part done (0 to 1).

    Returns:
        The tally, and the plane its shapes lie on.

    Raises:
        TrackError: the log holds too few usable fixes.
        DayError: log, paddock and rig do not fit together.
    """
    tell = progress or (lambda stage, part: None)
    if len(log.fixes) < 2:
        raise TrackError(
            "track-empty",
            f"expected a track of positions with times, but it has {len(log.fixes)}",
            hint="Check that the file holds the day that was sown.",
        )
    plane = plane_of(paddock, log.fixes)
    t0_ms = int(log.fixes.t_ms.min())
    log, clocks = one_clock(log)
    tell("cleaning", 0.05)
    legs, dropped = legs_of(log.fixes, plane, rigs, t0_ms)
    tell("taps", 0.2)
    now_ms = t0_ms + round(1000 * max(float(leg.track.t_s[-1]) for leg in legs))
    if paddock.area is None:
        work = work_of(log, legs, rigs, settings, None, plane, t0_ms)
        lap = driven_lap(legs, work.runs, rigs, settings.clearance_m)
        land = land_of(paddock, plane, now_ms, lap, settings.clearance_m)
    else:
        land = land_of(paddock, plane, now_ms, None, settings.clearance_m)
        work = work_of(log, legs, rigs, settings, land.open, plane, t0_ms)
    runs = work.runs
    tell("settling", 0.3)
    stretches = stretches_of(legs, runs, rigs, work.bridged)
    pegs = _pegs(log, legs, plane, t0_ms)
    picture, seams = _together(stretches, log, legs, land.surveyed, pegs, settings, plane)
    tell("sweeping", 0.5)
    strips = strips_of(picture, legs, runs, rigs, work.bridged)
    states, again_m2 = ground(strips, land.boundary, land.keep_out, land.unreachable)
    tell("patches", 0.6)
    width = max((x.width_m for x in stretches), default=1.0)
    shapes = parted(patches(states.bare), width)
    most = [strip_chance(x, _gap_m(x, picture, seams, width), width) for x in shapes]
    sure = count_draws(
        picture,
        states.net,
        shapely.union(states.doubt, states.unreachable),
        float(states.bare.area),
        [x.outline for x in shapes],
        np.asarray(most),
        np.random.default_rng(settings.seed),
        lambda part: tell("how sure", 0.6 + 0.4 * part),
        nearer(states.doubt, picture),
    )
    found = _patches(shapes, sure, states, land.boundary, strips, runs, plane)
    outfits = {leg.phone: leg.outfit for leg in legs}
    along = [strip.doubt for strip in strips]
    found = hanging(found, states.doubt, along, runs, work.questions, t0_ms, outfits)
    tell("done", 1.0)
    tally = _tally(states, again_m2, found, strips, runs, sure, work.hidden_m2)
    rigs_did = shares(strips, runs, legs, rigs, states.net)
    names = [share.phones[0] for share in rigs_did]
    said = miscalled([(leg.phone, leg.cards) for leg in legs], rigs)
    said += [*spacing(stretches), *elsewhere(tally)]
    said += [in_words(seam.told, names) for seam in seams]
    notes = (*paddock.notes, *log.notes, *clocks, *land.notes, *work.notes, *said)
    return replace(
        tally,
        settle=picture.info,
        questions=work.questions,
        notes=notes,
        dropped=dropped,
        ways=_ways(picture, legs, runs),
        rigs=rigs_did,
        between=tuple(seam.told for seam in seams),
    ), plane


def _pegs(log: Log, legs: Sequence[Leg], plane: Plane, t0_ms: int) -> list[PegVisit]:
    """The peg checks of the log, by the phone that made them."""
    names = [leg.phone for leg in legs]
    out = []
    for mark in log.marks:
        lat, lon = mark.says.get("lat_deg"), mark.says.get("lon_deg")
        if mark.kind != "peg" or mark.phone not in names or lat is None or lon is None:
            continue
        x, y = plane.to_xy(np.asarray([float(lon)]), np.asarray([float(lat)]))
        t_s = (mark.t_ms - t0_ms) / 1000.0
        leg = names.index(mark.phone)
        out.append(PegVisit(t_s, leg, float(x[0]), float(y[0]), str(mark.says.get("name", ""))))
    return out


def _together(
    stretches: Sequence[Stretch],
    log: Log,
    legs: Sequence[Leg],
    boundary: BaseGeometry | None,
    pegs: Sequence[PegVisit],
    settings: Settings,
    plane: Plane,
) -> tuple[Picture, list[Seam]]:
    """The settled picture; of several rigs each by itself, then laid together and tested."""
    outfits = sorted({leg.outfit for leg in legs})
    if len(outfits) == 1:
        return _picture(stretches, legs, boundary, pegs, settings), []
    parts = []
    for number in outfits:
        mine = [leg for leg in legs if leg.outfit == number]
        own = [x for x in stretches if legs[x.leg].outfit == number]
        seen = tuple(p for p in pegs if legs[p.leg].outfit == number)
        phones = [k for k, name in enumerate(log.fixes.phones) if name in {g.phone for g in mine}]
        told = log.fixes.acc_m[np.isin(log.fixes.phone, phones)]
        told = told[np.isfinite(told)]
        good = float(np.median(told)) if len(told) else float("inf")
        # a chance of its own: with the same one the rigs' draws would wander alike, and the gap
        # between them would look as if both drifts cancelled
        chance = replace(settings, seed=settings.seed + _RIG_SEED * number)
        parts.append(Part(_picture(own, mine, boundary, seen, chance), seen, good))
    picture = laid_together(parts, np.random.default_rng([settings.seed, 3]))
    return picture, tested(picture, legs, plane)


def _gap_m(x: Shape, picture: Picture, seams: Sequence[Seam], width_m: float) -> float:
    """The constant gap, one sigma, that drift alone leaves along a patch, or two rigs' offset."""
    gap = picture.gap_m(x.length_m)
    for seam in seams:
        near = shapely.dwithin(x.outline, shapely.points(seam.x_m, seam.y_m), width_m)
        if near.sum() * SAMPLE_M > 0.5 * x.length_m:
            gap = max(gap, seam.told.sigma_m)
    return gap


def _picture(
    stretches: Sequence[Stretch],
    legs: Sequence[Leg],
    boundary: BaseGeometry | None,
    pegs: Sequence[PegVisit],
    settings: Settings,
) -> Picture:
    rates = [(leg.track.rate, leg.track.rate_error) for leg in legs if np.isfinite(leg.track.rate)]
    rate, error = np.median(rates, axis=0).tolist() if rates else (float("nan"), float("nan"))
    return settle(
        stretches,
        boundary,
        white_m=max(leg.track.sigma_m for leg in legs),
        rate=rate,
        rate_error=error,
        pegs=pegs,
        draws=settings.draws,
        rng=np.random.default_rng(settings.seed),
        move=settings.settle,
    )


def _ways(picture: Picture, legs: Sequence[Leg], runs: Sequence[Run]) -> tuple[Way, ...]:
    """Where the tool's middle went, stretch by stretch as settled."""
    out = []
    for each in sorted(picture.stretches, key=lambda s: (s.run, float(s.poses.t_s[0]))):
        poses = each.poses
        x = poses.x_m + each.middle_m * np.cos(poses.heading_rad)
        y = poses.y_m + each.middle_m * np.sin(poses.heading_rad)
        length = float(poses.path_m[-1] - poses.path_m[0])
        number, phone = runs[each.run].number, legs[each.leg].phone
        out.append(Way(number, phone, each.width_m, length, poses.t_s, x, y, poses.heading_rad))
    return tuple(out)


def _patches(
    shapes: Sequence[Shape],
    sure: Sure,
    states: Ground,
    boundary: BaseGeometry,
    strips: Sequence[Strip],
    runs: Sequence[Run],
    plane: Plane,
) -> list[Patch]:
    """The bare patches with their kind, place, bounding runs and chance."""
    if not shapes:
        return []
    bounds = bounding_runs([s.outline for s in shapes], strips)
    fence = shapely.union_all(np.asarray([g.exterior for g in shapely.get_parts(boundary)]))
    width = max((s.width_m for s in strips), default=1.0)
    starts = shapely.union_all(np.asarray([s.begin for s in strips], dtype=object))
    finishes = shapely.union_all(np.asarray([s.end for s in strips], dtype=object))
    chance = [float(c) for c in sure.chances]
    inside = shapely.point_on_surface(np.asarray([s.outline for s in shapes], dtype=object))
    lon, lat = plane.to_degrees(shapely.get_x(inside), shapely.get_y(inside))
    return [
        Patch(
            number=i + 1,
            outline=shape.outline,
            area_m2=shape.area_m2,
            width_m=shape.width_m,
            length_m=shape.length_m,
            kind=kind_of(shape, fence, states.keep_out, starts, finishes, width),
            chance=chance[i],
            call=call_of(chance[i]),
            place=Point(float(lon[i]), float(lat[i])),
            runs=tuple(runs[j].number for j in bounds[i]),
        )
        for i, shape in enumerate(shapes)
    ]


def _tally(
    states: Ground,
    again_m2: float,
    found: Sequence[Patch],
    strips: Sequence[Strip],
    runs: Sequence[Run],
    sure: Sure,
    hidden_m2: float,
) -> Tally:
    ha = {
        name: float(getattr(states, name).area) / 1e4
        for name in (
            "net",
            "keep_out",
            "sown",
            "part",
            "bare",
            "twice",
            "doubt",
            "unreachable",
            "outside",
        )
    }
    worked = [r for r in runs if r.up_s > r.down_s]
    hours = (worked[-1].up_s - worked[0].down_s) / 3600 if worked else 0.0
    listed = sum(p.area_m2 for p in found if p.call != "can't tell") / 1e4
    bare, (low, high) = ha["bare"], (ha["bare"], ha["bare"])
    if len(sure.bare_m2):
        bare = min(sure.best_m2 / 1e4, ha["bare"] + ha["sown"])
        low, high = (a / 1e4 for a in sure.band_m2)
    high += hidden_m2 / 1e4
    return Tally(
        net_ha=ha["net"],
        keep_out_ha=ha["keep_out"],
        sown_ha=ha["sown"] + ha["bare"] - bare,
        part_ha=ha["part"],
        bare_ha=bare,
        bare_low_ha=min(low, bare),
        bare_high_ha=max(high, bare),
        listed_ha=listed,
        twice_ha=ha["twice"],
        again_ha=again_m2 / 1e4,
        doubt_ha=ha["doubt"],
        unreachable_ha=ha["unreachable"],
        outside_ha=ha["outside"],
        swept_ha=sum(s.way_m * s.width_m for s in strips) / 1e4,
        down_km=sum(s.way_m for s in strips) / 1000,
        hours=hours,
        patches=tuple(found),
        questions=(),
        runs=tuple(runs),
        ground=states,
        notes=(),
        dropped={},
    )
