"""Stretches of time as sorted lists of (from, to), seconds."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from unsown.core.words import Bools

Span = tuple[float, float]


def joined(spans: Iterable[Span]) -> list[Span]:
    """The union, sorted; touching stretches become one."""
    out: list[Span] = []
    for a, b in sorted(s for s in spans if s[1] > s[0]):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def without(spans: Iterable[Span], taken: Iterable[Span]) -> list[Span]:
    """What is left of each stretch; stretches that touch are not joined."""
    cuts = joined(taken)
    out: list[Span] = []
    for a, b in spans:
        here = a
        for c, d in cuts:
            if d <= here or c >= b:
                continue
            if c > here:
                out.append((here, c))
            here = max(here, d)
        if here < b:
            out.append((here, b))
    return out


def marked(flags: Bools) -> list[tuple[int, int]]:
    """First and one-past-last index of every unbroken stretch of True."""
    edges = np.flatnonzero(np.diff(np.r_[0, flags.astype(np.int8), 0]))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
