"""What is computed next: what somebody waits for, then the newest day, nothing that streams in."""

from __future__ import annotations

from unsown.service.queue import MOST_WAIT_S, QUIET_S, REST, Queue

A, B = ("a", 2025), ("b", 2025)


class Now:
    def __init__(self) -> None:
        self.s = 100.0

    def __call__(self) -> float:
        return self.s


def test_a_work_waits_until_nothing_came_for_a_while() -> None:
    now = Now()
    queue = Queue(now)
    queue.add(A)
    now.s += QUIET_S / 2
    queue.add(A)
    now.s += QUIET_S * 0.9
    assert queue.take() is None
    assert queue.wait_s() is not None
    now.s += QUIET_S * 0.1
    assert queue.take() == A
    assert queue.wait_s() is None


def test_a_work_that_never_rests_is_computed_all_the_same() -> None:
    now = Now()
    queue = Queue(now)
    start = now.s
    while queue.take() is None:
        queue.add(A)
        now.s += 1.0
        assert now.s - start < 2 * MOST_WAIT_S
    assert now.s - start >= MOST_WAIT_S


def test_a_slow_work_rests_in_proportion_while_it_streams_in() -> None:
    now = Now()
    queue = Queue(now)
    queue.took(A, 60.0)
    queue.add(A)
    now.s += 60.0 * REST - 1
    assert queue.take() is None
    now.s += 1
    assert queue.take() == A


def test_what_somebody_waits_for_comes_first_and_at_once() -> None:
    now = Now()
    queue = Queue(now)
    queue.took(B, 1000.0)
    queue.add(A, "2025-05-09")
    queue.add(B, "2025-05-01", urgent=True)
    now.s += 10
    assert [queue.take(), queue.take(), queue.take()] == [B, A, None]


def test_the_newest_day_comes_before_older_ones() -> None:
    now = Now()
    queue = Queue(now)
    queue.add(A, "2025-05-01")
    queue.add(B, "2025-05-02")
    now.s += 10
    assert [queue.take(), queue.take()] == [B, A]
    assert len(queue) == 0
