"""A clock that was set while a log was being written: what came later put on the clock before.

The order in which a phone wrote its entries shows a clock that goes back: positions follow each
other along the way while their times do not. Where that happens a few times at most, the times
after it are moved on until the way is whole; where times go back again and again the order of the
lines says nothing, and the times stand. A clock that ran ahead for a while and came back is put
back for that while. Made inside the computation, never in the log.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from unsown.core.words import Bools, Fixes, Floats, Ints, Log, Mark

#: A clock is set by more than this back, or more than this forward and back again, s.
BACK_S, FORWARD_S = 3.0, 10.0
#: By more it lost its date or is of another season: nothing is mixed by it, and times stand, s.
MOST_S = 30 * 86_400.0
#: Two settings within this are one and the same, s; the phone's own word counts within this, s.
SAME_S, TOLD_S = 3.0, 5.0
#: More settings than this in one log are lines out of order.
MOST = 4
#: Fewer positions than this tell nothing; a while of no more is a stale position, not a clock.
FEWEST, BRIEF = 60, 5
#: Without numbers the way must go on within this, m, or the lines are of two files.
ON_M = 50.0
#: Without numbers two parts seen together so long, s, and so near, m, are two phones of one cab.
TOGETHER_S, CAB_M = 300.0, 30.0
#: A mark about a moment within this of the fixes written around it was written then, s.
NOW_S = 60.0
_SLOW_M_S, _SLACK_M, _USUAL_S = 0.5, 5.0, 10.0
_M_PER_DEG = 111_195.0
_PAST = ("since_ms", "edge_ms")
_SPAN = ("from_ms", "to_ms")


@dataclass(frozen=True)
class _Part:
    """From which row on (in the order written) how much is added, s; ``ahead_s`` if it jumped."""

    first: int
    add_s: float
    ahead_s: float = 0.0


@dataclass(frozen=True)
class _Way:
    """One phone's fixes in the order written: times, s, steps between them, s and m."""

    t_s: Floats
    step_s: Floats
    step_m: Floats
    usual_s: float
    over_s: Floats
    """How much longer each step is by its times than by the way."""


def steady(
    log: Log, numbers: Ints | None = None, ranks: Sequence[int] | None = None, where: str = ""
) -> Log:
    """The log with each phone's times on the clock with which it began.

    Args:
        log: fixes in the order in which they stand in the source.
        numbers: shape (n,), the number of each fix in its writer's log, 0 where it has none;
            without numbers the order of the source counts.
        ranks: of each mark, how many fixes of its writer were written before it; None where the
            source does not tell: then the mark's time decides.
        where: the file, for the notes.
    """
    fixes, marks, notes = log.fixes, list(log.marks), list(log.notes)
    t_ms = fixes.t_ms.copy()
    for i in np.unique(fixes.phone).tolist():
        rows, inverse, numbered = _written(fixes, np.flatnonzero(fixes.phone == i), numbers)
        if len(rows) < FEWEST:
            continue
        mine = [k for k, mark in enumerate(marks) if mark.phone == fixes.phones[i]]
        told = [(ranks[k], marks[k].says.get("jump_ms")) for k in mine] if ranks else []
        way = _way(fixes, rows)
        parts = _parts(way, told)
        if len(parts) < 2 or not (numbered or _whole(fixes, rows, way, parts)):
            continue
        add_ms = np.zeros(len(rows), dtype=np.int64)
        for part in parts:
            add_ms[part.first :] = round(1000 * part.add_s)
        for k in mine:
            rank = ranks[k] if ranks else None
            marks[k] = _moved(marks[k], rank, fixes.t_ms[rows], add_ms)
        spread, held = inverse
        t_ms[held] += add_ms[spread]
        name = fixes.phones[i]
        notes += [_note(where, name, way, a, b) for a, b in zip(parts, parts[1:], strict=False)]
    if len(notes) == len(log.notes):
        return log
    return replace(log, fixes=replace(fixes, t_ms=t_ms), marks=tuple(marks), notes=tuple(notes))


def _written(
    fixes: Fixes, rows: Ints, numbers: Ints | None
) -> tuple[Ints, tuple[Ints, Ints], bool]:
    """One phone's rows in the order written, each once; which of them each row is; if numbered."""
    if numbers is not None and (numbers[rows] > 0).all():
        rows = rows[np.argsort(numbers[rows], kind="stable")]
        return rows, (np.arange(len(rows)), rows), True
    each = np.c_[fixes.t_ms[rows], fixes.lat_deg[rows], fixes.lon_deg[rows]]
    _, first, inverse = np.unique(each, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first)
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    return rows[first[order]], (place[inverse.ravel()], rows), False


def _way(fixes: Fixes, rows: Ints) -> _Way:
    t_s = (fixes.t_ms[rows] - fixes.t_ms[rows[0]]) / 1000.0
    step_s, step_m = np.diff(t_s), _apart(fixes, rows[:-1], rows[1:])
    plain = (step_s > 0) & (step_s <= _USUAL_S)
    usual_s = float(np.median(step_s[plain])) if plain.any() else 1.0
    speed = fixes.speed_m_s[rows]
    ways = step_m[plain] / step_s[plain]
    going = float(np.median(ways[ways > _SLOW_M_S])) if (ways > _SLOW_M_S).any() else _SLOW_M_S
    told = np.fmax(speed[:-1], speed[1:])
    fast = np.where(told > _SLOW_M_S, told, going)
    near = ~(step_m > 3 * usual_s * fast + _SLACK_M)
    return _Way(t_s, step_s, step_m, usual_s, step_s - np.where(near, usual_s, step_m / fast))


