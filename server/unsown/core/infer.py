"""Taps, answers and movement -> sown runs, doubt and questions.

The taps are the record. Where the chain agrees with it the record stands, to the second.
Where it does not, the stretch is doubt and a question; an answer settles it. Nothing is turned
into sown or bare without having been tapped or answered, except on a day without any taps,
where runs are guessed and said to be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from shapely.geometry.base import BaseGeometry

from unsown.core.ask import (
    DOWN_M,
    DOWN_S,
    ENDS_S,
    Conflict,
    blind_stretches,
    conflicts,
    questions,
    since_when,
    unclear,
)
from unsown.core.clean import Track
from unsown.core.guess import Belief, Evidence, believe
from unsown.core.lever import start_delay, stop_delay
from unsown.core.outcome import Doubt, Inferred, Stretch, as_runs
from unsown.core.spans import Span, joined, marked, without
from unsown.core.ticks import Ticks, ticks
from unsown.core.told import OPEN, Answer, Tap
from unsown.core.trail import Trail
from unsown.core.walk import walks
from unsown.core.words import Bools, Floats, Ints, Rig

#: An inferred change is drawn as doubt over this way, m.
BAND_M = 10.0
#: Guessed ground is called sown above this chance, in stretches of at least this way, m.
SURE, _SHORT_M = 0.97, 15.0
#: With fewer moving seconds than this nothing is inferred.
FEW_S = 30
#: So many of the longest guessed runs may have been driven with the tool up.
HIDDEN_RUNS = 2


__all__ = ["Doubt", "Inferred", "Stretch", "as_runs", "infer"]


def infer(
    track: Track,
    trail: Trail,
    rig: Rig,
    taps: Sequence[Tap],
    boundary: BaseGeometry | None = None,
    *,
    mode: Literal["marked", "guess"] = "marked",
    answers: Sequence[Answer] = (),
) -> Inferred:
    """Where the tool was down, what is doubt, what must be asked.

    Args:
        track: one phone's cleaned track.
        trail: its tool's trail for ``rig``.
        rig: the rig card that holds.
        taps: the lever's taps (``told.tapped``), lever time.
        boundary: the paddock on the same plane, keep-outs taken out; None: not known yet.
        mode: ``guess`` leaves the taps out and makes the whole split.
        answers: what was answered (``told.answered``).
    """
    second = ticks(track, trail, rig)
    free = mode == "guess" or not taps
    walked = walks(track)
    flow = [a for a in answers if a.about == "flow"]
    answers = [a for a in answers if a.about != "flow"]
    idle = [(a.from_s, a.to_s) for a in flow if a.word == "up"]
    slack = [Doubt(a.from_s, a.to_s, "flow") for a in flow if a.word in ("unsure", OPEN)]
    since = since_when(second, flow, rig)
    taps = [] if free else _turned(taps, answers)
    on, off = start_delay(rig.times), stop_delay(rig.times)
    seed_s = np.array([t.t_s + (on if t.down else off) for t in taps])
    tap_down = np.array([t.down for t in taps], dtype=bool)
    told = _told(second, answers)
    end = float(trail.t_s[-1])
    record = _record(taps, end)
    seeded = [(a + on, b + off if b < end else b) for a, b in record]
    state = _inside(second, seeded)
    heard = _unexplained(seed_s, tap_down, answers)
    torn = _torn(second, seed_s[heard], tap_down[heard])
    evidence = Evidence(seed_s[heard], tap_down[heard], told, state, torn)
    few = Belief(state.astype(np.float64), state, np.zeros(len(second), dtype=bool))
    enough = len(second) >= FEW_S
    width = rig.tool.width_m
    belief = believe(second, width, boundary, evidence, free=free) if enough else few
    settled = [
        (a.from_s, a.to_s) for a in answers if a.word in ("down", "up") and a.about != "blind"
    ]
    if free:
        guessed = _guessed(second, belief, trail, rig, walked + idle, answers, told)
        return replace(
            guessed,
            doubts=(*guessed.doubts, *slack),
            questions=tuple(sorted([*guessed.questions, *since], key=lambda q: q.from_s)),
            notes=(*guessed.notes, *_said(walked)),
        )

    lever_s = np.array([t.t_s for t in taps])
    found = conflicts(second, belief, state, seed_s, lever_s, answers)
    led = [c for c in found if _led(c, seed_s, lever_s, answers)]
    found = _with_unmarked(second, [c for c in found if c not in led], seeded, seed_s, answers)
    settled += [(c.from_s, c.to_s) for c in led]
    doubts = [_doubt(second, c) for c in found]
    bands = _bands(second, settled, seed_s)
    asked_blind, bridged, up_blind, notes = blind_stretches(trail, seeded, answers, rig)
    says_down, says_up = (
        [(a.from_s, a.to_s) for a in answers if a.word == word and a.about != "blind"]
        + [(c.from_s, c.to_s) for c in led if c.down == (word == "down")]
        for word in ("down", "up")
    )
    taken = [(d.from_s, d.to_s) for d in doubts + bands] + up_blind
    notes += _said(walked)
    doubts += slack
    taken += walked + idle + [(d.from_s, d.to_s) for d in slack]
    if not taken and not settled:
        runs = [Stretch(a, b, a + on, b + off, "tapped") for a, b in record]
    else:
        ground = without(seeded, [*says_up, *taken])
        more = without(without(joined(says_down), seeded), taken)
        lever = {a + on: a for a, _ in record}
        lifts = {b + off if b < end else b: b for _, b in record}
        runs = [_stretch(span, lever, lifts, settled, on, off) for span in sorted(ground + more)]
    asked = questions(second, trail, found, rig) + asked_blind + since
    return Inferred(
        tuple(runs),
        tuple(doubts + bands),
        tuple(sorted(asked, key=lambda q: q.from_s)),
        tuple(bridged),
        tuple(notes),
        second.t_s,
        belief.chance,
        False,
    )


def _with_unmarked(
    second: Ticks,
    found: Sequence[Conflict],
    seeded: Sequence[Span],
    seed_s: Floats,
    answers: Sequence[Answer],
) -> list[Conflict]:
    """``found``, and the runs that the record calls sown with no tap at either of their ends.

    Where an up was forgotten the record stays down, also over a run driven with the tool up after
    it: both of its ends are then only inferred. Such a run looks exactly like sowing.
    """
    out = [*found]
    if len(second) == 0:  # nothing was seen to move: blind stretches speak for it
        return out
    for a, b in without(seeded, [(c.from_s, c.to_s) for c in found]):
        ends = [float(np.abs(seed_s - t).min()) for t in (a, b)]
        way = np.interp([a, b], second.t_s, second.way_m)
        if min(ends) < ENDS_S or b - a < DOWN_S or way[1] - way[0] < DOWN_M:
            continue
        mine = [w for w in answers if w.about != "blind" and w.covers(a, b)]
        if not any(w.word in ("down", "up") for w in mine):
            open_ = not any(w.word == "unsure" for w in mine)
            out.append(Conflict("run-without-tap", a, b, True, False, False, open_))
    return out


def _stretch(
    span: Span,
    lever: dict[float, float],
    lifts: dict[float, float],
    settled: Sequence[Span],
    on: float,
    off: float,
) -> Stretch:
    """Ground that stays sown, with the lever times of those of its ends that were tapped."""
    a, b = span
    sure = a in lever and b in lifts
    how = "tapped" if sure else "afterwards" if _touches(span, settled) else "cut"
    return Stretch(lever.get(a, a - on), lifts.get(b, b - off), a, b, how)


def _led(c: Conflict, seed_s: Floats, lever_s: Floats, answers: Sequence[Answer]) -> bool:
    """Whether the stretch ends at the first tap of those that were answered to be swapped.

    That tap's meaning is confirmed, so the tool was the other way just before it; which change
    was forgotten is thereby known, and only its place is not.
    """
    if c.kind == "inverted" or not c.to_tap:
        return False
    firsts = [
        seed_s[(lever_s >= a.from_s) & (lever_s <= a.to_s)] for a in answers if a.word == "swapped"
    ]
    return any(abs(c.to_s - float(f.min())) < ENDS_S for f in firsts if len(f))


def _unexplained(seed_s: Floats, tap_down: Bools, answers: Sequence[Answer]) -> Bools:
    """Taps that still tell something: those that only repeat an answered state do not."""
    keep = np.ones(len(seed_s), dtype=bool)
    for a in answers:
        if a.word in ("down", "up") and a.about != "blind":
            inside = (seed_s >= a.from_s - 1.5) & (seed_s <= a.to_s + 1.5)
            keep &= ~(inside & (tap_down == (a.word == "down")))
    return keep


def _torn(second: Ticks, seed_s: Floats, tap_down: Bools) -> Bools:
    """Where the taps cannot be right: between two that say the same."""
    torn = np.zeros(len(second), dtype=bool)
    for i in np.flatnonzero(tap_down[1:] == tap_down[:-1]):
        torn |= (second.t_s >= seed_s[i]) & (second.t_s < seed_s[i + 1])
    return torn


def _turned(taps: Sequence[Tap], answers: Sequence[Answer]) -> list[Tap]:
    """The taps with those turned about that were answered to be swapped."""
    swapped = [a for a in answers if a.word == "swapped"]
    return [Tap(t.t_s, t.down != any(a.from_s <= t.t_s <= a.to_s for a in swapped)) for t in taps]


def _record(taps: Sequence[Tap], end_s: float) -> list[Span]:
    """Down to up as the taps say, repeated taps changing nothing."""
    out: list[Span] = []
    down: float | None = None
    for tap in taps:
        if tap.down and down is None:
            down = tap.t_s
        elif not tap.down and down is not None:
            out.append((down, tap.t_s))
            down = None
    if down is not None and end_s > down:
        out.append((down, end_s))
    return out


def _inside(second: Ticks, spans: Sequence[Span]) -> Bools:
    inside = np.zeros(len(second), dtype=bool)
    for a, b in spans:
        inside |= (second.t_s >= a) & (second.t_s < b)
    return inside


def _told(second: Ticks, answers: Sequence[Answer]) -> Ints:
    told = np.zeros(len(second), dtype=np.int64)
    for a in answers:
        if a.word in ("down", "up") and a.about != "blind":
            inside = (second.t_s >= a.from_s) & (second.t_s < a.to_s)
            told[inside] = 1 if a.word == "down" else -1
    return told


def _time_at(second: Ticks, t_s: float, by_m: float) -> float:
    """The time ``by_m`` further along the way (negative: back)."""
    rising = second.way_m + np.arange(len(second)) * 1e-9
    way = float(np.interp(t_s, second.t_s, rising)) + by_m
    return float(np.interp(way, rising, second.t_s))


def _doubt(second: Ticks, c: Conflict) -> Doubt:
    a = c.from_s if c.from_tap else _time_at(second, c.from_s, -BAND_M / 2)
    b = c.to_s if c.to_tap else _time_at(second, c.to_s, BAND_M / 2)
    return Doubt(min(a, c.from_s), max(b, c.to_s), c.kind)


def _bands(second: Ticks, settled: Sequence[Span], seed_s: Floats) -> list[Doubt]:
    """Doubt round the ends of answered stretches that no tap marks."""
    out = []
    for span in settled:
        for t in span:
            if len(seed_s) and float(np.abs(seed_s - t).min()) < 1.5:
                continue
            a, b = (_time_at(second, t, s * BAND_M / 2) for s in (-1, 1))
            out.append(Doubt(min(a, t), max(b, t), "where it changed"))
    return out


def _said(walked: Sequence[Span]) -> list[str]:
    return [f"the phone left the cab at {a:.0f} s for {b - a:.0f} s: no strip" for a, b in walked]


def _touches(span: Span, others: Sequence[Span]) -> bool:
    return any(a <= span[1] + 30 and b >= span[0] - 30 for a, b in others)


def _guessed(
    second: Ticks,
    belief: Belief,
    trail: Trail,
    rig: Rig,
    walked: Sequence[Span],
    answers: Sequence[Answer],
    told: Ints,
) -> Inferred:
    """A day without taps: runs above SURE, all other driving doubt but where it was answered up."""
    on, off = start_delay(rig.times), stop_delay(rig.times)
    t, way = second.t_s, second.way_m
    out = told < 0
    for a, b in walked:
        out |= (t >= a) & (t <= b)
    sure = (belief.chance > SURE) & ~out
    spans: list[Span] = []
    for a, b in marked(sure):
        if way[b - 1] - way[a] < _SHORT_M:
            sure[a:b] = False
            continue
        spans.append((float(t[a]), float(t[b - 1])))
    doubts = [
        Doubt(float(t[max(a - 1, 0)]), float(t[min(b, len(t) - 1)]), "guessed")
        for a, b in marked(~sure & ~out)
    ]
    asked, bridged, up_blind, more = blind_stretches(trail, spans, answers, rig)
    runs = [Stretch(a - on, b - off, a, b, "guessed") for a, b in without(spans, up_blind)]
    notes = [f"no taps: all {len(runs)} runs are guessed from the movement"]
    if walked:
        notes.append(f"the phone left the cab {len(walked)} times: nothing sown meanwhile")
    asked += questions(second, trail, unclear(second, belief, sure | out, answers), rig)
    hidden = sum(sorted((_way(trail, r) for r in runs), reverse=True)[:HIDDEN_RUNS])
    return Inferred(
        tuple(runs),
        tuple(doubts),
        tuple(sorted(asked, key=lambda q: q.from_s)),
        tuple(bridged),
        (*notes, *more),
        t,
        belief.chance,
        True,
        hidden * rig.tool.width_m,
    )


def _way(trail: Trail, run: Stretch) -> float:
    at = np.interp([run.on_s, run.off_s], trail.t_s, trail.path_m)
    return float(at[1] - at[0])
