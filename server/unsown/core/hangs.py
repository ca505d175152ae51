"""Which bare patches hang on an answer that is still open.

Runs are settled against their neighbours, but not against one that is in doubt: its answer moves
them, and may close the gap. So what lies beside such ground is asked about before anybody drives
to it. A sure patch stays whatever the answer is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Patch, Question, Run

#: About a working width, m: a run that is in doubt is neighbour to what lies so near.
NEAR_M = 10.0
#: A run is asked about where it shares more than this with a question, s: ends are rounded.
_SHARED_S = 1.0


def hanging(
    patches: Sequence[Patch],
    doubt: BaseGeometry,
    along: Sequence[Sequence[BaseGeometry]],
    runs: Sequence[Run],
    questions: Sequence[Question],
    t0_ms: int,
    outfits: Mapping[str, int],
) -> list[Patch]:
    """The patches, each with the numbers of the questions that it hangs on.

    Args:
        patches: bare patches on the plane, none of them with questions yet.
        doubt: all ground in doubt.
        along: what is doubt along each run.
        runs: the runs, as many.
        questions: what is asked of the driver.
        t0_ms: from when the seconds of the runs count, UTC ms.
        outfits: which of the rigs at work each phone rode on.
    """
    asked = [
        (unsure, [q.number for q in questions if _about(q, run, t0_ms, outfits)])
        for unsure, run in zip(along, runs, strict=True)
        if unsure
    ]
    return [
        replace(p, asks=_asks(p, asked))
        if p.call != "sure" and shapely.dwithin(p.outline, doubt, NEAR_M)
        else p
        for p in patches
    ]


def may_close(patches: Sequence[Patch]) -> float:
    """The part of what patches hold, by area and chance, that hangs on an answer: 0 to 1."""
    holds = [p.chance * p.area_m2 for p in patches]
    closes = sum(held for held, p in zip(holds, patches, strict=True) if p.asks)
    return closes / max(sum(holds), 1e-9)


def _asks(
    patch: Patch, asked: Sequence[tuple[Sequence[BaseGeometry], Sequence[int]]]
) -> tuple[int, ...]:
    found: set[int] = set()
    for unsure, numbers in asked:
        if numbers and shapely.dwithin(patch.outline, list(unsure), NEAR_M).any():
            found.update(numbers)
    return tuple(sorted(found))


def _about(question: Question, run: Run, t0_ms: int, outfits: Mapping[str, int]) -> bool:
    """Whether a question is about a run, or about a blind stretch in it."""
    if question.phone and outfits.get(question.phone) != run.outfit:
        return False
    from_s, to_s = (question.from_ms - t0_ms) / 1000, (question.to_ms - t0_ms) / 1000
    return min(run.off_s, to_s) - max(run.on_s, from_s) > _SHARED_S
