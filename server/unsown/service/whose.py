"""Of a work in which several rigs were out: what is about the one that worked last.

Bins, hours and where the openers stopped are a rig's own: the fills of one cart say nothing of what
is left in another. Ground, patches and questions stay those of all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from unsown.core.rigs import Share
from unsown.core.words import Ints, Log, Mark, Tally

#: A mark belongs to the rig that was out so soon before or after it, ms.
_PAD_MS = 60_000


@dataclass(frozen=True)
class Whose:
    """The rig's marks, its runs and ways in the tally, and the rows of its positions.

    ``share`` is None where there was but one rig: then all of it is that one's.
    """

    log: Log
    tally: Tally
    rows: Ints
    share: Share | None

    @property
    def part(self) -> float:
        """Its part of all that was sown."""
        whole = sum(each.sown_ha for each in self.tally.rigs)
        return 1.0 if self.share is None or whole <= 0 else self.share.sown_ha / whole


def of_last(log: Log, tally: Tally) -> Whose:
    """What is about the rig that worked last."""
    everything = np.arange(len(log.fixes))
    if len(tally.rigs) < 2:
        return Whose(log, tally, everything, None)
    worked = [r for r in tally.runs if r.up_s > r.down_s]
    number = max(worked, key=lambda r: r.up_s).outfit if worked else 0
    share = tally.rigs[number]
    phones = log.fixes.phones
    rows = [np.flatnonzero(np.isin(log.fixes.phone, [k for k, n in enumerate(phones)
                                                     if n in each.phones]))
            for each in tally.rigs]  # fmt: skip
    out = [(int(log.fixes.t_ms[r].min()), int(log.fixes.t_ms[r].max())) for r in rows]

    def about(mark: Mark) -> bool:
        named = mark.phone if mark.phone in phones else mark.says.get("of_dev")
        if named in phones:
            return named in share.phones
        near = [k for k, (a, b) in enumerate(out) if a - _PAD_MS <= mark.t_ms <= b + _PAD_MS]
        return near == [number]

    return Whose(
        replace(log, marks=tuple(m for m in log.marks if about(m))),
        replace(
            tally,
            runs=tuple(r for r in tally.runs if r.outfit == number),
            ways=tuple(w for w in tally.ways if w.phone in share.phones),
        ),
        rows[number],
        share,
    )
