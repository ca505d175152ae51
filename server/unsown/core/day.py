"""The whole engine on one page: log + paddock + rig -> tally."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from unsown.core.bare import Shape, bounding_runs, call_of, kind_of, patches
from unsown.core.clean import Track, clean
from unsown.core.cover import (
    EMPTY,
    Strip,
    blind_between,
    blind_swath,
    ground,
    poses_between,
    strip,
)
from unsown.core.errors import DayError, TrackError
from unsown.core.lap import Lap, first_lap
from unsown.core.lever import runs_from_segments, runs_from_taps, taps
from unsown.core.plane import Plane
from unsown.core.settle import Picture, Stretch, settle
from unsown.core.sure import Sure, count_draws
from unsown.core.trail import Trail, trail
from unsown.core.words import (
    Fixes,
    Floats,
    Ground,
    Log,
    Paddock,
    Patch,
    Rig,
    Run,
    Settings,
    Tally,
)

Progress = Callable[[str, float], None]
Window = tuple[float, float]

#: No fix nearer than this to the paddock: they do not belong together, m.
_FAR_M = 2000.0


@dataclass(frozen=True)
class Leg:
    """One phone's track and its trail for each rig card, with the times it is believed for."""

    phone: str
    track: Track
    trails: tuple[Trail, ...]
    windows: tuple[Window, ...]


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
    plane = _plane(paddock, log.fixes)
    t0_ms = int(log.fixes.t_ms.min())
    tell("cleaning", 0.05)
    legs, dropped = _legs(log.fixes, plane, rigs, t0_ms)
    runs, notes = _runs(log, rigs, settings, t0_ms)
    tell("boundary", 0.3)
    boundary, keep_out, unreachable, more = _paddock(
        paddock, plane, legs, runs, rigs, settings, t0_ms
    )
    tell("sweeping", 0.4)
    stretches = _stretches(legs, runs, rigs)
    picture = _picture(stretches, legs, None if paddock.area is None else boundary, settings)
    tell("sweeping", 0.5)
    strips = _strips(picture.stretches, legs, runs, rigs)
    states, again_m2 = ground(strips, boundary, keep_out, unreachable)
    tell("patches", 0.6)
    shapes = patches(states.bare)
    sure = count_draws(
        picture,
        states.net,
        shapely.union(states.doubt, states.unreachable),
        float(states.bare.area),
        [x.outline for x in shapes],
        lambda part: tell("how sure", 0.6 + 0.4 * part),
    )
    found = _patches(shapes, sure, states, boundary, strips, runs, plane)
    tell("done", 1.0)
    tally = replace(_tally(states, again_m2, found, strips, runs, sure), settle=picture.info)
    every_note = (*paddock.notes, *log.notes, *more, *notes)
    return replace(tally, notes=every_note, dropped=dropped), plane


def _plane(paddock: Paddock, fixes: Fixes) -> Plane:
    """The paddock's plane; refuses a track that lies elsewhere."""
    if paddock.area is None:
        middle = (np.median(fixes.lon_deg), np.median(fixes.lat_deg))
        near = Plane(float(middle[1]), float(middle[0]))
        x, y = near.to_xy(fixes.lon_deg, fixes.lat_deg)
        close = np.hypot(x, y) < 20_000
        return Plane.around(fixes.lon_deg[close], fixes.lat_deg[close])
    corners = shapely.get_coordinates(paddock.area)
    plane = Plane.around(corners[:, 0], corners[:, 1])
    x, y = plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    away = _distance(plane.shape_to_xy(paddock.area), x, y)
    if away > _FAR_M:
        sx, sy = plane.to_xy(fixes.lat_deg, np.clip(fixes.lon_deg, -90, 90))
        swapped = _distance(plane.shape_to_xy(paddock.area), sx, sy) < _FAR_M
        hint = (
            "Latitude and longitude look swapped in one of the two."
            if swapped
            else "Give the track and the paddock of the same place."
        )
        raise DayError(
            "track-elsewhere",
            f"expected a track in paddock {paddock.name!r}, but its nearest fix is"
            f" {away / 1000:.0f} km away",
            hint=hint,
        )
    return plane


def _distance(area: BaseGeometry, x: Floats, y: Floats) -> float:
    """Distance from the nearest fix to the paddock, metres."""
    ok = np.isfinite(x) & np.isfinite(y)
    if not ok.any():
        return float("inf")
    shapely.prepare(area)
    return float(shapely.distance(area, shapely.points(x[ok], y[ok])).min())


