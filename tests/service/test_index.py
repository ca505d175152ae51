"""Every entry finds its work: by the paddock it lies near and the farm's own day."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

import farms
import smallday
from unsown.service.farm import Farm
from unsown.store import index
from unsown.store.schema import chunk, mark, span, touch, work


@pytest.fixture
def farm(tmp_path: Path):
    with farms.farm_in(tmp_path) as made:
        yield made


def touches(farm: Farm) -> dict[str, int]:
    """How many fixes touch each paddock."""
    with farm.store.read() as conn:
        rows = conn.execute(select(touch.c.paddock, touch.c.fixes)).all()
    out: dict[str, int] = {}
    for paddock, count in rows:
        out[paddock] = out.get(paddock, 0) + count
    return out


def settled(farm: Farm) -> None:
    while farm._clerk.catch_up():
        pass


def rows(farm: Farm) -> dict[str, list[tuple]]:
    """The whole index, without the numbers chunks happen to have."""
    with farm.store.read() as conn:
        ids = {
            i: (d, f) for i, d, f in conn.execute(select(chunk.c.id, chunk.c.dev, chunk.c.first))
        }
        return {
            table.name: sorted(
                str((ids[row.chunk], *[v for k, v in row._mapping.items() if k != "chunk"]))
                for row in conn.execute(select(table))
            )
            for table in (span, touch, mark)
        }


def test_fixes_belong_to_every_paddock_within_300_m(farm: Farm) -> None:
    here = farm.save_paddock(None, farms.paddock("here"), None).id
    near = farm.save_paddock(None, farms.paddock("near", north_m=340), None).id
    far = farm.save_paddock(None, farms.paddock("far", north_m=400), None).id
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 99)))  # 22 m north of the corner
    found = touches(farm)
    assert found[here] == 99
    assert found.get(near, 0) == 0  # 340 - 22 m is more than 300 m away
    assert far not in found
    farm.take_entries("cab", 100, farms.body(farms.fixes("cab", 100, 99, north_m=30)))
    assert touches(farm)[near] == 99


def test_what_lies_near_no_paddock_is_told_with_its_days(farm: Farm) -> None:
    farm.take_entries("cab", 1, farms.body(farms.day()))
    count = sum(e["kind"] == "fix" for e in farms.day())
    assert farm.board()["unplaced"] == {"fixes": count, "days": [farms.DAY]}
    farm.save_paddock(None, farms.paddock(), None)
    settled(farm)
    assert farm.board()["unplaced"] == {"fixes": 0, "days": []}


def test_a_paddock_that_moves_takes_its_fixes_along_and_lets_others_go(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 50)))
    farm.take_entries("cab", 51, farms.body(farms.fixes("cab", 51, 30, north_m=2000)))
    assert touches(farm) == {id_: 50}
    farm.save_paddock(id_, farms.paddock(north_m=2000), 1)
    settled(farm)
    assert touches(farm) == {id_: 30}
    farm.put_away(id_)
    settled(farm)
    assert touches(farm) == {}
    assert farm.board()["unplaced"]["fixes"] == 80
    farm.put_away(id_, back=True)
    settled(farm)
    assert touches(farm) == {id_: 30}


def test_the_index_made_anew_is_the_index_as_it_grew(farm: Farm) -> None:
    farm.save_paddock(None, farms.paddock(), None)
    farm.take_entries("cab", 1, farms.body(farms.day()))
    farm.desk_entries([{"t_ms": smallday.START_MS, "kind": "undo", "of": 2, "dev": "cab"}])
    before = rows(farm)
    assert before["touch"]
    farm.rebuild()
    assert farm.board()["unplaced"] == {"fixes": 0, "days": []}
    settled(farm)
    assert rows(farm) == before


def test_another_zone_moves_the_days(farm: Farm) -> None:
    farm.save_paddock(None, farms.paddock(), None)
    late = smallday.START_MS + 13 * 3_600_000  # 03:00 UTC: still the day before
    farm.take_entries("cab", 1, farms.body(farms.fixes("cab", 1, 9, t_ms=late)))
    assert farm.board()["paddocks"][0]["last_day"] == "2025-05-03"
    farm.save_settings({"zone": "Asia/Kolkata"}, 0)
    settled(farm)
    assert farm.board()["paddocks"][0]["last_day"] == "2025-05-04"


def stale(farm: Farm) -> set[str]:
    with farm.store.read() as conn:
        return {p for (p,) in conn.execute(select(work.c.paddock).where(work.c.stale == 1))}


def fresh(farm: Farm) -> None:
    with farm.store.write() as conn:
        conn.execute(work.update().values(stale=0))


def test_a_work_is_computed_anew_for_what_concerns_it_and_for_nothing_else(farm: Farm) -> None:
    one = farm.save_paddock(None, farms.paddock("one"), None).id
    two = farm.save_paddock(None, farms.paddock("two", north_m=2000), None).id
    farm.take_entries("a", 1, farms.body(farms.fixes("a", 1, 50)))
    farm.take_entries("b", 1, farms.body(farms.fixes("b", 1, 50, north_m=2000)))
    assert stale(farm) == {one, two}
    fresh(farm)
    farm.take_entries("a", 1, farms.body(farms.fixes("a", 1, 50)))
    assert stale(farm) == set()
    farm.desk_entries([{"t_ms": 5, "kind": "say", "paddock": two}])
    with farm.store.read() as conn:
        assert index.without_touch(conn, (two, 1970)) is True
    farm.desk_entries([{"t_ms": smallday.START_MS, "kind": "say", "paddock": two}])
    assert stale(farm) == {two}
    fresh(farm)
    farm.save_paddock(one, farms.paddock("one again"), 1)
    assert stale(farm) == {one}
    fresh(farm)
    farm.save_rig(None, farms.CARD, None)
    assert stale(farm) == {one, two}


def test_a_late_word_on_the_rig_reaches_everything_sown_after_it(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    entries = farms.fixes("cab", 2, 50)
    farm.take_file("late.jsonl", farms.body(entries))
    fresh(farm)
    word = {"v": 1, "dev": "cab", "seq": 1, "t_ms": smallday.START_MS - 9 * 3_600_000}
    farm.take_entries("cab", 1, farms.body([{**word, "kind": "rig", "card": "Small bar"}]))
    assert stale(farm) == {id_}


def test_small_sendings_are_sealed_and_nothing_else_changes(farm: Farm) -> None:
    farm.save_paddock(None, farms.paddock(), None)
    phone = farms.Phone("cab")
    phone.write(farms.day() + farms.fixes("cab", 619, 700))
    for _ in range(200):
        part = phone.log[phone.told : phone.told + 6]
        phone.told = farm.take_entries("cab", phone.told + 1, b"\n".join(part)).held
    fresh(farm)
    before, board = farms.evidence(farm), farm.board()
    with farm.store.read() as conn:
        assert len(conn.execute(select(chunk.c.id)).all()) == 200
    assert farm._clerk.seal() == 2
    with farm.store.read() as conn:
        assert len(conn.execute(select(chunk.c.id)).all()) < 10
        assert index.missing(conn, 1) == []
    assert farms.evidence(farm) == before
    assert farm.board() == board
    assert stale(farm) == set()
    assert farm.store.check() == []
