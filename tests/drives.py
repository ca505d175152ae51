"""Builders of small drives: straight(), turn(), stand(), headland(), and days made of them.

A drive is exact at every time: straight lines and arcs at constant speed. The path is the
phone's own, so a test that needs the tool knows it from closed forms, not from a simulator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box

from unsown.core.clean import Track, clean
from unsown.core.plane import Plane
from unsown.core.words import (
    Fixes,
    Log,
    Mark,
    Paddock,
    PhonePlace,
    Rig,
    Settings,
    Tally,
    Times,
    Tool,
)

PLANE = Plane(49.73, -106.21)
START_MS = 1_778_767_200_000
#: The picture as it was logged, by polygons alone.
PLAIN = Settings(settle=False, draws=0)

#: The phone sits on the tool itself: nothing is dragged, nothing is late.
RIGID = Rig("rigid", "mounted", Tool(8.0))
#: The phone sits on the pin of a 6.1 m drawbar.
DRAGGED = Rig("dragged", "towed", Tool(8.0, pin_to_axle_m=6.1))
#: Everything at once.
WHOLE = Rig(
    "whole",
    "towed",
    Tool(8.4, pin_to_axle_m=6.1, front_rank_m=1.7, rear_rank_m=-0.7, offset_left_m=0.35),
    phone=PhonePlace(0.9, 0.25),
    axle_to_pin_m=1.05,
    times=Times(1.8, 0.6, 0.9, 2.0, 0.3, 2.0),
)


@dataclass(frozen=True)
class Step:
    """One part of a drive: metres gone while turning by radians (left positive), or seconds."""

    metres: float = 0.0
    turn_rad: float = 0.0
    seconds: float = 0.0
    lever: str = ""


def straight(metres: float) -> list[Step]:
    return [Step(metres)]


def turn(radius_m: float, degrees: float) -> list[Step]:
    """An arc; positive degrees turn left."""
    bend = np.radians(degrees)
    return [Step(radius_m * abs(bend), bend)]


def stand(seconds: float) -> list[Step]:
    return [Step(seconds=seconds)]


def back(metres: float) -> list[Step]:
    return [Step(-metres)]


def down() -> list[Step]:
    return [Step(lever="down")]


def up() -> list[Step]:
    return [Step(lever="up")]


def headland(length_m: float, height_m: float, radius_m: float = 9.0) -> list[Step]:
    """One lap, anticlockwise, tool down all round: a rectangle with rounded corners."""
    a, b = length_m - 2 * radius_m, height_m - 2 * radius_m
    parts = down()
    for side in (a, b, a, b):
        parts += straight(side) + turn(radius_m, 90)
    return parts + up()


def runs(count: int, length_m: float, radius_m: float) -> list[Step]:
    """Up-and-back runs joined by half circles, the tool up in the turns."""
    parts: list[Step] = []
    for i in range(count):
        parts += down() + straight(length_m) + up()
        if i + 1 < count:
            parts += turn(radius_m, 180 if i % 2 == 0 else -180)
    return parts


@dataclass(frozen=True)
class Drive:
    """A drive as it was: positions, nose headings and speeds at the fixes; lever times, s."""

    t_s: np.ndarray
    x_m: np.ndarray
    y_m: np.ndarray
    heading_rad: np.ndarray
    speed_m_s: np.ndarray
    levers: tuple[tuple[float, str], ...]


def drive(
    parts: Sequence[Step],
    *,
    at: tuple[float, float, float] = (0.0, 0.0, 0.0),
    speed: float = 2.0,
    hz: float = 1.0,
    times: np.ndarray | None = None,
) -> Drive:
    """Drives the parts from (x, y, heading); a fix every 1 / hz seconds and at the end."""
    x, y, way = at
    t = 0.0
    begin, levers = [], []
    for part in parts:
        if part.lever:
            levers.append((t, part.lever))
        begin.append((t, x, y, way))
        t += abs(part.metres) / speed + part.seconds
        x, y, way = _along(part, 1.0, x, y, way)
    starts = np.array([b[0] for b in begin])
    grid = np.arange(0.0, t - 0.02 / hz, 1.0 / hz)
    t_s = np.r_[grid, t] if times is None else np.asarray(times)
    out = np.empty((len(t_s), 4))
    for i, now in enumerate(t_s):
        k = int(np.searchsorted(starts, now, side="right")) - 1
        part, (t0, x0, y0, way0) = parts[k], begin[k]
        lasts = abs(part.metres) / speed + part.seconds
        share = 0.0 if lasts == 0 else min(1.0, (now - t0) / lasts)
        out[i, :3] = _along(part, share, x0, y0, way0)
        out[i, 3] = np.sign(part.metres) * speed
    return Drive(t_s, *out.T, tuple(levers))


def _along(part: Step, share: float, x: float, y: float, way: float) -> tuple[float, float, float]:
    metres, bend = part.metres * share, part.turn_rad * share
    chord = metres * np.sinc(bend / 2 / np.pi)
    return (
        x + chord * np.cos(way + bend / 2),
        y + chord * np.sin(way + bend / 2),
        way + bend,
    )


def fixes(d: Drive, plane: Plane = PLANE, *, told: bool = True, phone: str = "phone") -> Fixes:
    """The drive as fixes; ``told``: speed over ground and course are reported."""
    n = len(d.t_s)
    lon, lat = plane.to_degrees(d.x_m, d.y_m)
    none = np.full(n, np.nan)
    going = np.where(d.speed_m_s < 0, d.heading_rad + np.pi, d.heading_rad)
    course = np.where(d.speed_m_s == 0, np.nan, np.degrees(np.pi / 2 - going) % 360)
    return Fixes(
        t_ms=START_MS + np.rint(d.t_s * 1000).astype(np.int64),
        lat_deg=lat,
        lon_deg=lon,
        acc_m=none,
        speed_m_s=np.abs(d.speed_m_s) if told else none,
        course_deg=course if told else none,
        phone=np.zeros(n, dtype=np.int64),
        segment=np.zeros(n, dtype=np.int64),
        phones=(phone,),
    )


def marks(levers: Sequence[tuple[float, str]], phone: str = "phone") -> tuple[Mark, ...]:
    return tuple(
        Mark(START_MS + round(t * 1000), "lever", phone, i + 1, {"lever": state})
        for i, (t, state) in enumerate(levers)
    )


def log(d: Drive, plane: Plane = PLANE, *, told: bool = True) -> Log:
    return Log(fixes(d, plane, told=told), marks(d.levers))


def paddock(shape: Polygon, plane: Plane = PLANE, name: str = "invented") -> Paddock:
    return Paddock(name, MultiPolygon([plane.shape_to_degrees(shape)]))


def small_day(
    *, length_m: float = 160.0, count: int = 4, spacing_m: float = 16.0, told: bool = True
) -> tuple[Log, Paddock]:
    """A lap round a rectangle, then runs up and back inside it; about ten minutes."""
    height = (count - 1) * spacing_m + 60.0
    parts = headland(length_m, height) + straight(30.0) + turn(15.0, 90) + turn(15.0, -90)
    parts += runs(count, length_m - 90.0, spacing_m / 2)
    d = drive(parts, at=(9.0, 4.0, 0.0), hz=1.0)
    return log(d, told=told), paddock(box(0.0, 0.0, length_m, height + 8.0))


def cleaned(d: Drive, **changes: np.ndarray) -> Track:
    n = len(d.t_s)
    told = {
        "acc_m": np.full(n, np.nan),
        "speed_m_s": np.abs(d.speed_m_s),
        "course_rad": d.heading_rad.copy(),
    }
    where = {"t_s": d.t_s, "x_m": d.x_m, "y_m": d.y_m}
    every = {**where, **told, **changes}
    return clean(every["t_s"], every["x_m"], every["y_m"], **{k: every[k] for k in told})


def untold(d: Drive, **changes: np.ndarray) -> Track:
    nothing = np.full(len(d.t_s), np.nan)
    return cleaned(d, speed_m_s=nothing, course_rad=nothing, **changes)


def picked(f: Fixes, rows: np.ndarray) -> Fixes:
    """Some of the fixes, in the order given."""
    names = ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg", "phone", "segment")
    return replace(f, **{name: getattr(f, name)[rows] for name in names})


def sums(t: Tally) -> float:
    """sown + part + bare + doubt + unreachable − net, m²: must be nothing."""
    parts = t.sown_ha + t.part_ha + t.bare_ha + t.doubt_ha + t.unreachable_ha
    return (parts - t.net_ha) * 1e4
