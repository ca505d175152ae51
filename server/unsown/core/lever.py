"""Lever marks -> runs: when every opener was seeding.

Timing is the job paper's 3.6. With t_d, t_u the lever's times:

    on  = t_d + max(lower, meter + fill)
    off = min(t_u + raise, t_u + first_starve)

where fill is shortened when the hoses were still charged from a moment ago, and off is not
shortened where the drain time was never measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from unsown.core.spans import without
from unsown.core.words import Fixes, Mark, Rig, Run, Times

#: A phone's segment that another one saw in part counts if so much of it is its own.
_OWN = 0.5


def rig_at(rigs: Sequence[Rig], t_ms: float) -> int:
    """Index of the rig card that holds at ``t_ms`` (the last whose ``from_ms`` has come)."""
    best, best_from = 0, -np.inf
    for i, rig in enumerate(rigs):
        start = -np.inf if rig.from_ms is None else float(rig.from_ms)
        if start <= t_ms and start >= best_from:
            best, best_from = i, start
    return best


def taps(marks: Sequence[Mark]) -> tuple[list[tuple[int, str]], list[str]]:
    """The lever's changes in time order, (t_ms, "down" | "up"), and notes on what was odd.

    A second down while down (or up while up) changes nothing and is only noted.
    """
    changes: list[tuple[int, str]] = []
    again = 0
    levers = sorted((m for m in marks if m.kind == "lever"), key=lambda m: (m.t_ms, m.phone, m.seq))
    for mark in levers:
        state = str(mark.says.get("lever", ""))
        if state not in ("down", "up"):
            continue
        before = changes[-1][1] if changes else "up"
        if state == before:
            again += 1
            continue
        changes.append((mark.t_ms, state))
    notes = [f"{again} lever taps repeated the state before them: no change made"] if again else []
    return changes, notes


def runs_from_taps(
    changes: Sequence[tuple[int, str]], rigs: Sequence[Rig], t0_ms: int, end_ms: int
) -> list[Run]:
    """Runs from the lever's changes; one still down at the end lasts to ``end_ms``."""
    pairs: list[tuple[int, int]] = []
    down: int | None = None
    for t_ms, state in changes:
        if state == "down" and down is None:
            down = t_ms
        elif state == "up" and down is not None:
            pairs.append((down, t_ms))
            down = None
    if down is not None and end_ms > down:
        pairs.append((down, end_ms))
    return time_runs(pairs, rigs, t0_ms)


def runs_from_segments(fixes: Fixes, rigs: Sequence[Rig], t0_ms: int) -> list[Run]:
    """Every segment of the source is one run, from its first fix to its last.

    Where several phones of one rig saw it, those of the phone with most fixes count, and of the
    others what it did not see.
    """
    order = np.argsort(-np.bincount(fixes.phone, minlength=1), kind="stable")
    taken: list[tuple[float, float]] = []
    for phone in order.tolist():
        more: list[tuple[float, float]] = []
        mine = fixes.phone == phone
        for key in np.unique(fixes.segment[mine]):
            times = fixes.t_ms[mine & (fixes.segment == key)]
            if len(times) > 1:
                span = float(times.min()), float(times.max())
                left = without([span], taken)
                more += [p for p in left if p == span or p[1] - p[0] > _OWN * (span[1] - span[0])]
        taken += more
    return time_runs([(int(a), int(b)) for a, b in sorted(taken)], rigs, t0_ms)


def start_delay(times: Times) -> float:
    """Seconds from lowering to seed from every opener, hoses empty."""
    return max(times.lower_s, times.meter_s + times.fill_s)


def stop_delay(times: Times) -> float:
    """Seconds from lifting to the end of seed from every opener."""
    starve = times.first_starve_s
    if starve is None and times.drain_s is not None:
        starve = 0.7 * times.drain_s
    return times.raise_s if starve is None else min(times.raise_s, starve)


def time_runs(pairs: Sequence[tuple[int, int]], rigs: Sequence[Rig], t0_ms: int) -> list[Run]:
    """Runs with their seeding times from lever times (ms), cut where a new rig card begins."""
    runs: list[Run] = []
    stopped = -np.inf
    for down_ms, up_ms in pairs:
        cuts = [r.from_ms for r in rigs if r.from_ms is not None and down_ms < r.from_ms < up_ms]
        bounds = [down_ms, *sorted(cuts), up_ms]
        for i, (a, b) in enumerate(zip(bounds, bounds[1:], strict=False)):
            which = rig_at(rigs, a)
            times = rigs[which].times
            a_s, b_s = (a - t0_ms) / 1000.0, (b - t0_ms) / 1000.0
            fill = times.fill_s
            drain = times.drain_s if times.drain_s is not None else times.fill_s
            if drain > 0 and a_s + times.meter_s - stopped < drain:
                fill *= max(0.0, (a_s + times.meter_s - stopped) / drain)
            on = a_s if i else a_s + max(times.lower_s, times.meter_s + fill)
            off = b_s
            if i == len(bounds) - 2:
                off = b_s + stop_delay(times)
                stopped = b_s
            runs.append(Run(len(runs) + 1, a_s, b_s, on, max(on, off), which))
    return [replace(r, number=i + 1) for i, r in enumerate(runs)]