def _legs(
    fixes: Fixes, plane: Plane, rigs: Sequence[Rig], t0_ms: int
) -> tuple[list[Leg], dict[str, int]]:
    """Each phone cleaned and towed by itself; where two overlap the better one is believed."""
    x, y = plane.to_xy(fixes.lon_deg, fixes.lat_deg)
    t = (fixes.t_ms - t0_ms) / 1000.0
    course = np.radians(90.0 - fixes.course_deg)
    dropped: dict[str, int] = {}
    legs: list[Leg] = []
    for i, name in enumerate(fixes.phones):
        mine = np.flatnonzero(fixes.phone == i)
        if len(mine) == 0:
            continue
        track = clean(
            t[mine],
            x[mine],
            y[mine],
            acc_m=fixes.acc_m[mine],
            speed_m_s=fixes.speed_m_s[mine],
            course_rad=course[mine],
        )
        for reason, count in track.dropped.items():
            dropped[reason] = dropped.get(reason, 0) + count
        if len(track):
            legs.append(Leg(name, track, tuple(trail(track, rig) for rig in rigs), ()))
    if not legs:
        raise TrackError(
            "track-unusable",
            f"expected at least two usable fixes, but all {len(fixes)} were dropped: "
            + ", ".join(f"{n} {why}" for why, n in sorted(dropped.items())),
        )
    return _believed(legs), dropped


def _believed(legs: list[Leg]) -> list[Leg]:
    """Give every leg the times it is believed for: alone always, else minute by minute."""
    if len(legs) == 1:
        only = legs[0]
        span = (float(only.track.t_s[0]), float(only.track.t_s[-1]))
        return [Leg(only.phone, only.track, only.trails, (span,))]
    last = max(leg.track.t_s[-1] for leg in legs)
    first = min(leg.track.t_s[0] for leg in legs)
    minutes = np.arange(first, last + 60.0, 60.0)
    quality = np.full((len(legs), len(minutes) - 1), np.inf)
    for i, leg in enumerate(legs):
        count = np.histogram(leg.track.t_s, minutes)[0]
        inside = (minutes[1:] > leg.track.t_s[0]) & (minutes[:-1] < leg.track.t_s[-1])
        quality[i] = np.where((count > 5) | (inside & (count > 0)), leg.track.sigma_m, np.inf)
    best = np.argmin(quality, axis=0)
    out = []
    for i, leg in enumerate(legs):
        mine = (best == i) & np.isfinite(quality[i])
        edges = np.flatnonzero(np.diff(np.r_[0, mine.astype(np.int8), 0]))
        windows = tuple(
            (float(minutes[a]), float(minutes[b]))
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        )
        out.append(Leg(leg.phone, leg.track, leg.trails, windows))
    return out


def _runs(
    log: Log, rigs: Sequence[Rig], settings: Settings, t0_ms: int
) -> tuple[list[Run], list[str]]:
    if settings.runs == "segments":
        return runs_from_segments(log.fixes, rigs, t0_ms), []
    changes, notes = taps(log.marks)
    if not changes:
        raise TrackError(
            "no-lever",
            "expected marks of where the tool went down and up, but the track has none",
            hint="Use waypoints named down/up, our log's lever entries, or --runs segments.",
        )
    return runs_from_taps(changes, rigs, t0_ms, int(log.fixes.t_ms.max())), notes


def _paddock(
    paddock: Paddock,
    plane: Plane,
    legs: Sequence[Leg],
    runs: Sequence[Run],
    rigs: Sequence[Rig],
    settings: Settings,
    t0_ms: int,
) -> tuple[BaseGeometry, BaseGeometry, BaseGeometry, list[str]]:
    """Boundary, keep-outs and unreachable ground on the plane, with notes."""
    notes: list[str] = []
    reach: list[BaseGeometry] = []
    outs: list[BaseGeometry] = []
    for k in paddock.keep_outs:
        starts, ends = k.from_ms, k.until_ms
        if (starts is not None and t0_ms < starts) or (ends is not None and t0_ms > ends):
            name = k.name or k.kind
            notes.append(f"keep-out {name!r} does not hold on this day: counted as paddock")
            continue
        (reach if k.kind == "unreachable" else outs).append(plane.shape_to_xy(k.area))
    if paddock.area is None:
        lap = _lap(legs, runs, rigs, settings)
        boundary: BaseGeometry = lap.fence
        reach.append(lap.unreachable)
        notes.append(
            f"boundary from the first lap ({lap.fence.area / 1e4:.1f} ha), fence taken"
            f" {settings.clearance_m:g} m beyond the tool"
        )
    else:
        boundary = shapely.union_all(np.asarray([plane.shape_to_xy(paddock.area)], dtype=object))
    keep_out = shapely.union_all(np.asarray(outs, dtype=object)) if outs else EMPTY
    if outs:
        keep_out = shapely.intersection(keep_out, boundary)
    unreachable = shapely.union_all(np.asarray(reach, dtype=object)) if reach else EMPTY
    return boundary, keep_out, unreachable, notes


