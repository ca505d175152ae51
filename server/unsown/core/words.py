"""The nouns of the job, frozen, with a unit in the name of every measured field.

Degrees are WGS84. Times are UTC milliseconds since 1970 (``t_ms``) or seconds since the
day's first fix (``t_s``). Lengths are metres, headings radians anticlockwise from east,
left is positive. NaN in an array means "not given".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from shapely.geometry import MultiPolygon, Point
from shapely.geometry.base import BaseGeometry

from unsown.core.rigs import Between, Share

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

RigKind = Literal["towed", "mounted", "cart-between"]
PatchKind = Literal["corner", "start", "finish", "pocket", "strip", "edge"]
Call = Literal["sure", "likely", "can't tell"]


@dataclass(frozen=True)
class Skipped:
    """Something a reader or the engine left out: how many, where and why."""

    reason: str
    count: int = 1
    where: str = ""


@dataclass(frozen=True)
class Fixes:
    """Positions as they came, one row a fix, in time order of their source; arrays of (n,).

    As reported: radius of accuracy ``acc_m``, ``speed_m_s`` over ground and ``course_deg``
    clockwise from north, NaN where not given. ``phone`` indexes ``phones``; ``segment`` numbers
    the source's own segments, one after another over all files.
    """

    t_ms: Ints
    lat_deg: Floats
    lon_deg: Floats
    acc_m: Floats
    speed_m_s: Floats
    course_deg: Floats
    phone: Ints
    segment: Ints
    phones: tuple[str, ...] = ("phone",)

    def __len__(self) -> int:
        return len(self.t_ms)


@dataclass(frozen=True)
class Mark:
    """One log entry that is not a fix, at ``t_ms``, UTC milliseconds.

    ``kind`` is the log's word (``lever``, ``flow``, ``mark``, ``fill``, ``peg``, ``stop``,
    ``shift``, ``blind``, ``rig``, ``say``, ``undo``, ``walk``, ``phone``), ``phone`` the label of
    the phone that wrote it, ``seq`` its number there, 0 where there are none. ``says`` holds the
    other fields under their log names, such as ``{"lever": "down"}``.
    """

    t_ms: int
    kind: str
    phone: str = "phone"
    seq: int = 0
    says: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Log:
    """Everything that was logged: fixes and marks, with what the readers skipped."""

    fixes: Fixes
    marks: tuple[Mark, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class PhonePlace:
    """Where the phone sits; ``ahead_of_seat_m``: how far ahead of the driver's eye, m."""

    ahead_of_axle_m: float = 0.0
    left_of_centre_m: float = 0.0
    ahead_of_seat_m: float = 0.0


@dataclass(frozen=True)
class Cart:
    """A cart between tractor and tool."""

    pin_to_axle_m: float
    axle_to_pin_m: float


@dataclass(frozen=True)
class Tool:
    """The seeding tool. Ranks are measured ahead of its axle (behind is negative).

    A mounted one has none: they are measured from the tractor's rear axle.
    """

    width_m: float
    openers: int | None = None
    spacing_m: float | None = None
    pin_to_axle_m: float = 0.0
    front_rank_m: float = 0.0
    rear_rank_m: float = 0.0
    offset_left_m: float = 0.0
    overlap_wish_m: float = 0.0
    tine_caution_deg: float = 12.0
    tine_severe_deg: float = 25.0


@dataclass(frozen=True)
class Times:
    """Seconds between the lever and what it causes (job paper section 3.1, 3.6).

    ``drain_s`` None means it was not measured: seed is then taken to end with the lift.
    ``first_starve_s`` None means 0.7 of ``drain_s``.
    """

    lower_s: float = 0.0
    raise_s: float = 0.0
    meter_s: float = 0.0
    fill_s: float = 0.0
    fill_spread_s: float = 0.0
    drain_s: float | None = None
    first_starve_s: float | None = None


@dataclass(frozen=True)
class Rig:
    """One rig card: all distances and times of one tractor, tool and phone place.

    ``from_ms`` is the time from which this card holds; None means from the beginning. ``phones``
    are those that ride on it; with none it holds for every phone that no other card names.
    """

    name: str
    kind: RigKind
    tool: Tool
    phone: PhonePlace = PhonePlace()
    axle_to_pin_m: float = 0.0
    cart: Cart | None = None
    tightest_m: float | None = None
    times: Times = Times()
    from_ms: int | None = None
    notes: tuple[str, ...] = ()
    phones: tuple[str, ...] = ()


