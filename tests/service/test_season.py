"""A season can be forgotten for good: no phone and no file brings it back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import farms
import smallday
from unsown.formats import gpx
from unsown.formats.track import read_track
from unsown.service.farm import Farm
from unsown.service.words import FarmError, IntakeError

YEAR_MS = 365 * 86_400_000


@pytest.fixture
def farm(tmp_path: Path):
    with farms.farm_in(tmp_path, clock=farms.Clock(farms.NOW_MS + YEAR_MS)) as made:
        yield made


def two_seasons(dev: str = "cab") -> list[dict]:
    """The small day of 2025, and a line of 2026."""
    day = farms.day(dev)
    return [*day, *farms.fixes(dev, len(day) + 1, 40, t_ms=smallday.START_MS + YEAR_MS)]


def test_a_season_tells_what_is_held_of_it(farm: Farm) -> None:
    farm.save_paddock(None, farms.paddock(), None)
    farm.take_entries("cab", 1, farms.body(two_seasons()))
    assert farm.board()["seasons"] == [2026, 2025]
    found = farm.season(2025)
    assert (found["entries"], found["fixes"]) == (618, 606)
    assert (found["days"], found["phones"], found["stones"]) == ([farms.DAY], ["cab"], [])
    assert farm.season(2026)["entries"] == 40
    assert farm.season(2001)["entries"] == 0


@pytest.mark.parametrize("confirm", ["", "yes", "2026", "02025", " 2025"])
def test_a_season_is_only_forgotten_when_its_year_is_repeated(farm: Farm, confirm: str) -> None:
    farm.take_entries("cab", 1, farms.body(two_seasons()))
    with pytest.raises(FarmError) as told:
        farm.forget_season(2025, confirm)
    assert told.value.code == "confirm"
    assert farm.season(2025)["entries"] == 618


def test_what_was_forgotten_is_gone_and_the_rest_stays(farm: Farm, tmp_path: Path) -> None:
    entries = two_seasons()
    farm.take_entries("cab", 1, farms.body(entries))
    assert farm.forget_season(2025, "2025") == {"season": 2025, "entries": 618}
    kept = farms.body(entries).splitlines()
    assert farms.lines_held(farm, "cab") == dict(enumerate(kept[618:], 619))
    assert farm.held("cab").held == 658
    assert farm.board()["seasons"] == [2026]
    assert farm.season(2025)["stones"] == [
        {"season": 2025, "made_ms": farms.NOW_MS + YEAR_MS, "entries": 618}
    ]
    farm.store.close()
    files = b"".join(p.read_bytes() for p in tmp_path.glob("unsown.db*"))
    assert b"SQLite" in files
    assert farm.store.check() == []


def test_a_phone_that_sends_a_forgotten_season_again_brings_nothing_back(farm: Farm) -> None:
    phone = farms.Phone("cab")
    phone.write(two_seasons())
    phone.send(farm)
    farm.forget_season(2025, "2025")
    before = farms.evidence(farm)
    phone.told = 0
    held = farm.take_entries("cab", 1, b"\n".join(phone.log))
    assert (held.held, held.kept, held.again) == (658, 0, 658)
    assert farms.evidence(farm) == before
    late = farms.fixes("cab", 659, 20, t_ms=smallday.START_MS + 9_000_000)
    after = farm.take_entries("cab", 659, farms.body(late))  # written then, sent only now
    assert (after.held, after.kept, after.again) == (678, 0, 20)
    assert "forgotten" in after.notes[0]
    assert farm.season(2025)["entries"] == 0
    now = farms.fixes("cab", 679, 5, t_ms=smallday.START_MS + YEAR_MS)
    assert farm.take_entries("cab", 679, farms.body(now)).kept == 5


def test_a_file_of_a_forgotten_season_is_emptied_and_brings_nothing_back(farm: Farm) -> None:
    track = gpx.write(read_track(farms.body(farms.day()), "x")).encode()
    (dev,) = farm.take_file("monday.gpx", track).devs
    farm.forget_season(2025, "2025")
    assert farms.lines_held(farm, dev) == {}
    assert farm.take_file("monday.gpx", track).kept == 0
    other = gpx.write(read_track(farms.body(farms.day()[:300]), "x")).encode()
    taken = farm.take_file("part.gpx", other)
    assert taken.kept == 0
    assert farm.season(2025)["entries"] == 0
    from sqlalchemy import select

    from unsown.store.schema import file

    with farm.store.read() as conn:
        first = conn.execute(select(file.c.data).order_by(file.c.taken_ms)).scalars().first()
    assert first is None


def test_disputed_lines_of_a_forgotten_season_go_too(farm: Farm) -> None:
    farm.take_entries("cab", 1, farms.body(two_seasons()))
    for seq in (3, 650):
        other = {**two_seasons()[seq - 1], "lat_deg": 1.0}
        with pytest.raises(IntakeError):
            farm.take_entries("cab", seq, farms.body([other]))
    farm.forget_season(2025, "2025")
    assert [d["seq"] for d in farm.disputes()] == [650]
    assert json.loads(farm.disputes()[0]["came"])["lat_deg"] == 1.0


def test_what_was_computed_of_a_forgotten_season_goes_and_the_next_season_stays(
    tmp_path: Path,
) -> None:
    with farms.computing(tmp_path, clock=farms.Clock(farms.NOW_MS + YEAR_MS)) as farm:
        id_ = farms.stocked(farm)
        day = farms.day()
        farm.take_entries("cab", 1, farms.body(day))
        again = farms.day(first=len(day) + 1, later_ms=YEAR_MS)
        farm.take_entries("cab", len(day) + 1, farms.body(again))
        before = farms.computed(farm, id_, 2026)
        assert before["state"] == farms.computed(farm, id_, 2025)["state"] == "ready"
        farm.forget_season(2025, "2025")
        assert farms.computed(farm, id_, 2025)["state"] == "none"
        after = farms.computed(farm, id_, 2026)
        assert after["tally"] == before["tally"]
        assert farm.slip(farms.DAY)["paddocks"] == []
