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
from unsown.core.strips import Bridged
from unsown.core.told import answered, tapped
from unsown.core.words import Log, Mark, Question, Rig, Run, Settings

#: Phones whose times overlap by more than this part of the shorter saw one day together.
_TOGETHER = 0.5
#: A tap within this before a stretch may be its own, s.
_BEFORE_S = 60.0


@dataclass(frozen=True)
class Work:
    """The day's runs, sure and doubtful, and what to ask. ``bridged`` as in ``strips``.

    ``hidden_m2`` is what may be bare under guessed runs although nothing shows it.
    """

    runs: tuple[Run, ...]
    bridged: tuple[Bridged, ...] = ()
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
    """The runs of the day, of every rig at work; one of several without a tap is guessed.

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
    parts: list[Work] = []
    outfits = sorted({leg.outfit for leg in legs})
    for number in outfits:
        mine = [leg for leg in legs if leg.outfit == number]
        cards = mine[0].cards
        mine = [replace(leg, trails=tuple(leg.trails[k] for k in cards)) for leg in mine]
        own, how = log, settings
        if len(outfits) > 1:
            own = _of(log, mine, legs, t0_ms)
            silent = settings.runs == "marked" and not tapped(own.marks, t0_ms)[0]
            how = replace(settings, runs="guess") if silent else settings
        work = _work(own, mine, [rigs[k] for k in cards], how, boundary, plane, t0_ms)
        runs = [replace(r, rig=cards[r.rig], outfit=number) for r in work.runs]
        asked = work.questions
        if len(outfits) > 1:
            asked = tuple(replace(q, phone=mine[0].phone) for q in asked)
        bridged = tuple((a, b, number) for a, b, _ in work.bridged)
        parts.append(replace(work, runs=tuple(runs), questions=asked, bridged=bridged))
    runs = sorted([r for w in parts for r in w.runs], key=lambda r: r.on_s)
    asked = tuple(sorted([q for w in parts for q in w.questions], key=lambda q: q.from_ms))
    return Work(
        tuple(replace(r, number=i + 1) for i, r in enumerate(runs)),
        tuple(span for w in parts for span in w.bridged),
        tuple(replace(q, number=i + 1) for i, q in enumerate(asked)),
        (*dict.fromkeys(note for w in parts for note in w.notes), *_unsaid(log, legs, t0_ms)),
        sum(w.hidden_m2 for w in parts),
    )


def _of(log: Log, mine: Sequence[Leg], legs: Sequence[Leg], t0_ms: int) -> Log:
    """What of the log is about one of several rigs: of its phones, and of the desk for them."""
    phones = {leg.phone for leg in mine}
    marks = tuple(m for m in log.marks if _about(m, legs, t0_ms) in phones)
    fixes = log.fixes
    keep = np.isin(fixes.phone, [k for k, name in enumerate(fixes.phones) if name in phones])
    names = [n for n in fixes.__dataclass_fields__ if n != "phones"]
    some = replace(fixes, **{n: getattr(fixes, n)[keep] for n in names})
    return replace(log, fixes=some, marks=marks)


def _about(mark: Mark, legs: Sequence[Leg], t0_ms: int) -> str | None:
    """The phone whose rig an entry is about, None: nobody knows.

    The writer's, where it has a track; else the one that it names; else the one rig's whose track
    it is, where only one was out at that time.
    """
    everyone = {leg.phone for leg in legs}
    named = mark.phone if mark.phone in everyone else mark.says.get("of_dev")
    if named in everyone:
        return str(named)
    t_s = (mark.t_ms - t0_ms) / 1000
    out = [
        leg for leg in legs if leg.track.t_s[0] - _BEFORE_S <= t_s <= leg.track.t_s[-1] + _BEFORE_S
    ]
    return out[0].phone if len({leg.outfit for leg in out}) == 1 else None


def _unsaid(log: Log, legs: Sequence[Leg], t0_ms: int) -> list[str]:
    """A note on entries of writers without a position that do not say which rig they are about."""
    if len({leg.outfit for leg in legs}) < 2:
        return []
    count = sum(
        m.kind in ("lever", "flow", "say", "blind") and _about(m, legs, t0_ms) is None
        for m in log.marks
    )
    if not count:
        return []
    return [f"{count} entries do not say which phone's rig they are about, and count for none"]


def _work(
    log: Log,
    legs: Sequence[Leg],
    rigs: Sequence[Rig],
    settings: Settings,
    boundary: BaseGeometry | None,
    plane: Plane,
    t0_ms: int,
) -> Work:
    """The runs of one rig."""
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
    bridged: list[Bridged] = []
    questions: list[Question] = []
    hidden = 0.0
    days = _days(legs)
    edges = [-np.inf, *_edges(days), np.inf]
    for number, leg in enumerate(days):
        first, last = edges[number], edges[number + 1]
        mine = [tap for tap in every if first < tap.t_s <= last]
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
            answers=[a for a in told if first < a.from_s <= last],
        )
        runs += as_runs(found, rigs, t0_ms)
        bridged += [(a, b, 0) for a, b in found.bridged]
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


def _edges(days: Sequence[Leg]) -> list[float]:
    """Until when a tap belongs to a stretch: a minute before the next, and no sooner than its end.

    Where one phone goes on at once from another, what was tapped last on the first is its own.
    """
    ends = [float(leg.track.t_s[-1]) for leg in days]
    starts = [float(leg.track.t_s[0]) for leg in days[1:]]
    return [
        max(start - _BEFORE_S, min(end, start - 1e-3))
        for end, start in zip(ends[:-1], starts, strict=True)
    ]


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