@dataclass(frozen=True)
class KeepOut:
    """Ground that is not to be sown: in WGS84 longitude/latitude.

    It holds from ``from_ms`` to ``until_ms`` (None: no limit on that side). Ground of ``kind``
    ``unreachable``, which the tool cannot get to, is counted apart, not as bare.
    """

    kind: str
    area: MultiPolygon
    name: str = ""
    hazard: bool = False
    from_ms: int | None = None
    until_ms: int | None = None


@dataclass(frozen=True)
class Gate:
    """Where one drives in and out, WGS84 degrees; ``name`` may be empty."""

    lon_deg: float
    lat_deg: float
    name: str = ""


@dataclass(frozen=True)
class Paddock:
    """A boundary with its keep-outs and gates, WGS84 longitude/latitude.

    ``area`` None: from the driven first lap. ``boundary``: of a survey (any file) or a driven lap.
    """

    name: str
    area: MultiPolygon | None
    keep_outs: tuple[KeepOut, ...] = ()
    boundary: Literal["survey", "lap"] = "survey"
    notes: tuple[str, ...] = ()
    gates: tuple[Gate, ...] = ()


@dataclass(frozen=True)
class Run:
    """One stretch with the tool in the ground; times in seconds since the day's first fix.

    Between ``on_s`` and ``off_s`` every opener seeds at full depth; ``sure`` False: doubt, not
    sown. ``outfit`` numbers rigs at work at once.
    """

    number: int
    down_s: float
    up_s: float
    on_s: float
    off_s: float
    rig: int = 0
    sure: bool = True
    how: str = "tapped"
    outfit: int = 0


@dataclass(frozen=True)
class Way:
    """Where the middle of the ranks went in one unbroken stretch of a run, settled.

    ``run`` is its number, ``phone`` the one that saw it. Arrays of shape (n,): seconds since the
    day's first fix, metres on the plane, heading of the tool.
    """

    run: int
    phone: str
    width_m: float
    length_m: float
    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats


@dataclass(frozen=True)
class Patch:
    """One bare patch: where, how large, what kind, how sure.

    ``outline`` is on the plane; ``place`` a point inside in longitude/latitude; by their numbers
    ``runs`` bound it and open questions ``asks`` may close it.
    """

    number: int
    outline: BaseGeometry
    area_m2: float
    width_m: float
    length_m: float
    kind: PatchKind
    chance: float
    call: Call
    place: Point
    runs: tuple[int, ...] = ()
    asks: tuple[int, ...] = ()


@dataclass(frozen=True)
class Question:
    """Something the log cannot tell: asked later, answered by a log entry.

    ``answers``: what ground each would call sown, m². ``phone``: whose rig, where several worked.
    """

    number: int
    kind: str
    from_ms: int
    to_ms: int
    lon_deg: float
    lat_deg: float
    text: str
    answers: Mapping[str, float]
    phone: str = ""


@dataclass(frozen=True)
class Ground:
    """The states of the paddock's ground as polygons on its plane."""

    net: BaseGeometry
    keep_out: BaseGeometry
    sown: BaseGeometry
    part: BaseGeometry
    twice: BaseGeometry
    bare: BaseGeometry
    doubt: BaseGeometry
    unreachable: BaseGeometry
    outside: BaseGeometry


@dataclass(frozen=True)
class Tally:
    """What one day came to. Areas in hectares, on the ellipsoid."""

    net_ha: float
    keep_out_ha: float
    sown_ha: float
    part_ha: float
    bare_ha: float
    bare_low_ha: float
    bare_high_ha: float
    listed_ha: float
    twice_ha: float
    again_ha: float
    doubt_ha: float
    unreachable_ha: float
    outside_ha: float
    swept_ha: float
    down_km: float
    hours: float
    patches: tuple[Patch, ...]
    questions: tuple[Question, ...]
    runs: tuple[Run, ...]
    ground: Ground
    notes: tuple[str, ...]
    dropped: Mapping[str, int]
    settle: Mapping[str, float] | None = None
    ways: tuple[Way, ...] = ()
    rigs: tuple[Share, ...] = ()
    between: tuple[Between, ...] = ()


@dataclass(frozen=True)
class Settings:
    """What the caller may choose about a computation.

    ``runs``: down and up from the log's marks, the track's segments, or guessed from movement.
    ``settle``: take out the drift between neighbouring runs. ``draws`` from the posterior,
    ``seed`` theirs. ``clearance_m``: from a driven lap's outer end of the tool to the fence.
    """

    runs: Literal["marked", "segments", "guess"] = "marked"
    settle: bool = True
    draws: int = 60
    seed: int = 1
    clearance_m: float = 0.5
