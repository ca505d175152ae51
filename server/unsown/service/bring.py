"""A boundary from elsewhere, to look at before it is kept: from a file, or from a driven lap."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from unsown.core.errors import DayError
from unsown.core.join import one_clock
from unsown.core.land import driven_lap, land_of, plane_of
from unsown.core.legs import Leg, legs_of
from unsown.core.loop import area_sigma
from unsown.core.plane import Plane
from unsown.core.words import Fixes, KeepOut, Log, Paddock, Rig, Settings
from unsown.core.work import work_of
from unsown.formats import log as logs
from unsown.formats.boundary import read_paddock
from unsown.formats.geojson import degrees
from unsown.formats.outline import collection
from unsown.service import carry
from unsown.service.rigcards import rigs_for
from unsown.service.things import measured
from unsown.store.store import Store

#: A lap is looked for from a while before the first lowering on, and takes no longer than this.
_BEFORE_MS, _LONGEST_MS = 600_000, 5 * 3_600_000
#: More positions than this are not worked out while somebody waits: 5 h ten times a second.
_MOST_FIXES = 200_000


def from_file(name: str, data: bytes, now_ms: int) -> dict[str, Any]:
    """GeoJSON, KML, KMZ, zipped shapefile or GeoPackage -> geojson, notes, area_ha; not kept.

    Raises:
        PaddockError: it cannot be read, or holds no paddock.
    """
    paddock = read_paddock(data, name)
    facts = measured(paddock, now_ms)
    return {
        "geojson": collection(paddock),
        "notes": list(paddock.notes),
        "area_ha": facts["net_ha"],
        "sigma_ha": None,
    }


def from_lap(store: Store, season: int, day: str, dev: str | None = None) -> dict[str, Any]:
    """The boundary round the first lap of a farm day -> geojson, notes, area_ha, sigma_ha.

    ``sigma_ha`` is one standard deviation; None where the lap does not tell it.

    Raises:
        FarmError: nothing was logged on that day.
        DayError: no rig card, no lap, or two phones that drove far apart (name one).
        TrackError: nothing usable, or no lever in it.
    """
    log = _lap_of(_log_of(store, season, day, dev), day)
    with store.read() as conn:
        named = [(m.t_ms, str(m.says.get("card", ""))) for m in log.marks if m.kind == "rig"]
        rigs, _, notes = rigs_for(conn, named)
    if not rigs:
        raise DayError(
            "rig-none",
            "A boundary from a lap needs the rig's width and distances, and there is no rig card.",
            hint="Make the rig card first.",
        )
    settings = Settings()
    ground = Paddock("", None, boundary="lap")
    plane = plane_of(ground, log.fixes)
    t0_ms = int(log.fixes.t_ms.min())
    log, clocks = one_clock(log)
    legs, _ = legs_of(log.fixes, plane, rigs, t0_ms)
    runs = work_of(log, legs, rigs, settings, None, plane, t0_ms).runs
    lap = driven_lap(legs, runs, rigs, settings.clearance_m)
    land = land_of(ground, plane, t0_ms, lap, settings.clearance_m)
    sigma_m2 = _sigma(legs, rigs, runs[0].rig, lap.from_s, lap.to_s)
    outline = replace(
        ground,
        area=degrees(land.boundary, plane),
        keep_outs=_unreachable(land.unreachable, plane),
    )
    return {
        "geojson": collection(outline),
        "notes": [*notes, *clocks, *land.notes],
        "area_ha": round(float(land.boundary.area) / 1e4, 4),
        "sigma_ha": None if np.isnan(sigma_m2) else round(sigma_m2 / 1e4, 3),
    }


def _log_of(store: Store, season: int, day: str, dev: str | None) -> Log:
    text = b"".join(carry.lines(store, season, None, day).parts)
    log = logs.read(text, f"the log of {day}")
    if dev is None:
        return log
    known = log.fixes.phones
    which = known.index(dev) if dev in known else -1
    return replace(
        log,
        fixes=_some(log.fixes, log.fixes.phone == which),
        marks=tuple(m for m in log.marks if m.phone == dev),
    )


def _lap_of(log: Log, day: str) -> Log:
    """The hours in which the first lap was driven: the rest of the day need not be cleaned."""
    down = [m.t_ms for m in log.marks if m.kind == "lever" and m.says.get("lever") == "down"]
    if not down or len(log.fixes) < 2:
        raise DayError(
            "lap-none",
            f"A lap with the tool down was expected on {day}; "
            + ("no lowering was logged." if len(log.fixes) >= 2 else "no track was logged."),
            hint="Choose the day, or the phone, that drove the lap.",
        )
    first = min(down)
    t = log.fixes.t_ms
    inside = (t >= first - _BEFORE_MS) & (t <= first + _LONGEST_MS)
    if inside.sum() > _MOST_FIXES:
        raise DayError(
            "lap-long",
            f"At most {_MOST_FIXES:,} positions were expected in the hours of the first lap; "
            f"{inside.sum():,} came.",
            where=day,
            hint="Name one phone.",
        )
    return replace(log, fixes=_some(log.fixes, inside))


def _some(fixes: Fixes, which: Any) -> Fixes:
    names = [name for name in fixes.__dataclass_fields__ if name != "phones"]
    return replace(fixes, **{name: getattr(fixes, name)[which] for name in names})


def _sigma(legs: list[Leg], rigs: tuple[Rig, ...], rig: int, from_s: float, to_s: float) -> float:
    """One standard deviation of the lap's area, m², from how its own fixes wander."""
    for leg in legs:
        path = leg.trails[rig]
        on = (path.t_s >= from_s) & (path.t_s <= to_s)
        if on.sum() > 2:
            return area_sigma(path.t_s[on], path.x_m[on], path.y_m[on], leg.track.rate)
    return float("nan")


def _unreachable(shape: BaseGeometry, plane: Plane) -> tuple[KeepOut, ...]:
    if shape.is_empty:
        return ()
    area: MultiPolygon = degrees(shape, plane)
    return (KeepOut("unreachable", area),)
