"""Which phone wrote which file, where the files do not say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from unsown.core.words import Log
from unsown.formats.rows import PHONE

#: Two tracks that run side by side for this long are of two phones, ms.
_SIDE_BY_SIDE_MS = 60_000
#: Tracks that share this part of the shorter one's fixes are copies of one.
_COPY = 0.5


def labelled(logs: Sequence[Log], names: Sequence[str]) -> list[Log]:
    """The logs, those of unnamed phones that ran at the same time labelled by ``names``.

    A file cut in two is one phone, and so is the same file given twice: only different fixes at
    the same time tell two phones apart.
    """
    plain = [i for i, log in enumerate(logs) if len(log.fixes) and log.fixes.phones == (PHONE,)]
    apart = {i for i in plain for j in plain if i != j and _beside(logs[i], logs[j])}
    taken: dict[str, int] = {}
    out = []
    for i, log in enumerate(logs):
        if i in apart:
            taken[names[i]] = taken.get(names[i], 0) + 1
            again = taken[names[i]]
            out.append(_as(log, names[i] if again == 1 else f"{names[i]} ({again})"))
        else:
            out.append(log)
    return out


def _beside(one: Log, other: Log) -> bool:
    a, b = one.fixes, other.fixes
    both = min(a.t_ms.max(), b.t_ms.max()) - max(a.t_ms.min(), b.t_ms.min())
    if both < _SIDE_BY_SIDE_MS:
        return False
    places = [
        np.unique(np.column_stack([f.t_ms.astype(float), f.lat_deg, f.lon_deg]), axis=0)
        for f in (a, b)
    ]
    shared = sum(map(len, places)) - len(np.unique(np.concatenate(places), axis=0))
    return shared < _COPY * min(map(len, places))


def _as(log: Log, name: str) -> Log:
    marks = tuple(replace(m, phone=name) if m.phone == PHONE else m for m in log.marks)
    return replace(log, fixes=replace(log.fixes, phones=(name,)), marks=marks)
