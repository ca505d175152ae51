"""The board of a season opens without looking at what was logged."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import event

import farms
from unsown.service.engine import engine


def asked(farm, what) -> list[str]:
    """Every statement that the store is asked while ``what`` is done."""
    found: list[str] = []

    def note(conn, cursor, statement, parameters, context, executemany) -> None:
        found.append(statement)

    event.listen(farm.store.engine, "before_cursor_execute", note)
    try:
        what()
    finally:
        event.remove(farm.store.engine, "before_cursor_execute", note)
    return found


def test_a_board_asks_the_same_few_things_however_much_was_logged(tmp_path: Path) -> None:
    counts = []
    with farms.farm_in(tmp_path) as farm:
        for n in range(1, 12):
            farm.save_paddock(None, farms.paddock(f"p{n}", north_m=2000 * n), None)
            farm.take_entries("cab", n * 100 - 99, farms.body(
                farms.fixes("cab", n * 100 - 99, 100, north_m=2000 * n)))  # fmt: skip
            if n in (1, 11):
                said = asked(farm, lambda: farm.board(farms.SEASON))
                counts.append(len(said))
                assert not any("FROM chunk" in s or "chunk.lines" in s for s in said)
                assert not any("work.body" in s or "work.ground" in s for s in said)
                assert sum("version.body" in s for s in said) == 1  # the settings
        assert len(farm.board(farms.SEASON)["paddocks"]) == 11
    assert counts[0] == counts[1] < 16


def test_a_page_of_a_work_reads_no_line_of_the_log(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        id_ = farms.stocked(farm)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        farms.computed(farm, id_)
        for what in (
            lambda: farm.work(id_, farms.SEASON),
            lambda: farm.ground(id_, farms.SEASON),
            lambda: farm.timeline(id_, farms.SEASON, farms.DAY),
            lambda: farm.slip(farms.DAY),
        ):
            assert not any("chunk.lines" in s for s in asked(farm, what))


def test_the_board_of_a_farm_without_anything_is_of_this_season(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        board = farm.board()
        assert (board["season"], board["seasons"], board["paddocks"]) == (2025, [2025], [])
        assert board["unplaced"] == {"fixes": 0, "days": []}


def test_the_engines_number_is_the_same_each_time_and_short() -> None:
    assert engine() == engine()
    assert len(engine()) == 12
    assert int(engine(), 16) > 0
