"""Whatever goes wrong with one work, it is told, and the next one has its turn."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import event, select, update

import farms
from unsown.service import foreman
from unsown.service.farm import Farm
from unsown.service.task import Done, Task
from unsown.store.schema import chunk


@pytest.fixture(autouse=True)
def _no_patience(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(foreman, "_AFTER_TROUBLE_S", 0.05)


def two_works(farm: Farm) -> tuple[str, str]:
    """The small day on each of two paddocks, one phone each."""
    farm.save_rig(None, farms.CARD, None)
    ids = []
    for n, dev in enumerate(("one", "two")):
        ids.append(farm.save_paddock(None, farms.paddock(dev, north_m=3000 * n), None).id)
        farm.take_entries(dev, 1, farms.body(farms.day(dev, north_m=3000 * n)))
    return ids[0], ids[1]


class Broken(farms.Inline):
    """A bench with a defect that shows on one paddock."""

    def __init__(self) -> None:
        super().__init__()
        self.paddock = ""

    def run(self, task: Task, tell: Callable[[str, float], None]) -> Done | None:
        if task.geojson["properties"]["name"] == "one":
            raise RuntimeError("a defect")
        return super().run(task, tell)


def test_a_defect_of_the_service_is_told_and_the_next_work_is_computed(tmp_path: Path) -> None:
    with farms.computing(tmp_path, bench=Broken()) as farm:
        one, two = two_works(farm)
        found = farms.computed(farm, one)
        assert (found["state"], found["reason"]["code"]) == ("failed", "defect")
        assert farms.computed(farm, two)["state"] == "ready"
        job = farm.try_entries(one, farms.SEASON, [{"t_ms": 1, "kind": "stop"}])
        assert farm.finish(farms.WAIT_S)
        assert farm.job(job)["state"] == "failed"


def test_lines_that_were_damaged_fail_their_work_alone(tmp_path: Path) -> None:
    with farms.farm_in(tmp_path) as farm:
        one, two = two_works(farm)
        with farm.store.write() as conn:
            first = conn.execute(select(chunk.c.id).where(chunk.c.dev == "one")).scalars().first()
            conn.execute(update(chunk).where(chunk.c.id == first).values(lines=b"\x00"))
    for again in (False, True):
        with farms.computing(tmp_path) as farm:
            if again:
                farm.rebuild()
            assert farms.computed(farm, two)["state"] == "ready"
            found = farms.computed(farm, one)
            if again:  # what is left is computed, and said to be less than there was
                assert any("1 to 600 of 'one' are damaged" in n for n in found["tally"]["notes"])
            else:
                assert (found["state"], found["reason"]["code"]) == ("failed", "store-damaged")


def test_a_disk_that_is_full_for_a_while_delays_an_answer_and_loses_none(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        full = True

        def note(conn, cursor, statement, parameters, context, executemany) -> None:
            if full and "work" in statement and statement.startswith("UPDATE"):
                raise OSError(28, "No space left on device")

        one, two = two_works(farm)
        farms.computed(farm, one)
        event.listen(farm.store.engine, "before_cursor_execute", note)
        farm._clerk.forget()
        with pytest.raises(Exception, match="no room"):
            farm.save_rig(farm.rigs()[0]["id"], {**farms.CARD, "tool": {"width_m": 7}}, 1)
        full = False
        farm.save_rig(farm.rigs()[0]["id"], {**farms.CARD, "tool": {"width_m": 7}}, 1)
        full = True
        assert not farm.finish(0.5)
        full = False
        assert {r["width_m"] for r in farms.computed(farm, one)["runs"]} == {7.0}
        assert {r["width_m"] for r in farms.computed(farm, two)["runs"]} == {7.0}
        event.remove(farm.store.engine, "before_cursor_execute", note)
