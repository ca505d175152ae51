"""Where the movement contradicts the taps, and what to ask about it.

A question is about one stretch: was the tool down or up there, or were the taps in it swapped.
Small contradictions are not worth asking for: the record stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from unsown.core.guess import Belief
from unsown.core.spans import Span, marked
from unsown.core.ticks import Ticks
from unsown.core.told import OPEN, Answer
from unsown.core.trail import Trail
from unsown.core.words import Bools, Floats, Rig

#: Shortest contradiction: tool up where taps say down, and down where they say up (s, m).
UP_S, UP_M, DOWN_S, DOWN_M = 6.0, 8.0, 12.0, 20.0
#: Backing for this long is worth asking about where taps say down: it adds no way, and no tool is
#: backed in the ground, s.
BACKED_S = 3
#: Without taps, only unclear stretches of at least this way are asked about, m.
UNCLEAR_M = 60.0
#: A stretch ends at a tap when it does within this, s.
ENDS_S = 1.5
#: Blind stretches shorter than this are left as doubt without a question, s.
BLIND_S = 5.5
#: An answered blind stretch is bridged when its length is this near to speed times time.
BRIDGE = 0.10


@dataclass(frozen=True)
class Conflict:
    """A stretch in which movement and taps disagree, on the seed's clock, seconds.

    ``from_tap`` and ``to_tap`` tell whether a tap stands at that end; ``open`` False: it was
    answered with unsure and is not asked again. ``taps`` is the lever time from the first to the
    last tap that seems swapped.
    """

    kind: str
    from_s: float
    to_s: float
    down: bool
    from_tap: bool
    to_tap: bool
    open: bool = True
    taps: Span | None = None


@dataclass(frozen=True)
class Asked:
    """One question: the stretch, a place on the plane, and what each answer would sow, m²."""

    kind: str
    from_s: float
    to_s: float
    x_m: float
    y_m: float
    text: str
    answers: dict[str, float]


def conflicts(
    second: Ticks,
    belief: Belief,
    record: Bools,
    tap_s: Floats,
    lever_s: Floats,
    answers: Sequence[Answer],
) -> list[Conflict]:
    """Contradictions between the taps' states and the most probable ones.

    ``record`` is the taps' state at each tick; ``tap_s`` are the taps on the seed's clock,
    ``lever_s`` the same on the lever's.
    """
    t, way = second.t_s, second.way_m
    model = belief.down.copy()
    for given in answers:
        inside = (t >= given.from_s) & (t < given.to_s)
        if given.word in ("down", "up") and given.about != "blind":
            record = np.where(inside, given.word == "down", record)
            model = np.where(inside, record, model)
    differ = model != record
    out: list[Conflict] = []
    begun: list[float] = []
    for a, b in marked(belief.swapped):
        at = np.flatnonzero(differ[a:b])
        place = np.searchsorted(t, tap_s)
        mine = lever_s[(place >= a) & (place < b)]
        if len(at) < DOWN_S or len(mine) == 0:
            continue
        differ[a:b] = False
        span = (float(mine.min()) - 0.5, float(mine.max()) + 0.5)
        if any(w.word == "right" and w.covers(*span) for w in answers):
            continue
        c = _conflict("inverted", second, a + int(at[0]), a + int(at[-1]) + 1, True, tap_s)
        out.append(replace(c, taps=span))
        begun.append(float(tap_s[(place >= a) & (place < b)].min()))
    for a, b in marked(differ):
        down = bool(model[a])
        gone, took = way[b - 1] - way[a], b - a
        c = _conflict("forgotten-up", second, a, b, down, tap_s)
        # the change whose forgetting began an inversion is settled by the answer to that
        led = c.to_tap and any(abs(c.to_s - first) < ENDS_S for first in begun)
        small = took < (DOWN_S if down else UP_S) or gone < (DOWN_M if down else UP_M)
        small = small and (down or int(second.backing[a:b].sum()) < BACKED_S)
        if small and not (c.from_tap or c.to_tap):
            continue
        if down:
            kind = "forgotten-down" if c.from_tap or c.to_tap else "run-without-tap"
            c = _conflict(kind, second, a, b, down, tap_s)
        out.append(replace(c, open=not led))
    unsure = [given for given in answers if given.word == "unsure"]
    return [
        replace(c, open=False)
        if any(given.covers(*(c.taps or (c.from_s, c.to_s))) for given in unsure)
        else c
        for c in sorted(out, key=lambda c: c.from_s)
    ]


def unclear(
    second: Ticks, belief: Belief, settled: Bools, answers: Sequence[Answer]
) -> list[Conflict]:
    """Stretches of a day without taps that are rather down than up, but not surely."""
    out = []
    for a, b in marked((belief.chance > 0.5) & ~settled):
        if second.way_m[b - 1] - second.way_m[a] < UNCLEAR_M:
            continue
        start, end = float(second.t_s[a]), float(second.t_s[b - 1])
        if not any(given.covers(start, end) for given in answers):
            out.append(Conflict("run-without-tap", start, end, True, False, False))
    return out


def _conflict(
    kind: str, second: Ticks, first: int, end: int, down: bool, tap_s: Floats
) -> Conflict:
    a = float(second.t_s[first])
    b = float(second.t_s[min(end, len(second) - 1)])
    before = float(second.t_s[max(first - 1, 0)])
    last = float(second.t_s[end - 1])

    def tap(lo: float, hi: float) -> bool:
        return bool(((tap_s > lo - 1e-6) & (tap_s <= hi + 1e-6)).any())

    from_tap, to_tap = tap(before, a), tap(last, b)
    # the state of a second is that of its end: an untapped change lies in the middle before it
    a -= 0.0 if from_tap or first == 0 else 0.5
    b -= 0.0 if to_tap or end == len(second) else 0.5
    return Conflict(kind, a, b, down, from_tap, to_tap)


_TEXT = {
    "forgotten-up": "Lifted back there? The movement looks like a turn, but no up was tapped.",
    "forgotten-down": "Down on this run? It looks like sowing, but no down was tapped.",
    "run-without-tap": "A whole run without a tap: was the tool down?",
    "inverted": "Down and up seem swapped in these taps. Are they?",
    "flow": "Not flowing since when? Down: it flowed until then. Up: not since the lowering.",
    "blind": "No position for a while. Was the tool down all the way, or up?",
}


def questions(second: Ticks, trail: Trail, found: Sequence[Conflict], rig: Rig) -> list[Asked]:
    """One question for each open contradiction."""
    out = []
    for c in found:
        if not c.open:
            continue
        middle = int(np.searchsorted(second.t_s, (c.from_s + c.to_s) / 2))
        middle = min(middle, len(second) - 1)
        way = np.interp([c.from_s, c.to_s], trail.t_s, trail.path_m)
        area = float(way[1] - way[0]) * rig.tool.width_m
        words = {"down": area, "up": 0.0, "unsure": 0.0}
        if c.kind == "inverted":
            words = {"swapped": area, "right": area, "unsure": 0.0}
        x, y = float(second.x_m[middle]), float(second.y_m[middle])
        start, end = c.taps or (c.from_s, c.to_s)
        out.append(Asked(c.kind, start, end, x, y, _TEXT[c.kind], words))
    return out


def since_when(second: Ticks, answers: Sequence[Answer], rig: Rig) -> list[Asked]:
    """One question for each time that seed was said not to flow without since when."""
    out = []
    for a in answers:
        if a.word != OPEN or len(second) == 0:
            continue
        x, y, *way = (
            float(np.interp(t, second.t_s, values))
            for t, values in (
                ((a.from_s + a.to_s) / 2, second.x_m),
                ((a.from_s + a.to_s) / 2, second.y_m),
                (a.from_s, second.way_m),
                (a.to_s, second.way_m),
            )
        )
        area = (way[1] - way[0]) * rig.tool.width_m
        words = {"down": area, "up": 0.0, "unsure": 0.0}
        out.append(Asked("flow", a.from_s, a.to_s, x, y, _TEXT["flow"], words))
    return out


def blind_stretches(
    trail: Trail, seeded: Sequence[Span], answers: Sequence[Answer], rig: Rig
) -> tuple[list[Asked], list[Span], list[Span], list[str]]:
    """Questions for blind stretches, those bridged, those answered up, and notes."""
    asked: list[Asked] = []
    bridged: list[Span] = []
    up: list[Span] = []
    notes: list[str] = []
    for i, j in marked(trail.blind):
        a, b = float(trail.t_s[i]), float(trail.t_s[j])
        if not any(lo < b and hi > a for lo, hi in seeded):
            continue
        straight = float(np.hypot(trail.x_m[j] - trail.x_m[i], trail.y_m[j] - trail.y_m[i]))
        given = [w for w in answers if w.about == "blind" and w.covers(a, b)]
        if given:
            word = given[-1].word
            before = float(trail.speed_m_s[max(i - 5, 0) : i + 1].mean())
            after = float(trail.speed_m_s[j : j + 6].mean())
            expected = (before + after) / 2 * (b - a)
            if word == "up":
                up.append((a, b))
            elif word == "down" and abs(straight - expected) <= BRIDGE * expected:
                bridged.append((a, b))
            elif word == "down":
                notes.append(
                    f"blind stretch of {b - a:.0f} s called down, but {straight:.0f} m straight is"
                    f" not the {expected:.0f} m driven at that speed: it stays doubt"
                )
            continue
        if b - a < BLIND_S:
            continue
        x, y = float(trail.x_m[[i, j]].mean()), float(trail.y_m[[i, j]].mean())
        text = (
            f"No position for {b - a:.0f} s, {straight:.0f} m. Down all the way, up, or not sure?"
        )
        area = straight * rig.tool.width_m
        asked.append(Asked("blind", a, b, x, y, text, {"down": area, "up": 0.0, "unsure": 0.0}))
    return asked, bridged, up, notes
