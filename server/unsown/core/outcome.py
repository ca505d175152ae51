"""What became of a day's taps: sown stretches, doubt, questions; and the runs for the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from unsown.core.ask import Asked
from unsown.core.lever import time_runs
from unsown.core.spans import Span
from unsown.core.words import Floats, Rig, Run


@dataclass(frozen=True)
class Stretch:
    """Sown ground: lever times, and between ``on_s`` and ``off_s`` every opener seeds.

    ``how``: ``tapped``, ``afterwards`` (an end comes from an answer), ``cut`` (an end lies
    beside doubt) or ``guessed``.
    """

    down_s: float
    up_s: float
    on_s: float
    off_s: float
    how: str


@dataclass(frozen=True)
class Doubt:
    """Ground that may or may not have been sown, by when the bar passed over it."""

    from_s: float
    to_s: float
    why: str


@dataclass(frozen=True)
class Inferred:
    """What became of one phone's day. All times in seconds since the day's first fix.

    ``bridged`` are blind stretches that an answer calls sown and whose length agrees with it.
    ``t_s`` and ``chance`` are the chance of down second by second, ``guessed`` whether the
    whole split is a guess. ``hidden_m2`` is what may be bare under guessed runs although nothing
    shows it: a run driven with the tool up looks exactly like sowing.
    """

    runs: tuple[Stretch, ...]
    doubts: tuple[Doubt, ...]
    questions: tuple[Asked, ...]
    bridged: tuple[Span, ...]
    notes: tuple[str, ...]
    t_s: Floats
    chance: Floats
    guessed: bool
    hidden_m2: float = 0.0


def as_runs(found: Inferred, rigs: Sequence[Rig], t0_ms: int) -> list[Run]:
    """Runs for the picture: sown ones, and doubt as runs that are not sure.

    With nothing inferred they are exactly those of the taps.
    """
    runs: list[tuple[float, Run]] = []
    pairs = [(round(t0_ms + r.down_s * 1000), round(t0_ms + r.up_s * 1000)) for r in found.runs]
    timed = time_runs(pairs, rigs, t0_ms)
    for run in timed:
        mine = [
            r for r in found.runs if r.down_s - 1e-3 <= run.down_s and run.up_s <= r.up_s + 1e-3
        ]
        how = mine[0] if mine else None
        on, off = run.on_s, run.off_s
        if how is not None and how.how != "tapped":
            on, off = max(on, how.on_s), min(off, how.off_s)
        word = how.how if how is not None else "tapped"
        runs.append((on, Run(0, run.down_s, run.up_s, on, max(on, off), run.rig, True, word)))
    for d in found.doubts:
        which = time_runs(
            [(round(t0_ms + d.from_s * 1000), round(t0_ms + d.to_s * 1000))], rigs, t0_ms
        )
        rig = which[0].rig if which else 0
        runs.append((d.from_s, Run(0, d.from_s, d.to_s, d.from_s, d.to_s, rig, False, d.why)))
    ordered = sorted(runs, key=lambda r: r[0])
    return [
        Run(i + 1, r.down_s, r.up_s, r.on_s, r.off_s, r.rig, r.sure, r.how)
        for i, (_, r) in enumerate(ordered)
    ]