def _apart(fixes: Fixes, a: Ints, b: Ints) -> Floats:
    """Metres between rows; a short way on a globe."""
    east = (fixes.lon_deg[b] - fixes.lon_deg[a] + 180.0) % 360.0 - 180.0
    east = east * np.cos(np.radians(fixes.lat_deg[a]))
    out: Floats = _M_PER_DEG * np.hypot(east, fixes.lat_deg[b] - fixes.lat_deg[a])
    return out


def _parts(way: _Way, told: Sequence[tuple[int, object]]) -> list[_Part]:
    """The parts of the log that want their times moved; one part where nothing does."""
    back: Bools = (way.step_s < -BACK_S) & (way.step_s > -MOST_S)
    ahead = (way.over_s > FORWARD_S) & (way.over_s < MOST_S)
    places = np.flatnonzero(back | ahead).tolist()
    over = {k: _told(way, k, told) for k in places}
    parts = [_Part(0, 0.0)]
    for k in places:
        here = parts[-1].add_s
        want = here - over[k]
        known = [p.add_s for p in reversed(parts) if abs(p.add_s - want) <= SAME_S]
        jumped = [
            n for n, p in enumerate(parts) if p.ahead_s and abs(p.ahead_s + over[k]) <= SAME_S
        ]
        if not back[k]:
            parts.append(_Part(k + 1, known[0]) if known else _Part(k + 1, here, over[k]))
        elif known or not jumped:
            parts.append(_Part(k + 1, known[0] if known else want))
        else:
            n = jumped[-1]
            size = parts[n].ahead_s
            parts[n:] = [replace(p, add_s=p.add_s - size, ahead_s=0.0) for p in parts[n:]]
            parts.append(_Part(k + 1, here))
    whole: list[_Part] = []
    for part, end in zip(parts, [*(p.first for p in parts[1:]), len(way.t_s)], strict=True):
        if whole and (whole[-1].add_s == part.add_s or end - part.first <= BRIEF):
            continue  # nothing new, or a stale position or two among others
        whole.append(part)
    return whole if len(whole) <= MOST + 1 else whole[:1]


def _told(way: _Way, k: int, told: Sequence[tuple[int, object]]) -> float:
    """By how much the clock was set after fix k: as the phone says, else by the way."""
    late = 1 + int(np.ceil(3.0 / way.usual_s))
    for rank, jump_ms in told:
        if isinstance(jump_ms, int | float) and k < rank <= k + 1 + late:
            jump_s = float(jump_ms) / 1000.0
            if abs(jump_s - way.over_s[k]) <= TOLD_S and way.step_s[k] > jump_s:
                return jump_s
    return float(way.over_s[k])


def _whole(fixes: Fixes, rows: Ints, way: _Way, parts: Sequence[_Part]) -> bool:
    """Whether lines without numbers are one log: the way goes on, and nobody is at two places."""
    firsts = np.array([p.first for p in parts[1:]])
    if (way.step_m[firsts - 1] > ON_M).any():
        return False
    for first, last in zip(firsts.tolist(), [*firsts[1:].tolist(), len(rows)], strict=True):
        a, b = rows[:first], rows[first:last]
        a = a[np.argsort(fixes.t_ms[a], kind="stable")]
        t_a, t_b = fixes.t_ms[a], fixes.t_ms[b]
        b = b[(t_b >= t_a[0]) & (t_b <= t_a[-1])]
        if len(b) * way.usual_s > TOGETHER_S:
            at = a[np.searchsorted(t_a, fixes.t_ms[b]).clip(0, len(a) - 1)]
            if float(np.median(_apart(fixes, at, b))) < CAB_M:
                return False
    return True


def _moved(mark: Mark, rank: int | None, t_ms: Ints, add_ms: Ints) -> Mark:
    """The mark with the fixes it was written among, if it is about that moment."""
    if rank is None:
        near = [int(np.argmin(np.abs(t_ms - mark.t_ms)))]  # the first of those as near
    else:
        near = [k for k in (rank - 1, rank) if 0 <= k < len(t_ms)]
    at = min(near, key=lambda k: abs(int(t_ms[k]) - mark.t_ms))
    from_ms, to_ms = int(t_ms[near[0]]) - 1000 * NOW_S, int(t_ms[near[-1]]) + 1000 * NOW_S
    same = add_ms[near[0]] == add_ms[near[-1]]
    if not (from_ms <= mark.t_ms <= to_ms if same else abs(t_ms[at] - mark.t_ms) <= 1000 * NOW_S):
        return mark  # about a moment shown to somebody, who saw it on the clock counted on
    add = int(add_ms[at])
    answers = mark.kind == "blind" or (mark.kind == "say" and "answer" in mark.says)
    with_it = _PAST if answers else (*_PAST, *_SPAN)
    says = {
        k: v + add if k in with_it and isinstance(v, int | float) else v
        for k, v in mark.says.items()
    }
    return replace(mark, t_ms=mark.t_ms + add, says=says) if add else mark


def _note(where: str, name: str, way: _Way, a: _Part, b: _Part) -> str:
    set_s = a.add_s - b.add_s
    long = f"{abs(set_s) / 60:.0f} min" if abs(set_s) >= 600 else f"{abs(set_s):.0f} s"
    into = way.t_s[b.first - 1] + a.add_s
    return (
        f"{where}{': ' if where else ''}the clock of {name} was set "
        f"{'back' if set_s < 0 else 'forward'} by {long}, {into / 60:.0f} min into its log; "
        "what it wrote after that is counted on the clock it began with"
    )
