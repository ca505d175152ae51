"""Joining is the same either way round and any number of times, however the logs were cut."""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import pairs
from drives import PLAIN, picked
from unsown.core.day import find
from unsown.core.words import Log
from unsown.formats.track import join

WHOLE = pairs.both(seed=4)


def pieces(cuts: list[float]) -> list[Log]:
    """The logs of both phones, each cut at these parts of its time."""
    out = []
    for k, phone in enumerate(WHOLE.fixes.phones):
        mine = np.flatnonzero(WHOLE.fixes.phone == k)
        t_ms = WHOLE.fixes.t_ms[mine]
        edges = [t_ms.min() + c * (t_ms.max() - t_ms.min() + 1) for c in (0.0, *sorted(cuts), 1.0)]
        for a, b in zip(edges, edges[1:], strict=False):
            rows = mine[(t_ms >= a) & (t_ms < b)]
            marks = tuple(m for m in WHOLE.marks if m.phone == phone and a <= m.t_ms < b)
            out.append(Log(picked(WHOLE.fixes, rows), marks))
    return out


def same(a: Log, b: Log) -> bool:
    columns = [n for n in a.fixes.__dataclass_fields__ if n not in ("phones", "segment")]
    rows = (np.array_equal(getattr(a.fixes, n), getattr(b.fixes, n), equal_nan=True)
            for n in columns)  # fmt: skip
    return a.marks == b.marks and a.fixes.phones == b.fixes.phones and all(rows)


@settings(max_examples=15, deadline=None, derandomize=True,
          suppress_health_check=[HealthCheck.too_slow])  # fmt: skip
@given(
    cuts=st.lists(st.floats(0.05, 0.95), max_size=3),
    order=st.randoms(use_true_random=False),
    again=st.integers(1, 3),
)
def test_two_rigs_logs_joined_in_any_order_and_number_are_one_log(
    cuts: list[float], order: object, again: int
) -> None:
    parts = pieces(cuts) * again
    order.shuffle(parts)  # type: ignore[attr-defined]
    once = join(parts)
    assert same(once, join(pieces([])))
    # and what is joined already, joined again with any part, stays as it is
    assert same(join([parts[0], once]), once)
    assert same(join([once, once, parts[-1]]), once)


def test_two_rigs_days_joined_either_way_round_come_to_the_same() -> None:
    parts = pieces([0.4])
    one, _ = find(join(parts), pairs.ground(), [pairs.BIG, pairs.SMALL], PLAIN)
    other, _ = find(join(parts[::-1] * 2), pairs.ground(), [pairs.SMALL, pairs.BIG], PLAIN)
    assert [s.phones for s in one.rigs] == [("a",), ("b",)]
    assert one.rigs == other.rigs
    for name in ("sown_ha", "bare_ha", "twice_ha", "again_ha", "swept_ha", "doubt_ha"):
        assert getattr(one, name) == getattr(other, name)
