"""From the log to runs: what was tapped, what must be doubted, what has to be asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry.base import BaseGeometry

from unsown.core.errors import TrackError
from unsown.core.infer import Inferred, as_runs, infer
from unsown.core.legs import Leg
from unsown.core.lever import rig_at, runs_from_segments
from unsown.core.plane import Plane
from unsown.core.told import answered, tapped
from unsown.core.words import Log, Question, Rig, Run, Settings

#: Phones whose times overlap by more than this part of the shorter saw one day together.
_TOGETHER = 0.5


@dataclass(frozen=True)
class Work:
    """The day's runs, sure and doubtful, and what to ask. ``bridged`` in seconds.

    ``hidden_m2`` is what may be bare under guessed runs although nothing shows it.
    """

    runs: tuple[Run, ...]
    bridged: tuple[tuple[float, float], ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[str, ...] = ()
    hidden_m2: float = 0.0


def work_of(
    log: Log,
    legs: Sequence[Leg],
    rigs: Sequence[Rig],
    settings: Settings,
    boundary: BaseGeometry | None,
    plane: Plane,
    t0_ms: int,
) -> Work:
    """The runs of the day.

    Args:
        log: what was logged.
        legs: the phones' tracks and trails.
        rigs: the rig cards.
        settings: where down and up come from.
        boundary: ground that can be sown, on the plane; None where not known yet.
        plane: for the places of questions.
        t0_ms: the day's first fix.

    Raises:
        TrackError: there are no taps and no guess was asked for.
    """
    if settings.runs == "segments":
        return Work(tuple(runs_from_segments(log.fixes, rigs, t0_ms)))
    every, notes = tapped(log.marks, t0_ms)
    told = answered(log.marks, t0_ms)
    if not every and settings.runs == "marked":
        raise TrackError(
            "no-lever",
            "expected marks of where the tool went down and up, but the track has none",
            hint="Use waypoints named down/up, our log's lever entries, --runs segments where each"
            " segment is one run, or --runs guess.",
        )
    runs: list[Run] = []
    bridged: list[tuple[float, float]] = []
    questions: list[Question] = []
    hidden = 0.0
    days = _days(legs)
    for number, leg in enumerate(days):
        first = -np.inf if number == 0 else float(leg.track.t_s[0]) - 60.0
        last = np.inf if number == len(days) - 1 else float(days[number + 1].track.t_s[0]) - 60.0
        mine = [tap for tap in every if first <= tap.t_s < last]
        if settings.runs == "marked" and not mine:
            continue
        which = rig_at(rigs, t0_ms + 1000 * float(np.median(leg.track.t_s)))
        found = infer(
            leg.track,
            leg.trails[which],
            rigs[which],
            mine,
            boundary,
            mode="guess" if settings.runs == "guess" else "marked",
            answers=[a for a in told if first <= a.from_s < last],
        )
        runs += as_runs(found, rigs, t0_ms)
        bridged += found.bridged
        notes += found.notes
        hidden += found.hidden_m2
        questions += _questions(found, plane, t0_ms)
    runs = [replace(r, number=i + 1) for i, r in enumerate(sorted(runs, key=lambda r: r.on_s))]
    questions = [replace(q, number=i + 1) for i, q in enumerate(questions)]
    return Work(tuple(runs), tuple(bridged), tuple(questions), tuple(notes), hidden)


def _days(legs: Sequence[Leg]) -> list[Leg]:
    """One witness for each stretch of time: of phones that ran together the one with more."""
    out: list[Leg] = []
    for leg in sorted(legs, key=lambda x: -len(x.track)):
        a, b = float(leg.track.t_s[0]), float(leg.track.t_s[-1])
        shared = [min(b, float(o.track.t_s[-1])) - max(a, float(o.track.t_s[0])) for o in out]
        if not any(s > _TOGETHER * (b - a) for s in shared):
            out.append(leg)
    return sorted(out, key=lambda x: float(x.track.t_s[0]))


def _questions(found: Inferred, plane: Plane, t0_ms: int) -> list[Question]:
    out = []
    for asked in found.questions:
        lon, lat = plane.to_degrees(np.asarray([asked.x_m]), np.asarray([asked.y_m]))
        out.append(
            Question(
                number=0,
                kind=asked.kind,
                from_ms=round(t0_ms + asked.from_s * 1000),
                to_ms=round(t0_ms + asked.to_s * 1000),
                lon_deg=float(lon[0]),
                lat_deg=float(lat[0]),
                text=asked.text,
                answers=dict(asked.answers),
            )
        )
    return out
