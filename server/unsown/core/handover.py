"""What the next driver must know, taken out of a computed day (job paper 3.19).

Sown, left and doubt; the loose ends with how sure; where the openers stopped and which way; what
is on board; what was marked today; by how much the picture was moved; and what is to be decided
next, of several rigs also where a seam between them is not known to be closed. The words are made
elsewhere: here are only the facts, so that paper, radio and screen say the same.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import atan2
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from unsown.core.balance import SURE_Z
from unsown.core.between import word_of
from unsown.core.compass import toward
from unsown.core.place import Place, place_of
from unsown.core.plane import Plane
from unsown.core.words import Call, Floats, Patch, Tally, Way

Todo = Literal["fill", "carry on", "go back", "look", "seam", "ask", "leave", "begin"]

#: Bare ground this large is the part not reached yet, no loose end: share of the net area, width.
REST_SHARE, REST_M = 0.05, 20.0
#: The direction at the end of a run is taken over this much of it, m.
_ALONG_M = 30.0


@dataclass(frozen=True)
class Spot:
    """A bare patch as the next driver hears of it: ``call`` how sure, ``place`` where."""

    number: int
    area_m2: float
    kind: str
    call: Call
    place: Place


@dataclass(frozen=True)
class Stopped:
    """Where the openers were when they were lifted last.

    ``going`` is the direction of travel, a point of the compass; empty where it is not known.
    """

    t_ms: int
    lon_deg: float
    lat_deg: float
    place: Place
    going: str


@dataclass(frozen=True)
class Aboard:
    """One product on board: how much (``unit`` ``kg`` or ``l``), for how much seeded ground.

    ``ha_sigma`` is one standard deviation; ``rounds`` those it lasts for nine times in ten, None
    where the length of a round is not known.
    """

    product: str
    amount: float
    unit: str
    ha: float
    ha_sigma: float
    rounds: int | None = None

    @property
    def ha_sure(self) -> float:
        """Ground that it lasts for nine times in ten, ha."""
        return max(self.ha - SURE_Z * self.ha_sigma, 0.0)


@dataclass(frozen=True)
class Unclosed:
    """A seam between two rigs that is not known to be closed: theirs by name, and where it lies.

    ``word`` is that of ``between.word_of``; ``gap_m`` the mean gap, below nought overlap, and
    ``sigma_m`` one standard deviation of it.
    """

    rigs: tuple[str, str]
    side: str
    length_m: float
    gap_m: float
    sigma_m: float
    word: str


@dataclass(frozen=True)
class Step:
    """One thing to do: what, for which patches, how much ground, and how long it takes."""

    todo: Todo
    patches: tuple[int, ...] = ()
    area_m2: float = 0.0
    minutes: float | None = None
    product: str = ""
    side: str = ""
    seam: Unclosed | None = None


@dataclass(frozen=True)
class Handover:
    """What one driver hands to the next. Hectares; ``bare_low_ha`` to ``bare_high_ha`` 5 to 95 %.

    ``rest`` is bare ground that was simply not reached yet, ``loose`` the listed patches, ``look``
    those that nobody can tell. ``moved_m`` is by how much settling moved the picture (root mean
    square), None where it did not. ``hazards`` and ``outs`` were added today.
    """

    paddock: str
    at_ms: int
    net_ha: float
    sown_ha: float
    bare_ha: float
    bare_low_ha: float
    bare_high_ha: float
    doubt_ha: float
    questions: int
    rest: tuple[Spot, ...]
    loose: tuple[Spot, ...]
    look: tuple[Spot, ...]
    stopped: Stopped | None
    aboard: tuple[Aboard, ...] = ()
    hazards: tuple[str, ...] = ()
    outs: tuple[str, ...] = ()
    pegs: tuple[str, ...] = ()
    moved_m: float | None = None
    machine: tuple[str, ...] = ()
    driver: str = ""
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True)
class Beside:
    """What the day's ground does not tell: the name, and what was logged and marked beside it.

    ``labels`` are the patches' own from ``worth`` in driving order, ``minutes`` the way through
    those worth it, without what is to be asked about first; None where nothing was weighed.
    """

    paddock: str
    aboard: tuple[Aboard, ...] = ()
    hazards: tuple[str, ...] = ()
    outs: tuple[str, ...] = ()
    pegs: tuple[str, ...] = ()
    machine: tuple[str, ...] = ()
    driver: str = ""
    labels: Mapping[int, str] | None = None
    minutes: float | None = None


def handover(tally: Tally, plane: Plane, t0_ms: int, at_ms: int, beside: Beside) -> Handover:
    """What to hand over after a computed day.

    Args:
        tally: the day, or all days so far.
        plane: the plane its shapes lie on.
        t0_ms: when the day's first fix was, UTC ms: the tally's seconds count from it.
        at_ms: when it is handed over, UTC ms.
        beside: what the ground does not tell.
    """
    net = tally.ground.net
    spots = {
        p.number: Spot(p.number, p.area_m2, p.kind, p.call, place_of(p.outline, net))
        for p in tally.patches
    }
    far = {p.number for p in not_reached(tally.patches, net.area)}
    near = sorted((p for p in tally.patches if p.number not in far), key=lambda p: -p.area_m2)
    rest = tuple(sorted((spots[n] for n in far), key=lambda s: -s.area_m2))
    loose = tuple(spots[p.number] for p in near if p.call != "can't tell")
    look = tuple(spots[p.number] for p in near if p.call == "can't tell")
    settle = tally.settle or {}
    return Handover(
        paddock=beside.paddock,
        at_ms=at_ms,
        net_ha=tally.net_ha,
        sown_ha=tally.sown_ha,
        bare_ha=tally.bare_ha,
        bare_low_ha=tally.bare_low_ha,
        bare_high_ha=tally.bare_high_ha,
        doubt_ha=tally.doubt_ha,
        questions=len(tally.questions),
        rest=rest,
        loose=loose,
        look=look,
        stopped=_stopped(tally.ways, net, plane, t0_ms),
        aboard=beside.aboard,
        hazards=beside.hazards,
        outs=beside.outs,
        pegs=beside.pegs,
        moved_m=float(settle["moved_m"]) if "moved_m" in settle else None,
        machine=beside.machine,
        driver=beside.driver,
        steps=steps(
            *(rest, loose, look, beside, len(tally.questions), tally.doubt_ha),
            unclosed(tally, plane),
        )
        if tally.sown_ha + tally.part_ha + tally.doubt_ha > 0
        else (Step("begin"),),
    )


def unclosed(tally: Tally, plane: Plane) -> list[Unclosed]:
    """The seams between rigs that are not known to be closed, the longest first."""
    out = []
    for seam in sorted(tally.between, key=lambda seam: -seam.length_m):
        word = word_of(seam.chance, seam.sigma_m)
        if word != "closed":
            x, y = plane.to_xy(np.asarray([seam.place.x]), np.asarray([seam.place.y]))
            side = place_of(Point(x[0], y[0]), tally.ground.net).side
            one, other = (tally.rigs[k].name for k in seam.rigs)
            out.append(Unclosed((one, other), side, seam.length_m, seam.gap_m, seam.sigma_m, word))
    return out


def not_reached(patches: Sequence[Patch], net_m2: float) -> list[Patch]:
    """Bare ground that is simply not reached yet, largest first."""
    far = [p for p in patches if p.area_m2 >= REST_SHARE * net_m2 and p.width_m >= REST_M]
    return sorted(far, key=lambda p: -p.area_m2)


def steps(
    rest: Sequence[Spot],
    loose: Sequence[Spot],
    look: Sequence[Spot],
    beside: Beside,
    questions: int,
    doubt_ha: float,
    seams: Sequence[Unclosed] = (),
) -> tuple[Step, ...]:
    """What to do, in order; the first is the next decision.

    Carrying on comes before going back: the way back is worth least while there is ground to sow
    anyway. A bin that does not last one round more (or, where a round is not known, less than half
    a hectare) is filled first. Where more is in doubt than is known to be bare, or what one would
    drive for may be closed by an answer, asking comes before going back: the list may change with
    it.
    """
    out: list[Step] = []
    if rest:
        out += [Step("fill", product=a.product) for a in beside.aboard if _short(a)][:1]
        area = sum(s.area_m2 for s in rest)
        out.append(Step("carry on", _numbers(rest), area, side=rest[0].place.side))
    going, asking, looking = _sorted_out(loose, look, beside.labels)
    ask = [Step("ask", _numbers(asking), doubt_ha * 1e4)] * (questions > 0 or bool(asking))
    first = bool(asking) or (not rest and doubt_ha * 1e4 > _area(loose))
    out += ask if first else []
    if going:
        minutes = beside.minutes if beside.labels else None
        out.append(
            Step("go back", _numbers(going), _area(going), minutes, side=going[0].place.side)
        )
    if looking:
        out.append(Step("look", _numbers(looking), _area(looking), side=looking[0].place.side))
    out += [Step("seam", side=seam.side, seam=seam) for seam in seams]
    out += [] if first else ask
    return tuple(out) or (Step("leave"),)


def _sorted_out(
    loose: Sequence[Spot], look: Sequence[Spot], labels: Mapping[int, str] | None
) -> tuple[list[Spot], ...]:
    """What to go back for, to ask about, to look at: by what it is worth, where that is known."""
    if labels is None:
        return list(loose), [], list(look)
    told = {s.number: s for s in (*loose, *look)}
    mine = [(label, told[n]) for n, label in labels.items() if n in told]
    return tuple(
        [spot for label, spot in mine if label == wanted]
        for wanted in ("worth it", "ask first", "look first")
    )


def _short(aboard: Aboard) -> bool:
    return aboard.rounds < 1 if aboard.rounds is not None else aboard.ha_sure < 0.5


def _numbers(spots: Sequence[Spot]) -> tuple[int, ...]:
    return tuple(s.number for s in spots)


def _area(spots: Sequence[Spot]) -> float:
    return sum(s.area_m2 for s in spots)


def _stopped(ways: Sequence[Way], net: BaseGeometry, plane: Plane, t0_ms: int) -> Stopped | None:
    """The end of the stretch that was sown last."""
    last = max((w for w in ways if len(w.t_s)), key=lambda w: float(w.t_s[-1]), default=None)
    if last is None:
        return None
    x, y = float(last.x_m[-1]), float(last.y_m[-1])
    lon, lat = plane.to_degrees(np.asarray([x]), np.asarray([y]))
    return Stopped(
        t0_ms + round(float(last.t_s[-1]) * 1000),
        float(lon[0]),
        float(lat[0]),
        place_of(Point(x, y), net),
        going(last.x_m, last.y_m),
    )


def going(x_m: Floats, y_m: Floats) -> str:
    """The direction at the end of a way, a point of the compass; empty for one of no length."""
    if len(x_m) < 2:
        return ""
    line = shapely.LineString(np.column_stack([x_m, y_m]))
    if line.length < 1.0:
        return ""
    before = line.interpolate(max(0.0, line.length - _ALONG_M))
    return toward(atan2(float(y_m[-1]) - before.y, float(x_m[-1]) - before.x))
