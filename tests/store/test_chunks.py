"""Entries are kept byte for byte, counted without gaps, and nothing depends on how they came."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select, update

import farms
from unsown.store import chunks
from unsown.store.errors import StoreError
from unsown.store.schema import chunk
from unsown.store.store import Store


@pytest.fixture
def store(tmp_path: Path):
    made = Store.at(tmp_path)
    yield made
    made.close()


def put(store: Store, dev: str, lines: dict[int, bytes], now_ms: int = 5) -> None:
    with store.write() as conn:
        chunks.enrol(conn, dev, "phone", now_ms)
        chunks.put(conn, dev, lines, now_ms)
        chunks.advance(conn, dev, list(lines))


def lines(first: int, last: int) -> dict[int, bytes]:
    return {n: f'{{"line":{n},  "odd":"é\\u00e9"}}'.encode() for n in range(first, last + 1)}


def test_lines_come_back_byte_for_byte(store: Store) -> None:
    put(store, "cab", lines(1, 1500))
    with store.read() as conn:
        assert chunks.lines_between(conn, "cab", 1, 1500) == lines(1, 1500)
        assert chunks.lines_between(conn, "cab", 601, 602) == lines(601, 602)
        assert chunks.held(conn, "cab") == 1500
        assert [c.last - c.first + 1 for c in chunks.chunks_of(conn, "cab")] == [600, 600, 300]


def test_what_lies_beyond_a_gap_is_kept_and_wanted_but_not_held(store: Store) -> None:
    put(store, "cab", lines(1, 10))
    put(store, "cab", lines(21, 30))
    with store.read() as conn:
        assert chunks.held(conn, "cab") == 10
        assert chunks.wanted(conn, "cab") == [(11, 20)]
    put(store, "cab", lines(14, 15))
    with store.read() as conn:
        assert chunks.wanted(conn, "cab") == [(11, 13), (16, 20)]
    put(store, "cab", {**lines(11, 13), **lines(16, 20)})
    with store.read() as conn:
        assert chunks.held(conn, "cab") == 30
        assert chunks.wanted(conn, "cab") == []


def test_buried_numbers_count_as_held(store: Store) -> None:
    put(store, "cab", lines(1, 3))
    with store.write() as conn:
        chunks.bury(conn, "cab", [4, 5])
        chunks.bury(conn, "cab", [6, 8])
        assert chunks.advance(conn, "cab", [4, 5, 6, 8]) == (6, 8)
        assert chunks.under_stone(conn, "cab", 5, 9) == {5, 6, 8}
        assert chunks.wanted(conn, "cab") == [(7, 7)]


def test_lines_that_were_changed_on_the_disk_are_refused_not_read(store: Store) -> None:
    put(store, "cab", lines(1, 5))
    with store.write() as conn:
        raw = conn.execute(select(chunk.c.lines)).scalar_one()
        conn.execute(update(chunk).values(lines=raw[:-3] + b"abc"))
    with store.read() as conn, pytest.raises(StoreError) as told:
        chunks.lines_between(conn, "cab", 1, 5)
    assert told.value.code == "store-damaged"


def test_fresh_chunks_in_place_of_old_ones_keep_when_each_line_came(store: Store) -> None:
    for n, came in ((1, 100), (4, 200), (9, 300)):
        put(store, "cab", lines(n, n + (2 if n == 1 else 4 if n == 4 else 0)), came)
    with store.write() as conn:
        old = list(chunks.chunks_of(conn, "cab"))
        assert [c.received for c in old] == [((1, 100),), ((4, 200),), ((9, 300),)]
        chunks.replace(conn, old, lines(1, 9))
        (one,) = chunks.chunks_of(conn, "cab")
        assert one.received == ((1, 100), (4, 200), (9, 300))
        chunks.replace(conn, [one], {**lines(2, 3), **lines(6, 9)})
        two = list(chunks.chunks_of(conn, "cab"))
    assert [c.received for c in two] == [((2, 100),), ((6, 200), (9, 300))]


def test_disputed_lines_stand_beside_what_is_held_once_each(store: Store) -> None:
    put(store, "cab", lines(1, 3))
    for _ in range(2):
        with store.write() as conn:
            chunks.dispute(conn, "cab", {2: b'{"t_ms":1}'}, 77)
    with store.read() as conn:
        (found,) = chunks.disputes(conn)
    assert (found["seq"], found["came"], found["received_ms"]) == (2, '{"t_ms":1}', 77)
    assert found["held"] == lines(2, 2)[2].decode()


def test_disputed_lines_cannot_fill_the_disk(store: Store, monkeypatch) -> None:
    monkeypatch.setattr(chunks, "MOST_DISPUTED", 3)
    put(store, "cab", lines(1, 9))
    with store.write() as conn:
        chunks.dispute(conn, "cab", {n: b'{"x":%d}' % n for n in range(1, 10)}, 1)
    with store.read() as conn:
        assert len(chunks.disputes(conn)) == 3


pieces = st.lists(st.tuples(st.integers(1, 60), st.integers(0, 25)), min_size=1, max_size=12)


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(pieces, st.randoms(use_true_random=False))
def test_any_order_and_repetition_of_uploads_gives_the_same_store(
    tmp_path_factory: pytest.TempPathFactory, some: list[tuple[int, int]], chance
) -> None:
    whole = farms.fixes("cab", 1, 90)
    parts = [whole[a - 1 : a + n] for a, n in some] + [whole]
    shuffled = [part for part in parts for _ in range(chance.randint(1, 2))]
    chance.shuffle(shuffled)
    found = []
    for order in ([whole], shuffled):
        with farms.farm_in(tmp_path_factory.mktemp("farm")) as farm:
            for part in order:
                farm.take_file(f"{len(part)}.jsonl", farms.body(part))
            found.append(farms.evidence(farm))
    assert found[0] == found[1]
    assert len(found[0]["lines"]["cab"]) == 90
