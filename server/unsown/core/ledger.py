"""Fills in order: what each hectare really got, what is on board now, where it ran out.

The balance of ``balance`` kept through a day. Between two fills to the same mark exactly what went
in at the second was used (job paper 3.17); where somebody says what was left before a fill, that is
better still. Everything else is reckoned with the rate that is known so far.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from unsown.core.balance import BAND_Z, LEVEL_KG, Left, Rate, left, ran_out
from unsown.core.words import Floats, Way

#: On less seeded ground than this a fill tells no rate, ha.
LEAST_HA = 0.5
#: The runs that tell the length of a round: the last ones of at least this length, m.
_LAST, _LONG_M = 6, 100.0
#: A run that ends this near to where it began, as a part of its length, is a whole round.
_CLOSED = 0.2


@dataclass(frozen=True)
class Fill:
    """One fill of one product, at ``t_s``: ``amount`` in kg (or litres).

    ``left`` is what was still in the bin before, where it was looked at. ``same_mark``: filled to
    where it stood after the last fill; it says nothing about the first one.
    """

    t_s: float
    amount: float
    left: float | None = None
    same_mark: bool = True


@dataclass(frozen=True)
class Seeded:
    """Ground seeded up to any time, as often as it was: ``ha`` (n,) at ``t_s`` (n,), rising."""

    t_s: Floats
    ha: Floats

    def at(self, t_s: float) -> float:
        """Hectares seeded until then."""
        return float(np.interp(t_s, self.t_s, self.ha)) if len(self.t_s) else 0.0

    def when(self, ha: float) -> float | None:
        """When so much had been seeded, s; None where it has not been yet."""
        if not len(self.ha) or ha > self.ha[-1]:
            return None
        k = int(np.searchsorted(self.ha, ha))
        if k == 0:
            return float(self.t_s[0])
        a, b = self.ha[k - 1], self.ha[k]
        part = (ha - a) / (b - a) if b > a else 0.0
        return float(self.t_s[k - 1] + part * (self.t_s[k] - self.t_s[k - 1]))


@dataclass(frozen=True)
class Out:
    """When a bin ran empty behind the driver: the best guess and nine times in ten between, s.

    ``to_s`` None: perhaps not yet.
    """

    from_s: float
    at_s: float | None
    to_s: float | None


@dataclass(frozen=True)
class Row:
    """One fill: ground seeded since the last, what was used on it, the rate that comes to.

    ``used`` and ``rate`` are None where nothing tells them. ``before`` is what was reckoned to be
    left, ``level`` what was on board after. ``out`` tells where it ran empty after this fill,
    None where what was on board was surely enough until the next.
    """

    fill: Fill
    seeded_ha: float
    before: float | None
    used: float | None
    rate: float | None
    level: float
    out: Out | None = None


@dataclass(frozen=True)
class Ledger:
    """All fills of a product and what is on board. ``rate`` None: nothing tells one.

    ``now`` is None with it. ``used`` and ``used_ha`` are over all stretches that tell a use.
    """

    rows: tuple[Row, ...]
    rate: Rate | None
    now: Left | None
    used: float
    used_ha: float

    @property
    def mean(self) -> float | None:
        """What a hectare really got over all that is known; None where nothing is."""
        return self.used / self.used_ha if self.used_ha >= LEAST_HA else None


def seeded_of(ways: Sequence[Way]) -> Seeded:
    """Ground seeded over time, from the stretches with the tool down."""
    t: list[Floats] = []
    step: list[Floats] = []
    for way in sorted((w for w in ways if len(w.t_s) > 1), key=lambda w: float(w.t_s[0])):
        steps = np.hypot(np.diff(way.x_m), np.diff(way.y_m))
        whole = float(steps.sum())
        scale = way.length_m / whole if whole > 0 else 0.0
        t.append(way.t_s)
        step.append(np.r_[0.0, steps * scale * way.width_m / 1e4])
    if not t:
        return Seeded(np.zeros(0), np.zeros(0))
    times = np.concatenate(t)
    order = np.argsort(times, kind="stable")
    return Seeded(times[order], np.cumsum(np.concatenate(step)[order]))


def ledger(
    fills: Sequence[Fill],
    seeded: Seeded,
    card: Rate | None,
    now_s: float,
    level_sigma: float = LEVEL_KG,
) -> Ledger:
    """The balance through all fills of one product.

    Before the first fill the bin is taken to have been empty unless ``left`` says otherwise: at
    least what went in is on board.

    Args:
        fills: in any order.
        seeded: ground seeded over time.
        card: the rate that the meter was set to; None where it is not known.
        now_s: until when.
        level_sigma: how well a level is read, kg (or litres).
    """
    rows: list[Row] = []
    rate, used, used_ha = card, 0.0, 0.0
    for fill in sorted(fills, key=lambda f: f.t_s):
        if not rows:
            level = (fill.left or 0.0) + fill.amount
            rows.append(Row(fill, 0.0, fill.left, None, None, level))
            continue
        last = rows[-1]
        ha = seeded.at(fill.t_s) - seeded.at(last.fill.t_s)
        went = _went(fill, last)
        before = last.level - rate.kg_ha * ha if rate is not None else None
        if went is not None and ha >= LEAST_HA:
            used, used_ha = used + went, used_ha + ha
            rate = rate.after(went, ha, level_sigma) if rate else _first(went, ha, level_sigma)
        level = _level(fill, last, before)
        told = went / ha if went is not None and ha >= LEAST_HA else None
        rows.append(Row(fill, ha, before, went, told, level))
    ends = [*[(row.fill.t_s, row.used) for row in rows[1:]], (now_s, None)][: len(rows)]
    rows = [
        replace(row, out=_out(row, seeded, rate, end, level_sigma))
        for row, end in zip(rows, ends, strict=True)
    ]
    now = None
    if rows and rate is not None:
        since = seeded.at(now_s) - seeded.at(rows[-1].fill.t_s)
        now = left(rows[-1].level, since, rate, level_sigma)
    return Ledger(tuple(rows), rate, now, used, used_ha)


def _went(fill: Fill, last: Row) -> float | None:
    """What was used since the last fill; None where nothing tells it."""
    if fill.left is not None:
        return last.level - fill.left
    return fill.amount if fill.same_mark else None


def _level(fill: Fill, last: Row, before: float | None) -> float:
    if fill.left is not None:
        return fill.left + fill.amount
    if fill.same_mark:
        return last.level
    return max(before or 0.0, 0.0) + fill.amount


def _first(used: float, ha: float, level_sigma: float) -> Rate:
    return Rate(used / ha, 2**0.5 * level_sigma / ha, level_sigma**2 / ha)


def _out(
    row: Row,
    seeded: Seeded,
    rate: Rate | None,
    end: tuple[float, float | None],
    level_sigma: float,
) -> Out | None:
    """Where what was on board after a fill came to its end before the next one, if it did.

    ``end`` is the next fill's time and what was used until then: where that leaves the bin surely
    not empty, it did not run out, whatever the rate says.
    """
    until_s, used = end
    if rate is None or (used is not None and row.level - used > BAND_Z * level_sigma):
        return None
    if used is not None:  # the rate was told by later levels, not by this one
        rate = replace(rate, shared=0.0)
    found, begun = ran_out(row.level, rate, level_sigma), seeded.at(row.fill.t_s)
    spans = [seeded.when(begun + ha) for ha in (found.from_ha, found.at_ha, found.to_ha)]
    first, at, last = (None if t is None or t > until_s else t for t in spans)
    return None if first is None else Out(first, at, last)


def round_m(ways: Sequence[Way]) -> float | None:
    """The way with seed of one round, m: once round, or up and back; None where no run tells it."""
    runs: dict[int, list[Way]] = {}
    for way in ways:
        if len(way.t_s):
            runs.setdefault(way.run, []).append(way)
    rows = sorted(
        (min(float(w.t_s[0]) for w in mine), sum(w.length_m for w in mine), mine)
        for mine in runs.values()
    )
    lengths = []
    for _, length, mine in rows:
        if length >= _LONG_M:
            first, last = mine[0], mine[-1]
            apart = np.hypot(last.x_m[-1] - first.x_m[0], last.y_m[-1] - first.y_m[0])
            lengths.append(length if apart < _CLOSED * length else 2 * length)
    return float(np.median(lengths[-_LAST:])) if lengths else None