def _lap(legs: Sequence[Leg], runs: Sequence[Run], rigs: Sequence[Rig], settings: Settings) -> Lap:
    first = runs[0] if runs else None
    if first is None:
        raise DayError("lap-none", "expected a first lap with the tool down, but it was never down")
    rig = rigs[first.rig]
    middle = (rig.tool.front_rank_m + rig.tool.rear_rank_m) / 2
    for leg in legs:
        path = leg.trails[first.rig]
        from_here = path.t_s >= first.down_s
        if from_here.sum() > 2:
            x = path.x_m + middle * np.cos(path.heading_rad)
            y = path.y_m + middle * np.sin(path.heading_rad)
            return first_lap(
                path.t_s[from_here],
                x[from_here],
                y[from_here],
                rig.tool.width_m,
                settings.clearance_m,
            )
    raise DayError("lap-none", "expected a track of the first lap, but there are no fixes in it")


def _stretches(legs: Sequence[Leg], runs: Sequence[Run], rigs: Sequence[Rig]) -> list[Stretch]:
    """All unbroken stretches of all runs, in time order of each run."""
    out = []
    for i, run in enumerate(runs):
        tool = rigs[run.rig].tool
        for j, leg in enumerate(legs):
            for a, b in leg.windows:
                lo, hi = max(a, run.on_s), min(b, run.off_s)
                out += [
                    Stretch(i, j, tool.front_rank_m, tool.rear_rank_m, tool.width_m, poses)
                    for poses in poses_between(leg.trails[run.rig], lo, hi)
                ]
    return out


def _picture(
    stretches: Sequence[Stretch],
    legs: Sequence[Leg],
    boundary: BaseGeometry | None,
    settings: Settings,
) -> Picture:
    rates = [leg.track.rate for leg in legs if np.isfinite(leg.track.rate)]
    return settle(
        stretches,
        boundary,
        white_m=max(leg.track.sigma_m for leg in legs),
        rate=float(np.median(rates)) if rates else float("nan"),
        pegs=None,
        draws=settings.draws,
        rng=np.random.default_rng(settings.seed),
        move=settings.settle,
    )


def _strips(
    stretches: Sequence[Stretch], legs: Sequence[Leg], runs: Sequence[Run], rigs: Sequence[Rig]
) -> list[Strip]:
    """One strip for each run: its stretches, and doubt where it was blind."""
    out = []
    for i, run in enumerate(runs):
        tool = rigs[run.rig].tool
        mine = sorted((x.poses for x in stretches if x.run == i), key=lambda p: float(p.t_s[0]))
        doubt = []
        for leg in legs:
            path = leg.trails[run.rig]
            for a, b in leg.windows:
                lo, hi = max(a, run.on_s), min(b, run.off_s)
                if hi > lo:
                    doubt += [
                        blind_swath(path, k, m, tool.width_m)
                        for k, m in blind_between(path, lo, hi)
                    ]
        out.append(
            strip(run.number, mine, tool.front_rank_m, tool.rear_rank_m, tool.width_m, doubt)
        )
    return out


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
    ends = [(s.front[0], s.rear[-1]) for s in strips if s.front]
    starts = shapely.union_all(np.asarray([a for a, _ in ends], dtype=object)) if ends else EMPTY
    finishes = shapely.union_all(np.asarray([b for _, b in ends], dtype=object)) if ends else EMPTY
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
            chance=float(sure.chances[i]),
            call=call_of(float(sure.chances[i])),
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
    bare = float(sure.bare_m2.mean()) / 1e4 if len(sure.bare_m2) else ha["bare"]
    bare = min(bare, ha["bare"] + ha["sown"])
    band = np.quantile(sure.bare_m2, [0.05, 0.95]) / 1e4 if len(sure.bare_m2) else [bare, bare]
    return Tally(
        net_ha=ha["net"],
        keep_out_ha=ha["keep_out"],
        sown_ha=ha["sown"] + ha["bare"] - bare,
        part_ha=ha["part"],
        bare_ha=bare,
        bare_low_ha=min(float(band[0]), bare),
        bare_high_ha=max(float(band[1]), bare),
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
