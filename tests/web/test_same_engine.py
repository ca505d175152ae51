"""The phone's engine and the one at home, on whole simulated days: the same areas and patches.

They clip with different libraries and draw with different generators, so they agree closely, not to
the bit: areas to 0.5 %, and what rests on draws within the spread of so many draws.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.day import find
from unsown.core.words import Patch, Settings, Tally
from unsown.sim import SimDay, day
from web import days

#: Areas agree to this share, or to this much where there is next to nothing, m².
SHARE, LEAST_M2 = 0.005, 3.0
#: A patch this near to what is dropped from the list may be on one list only, m².
EDGE_M2 = 8.0
DRAWS = 120

#: Chances are compared as means over so many seeds, on days with more to say than others.
SEEDS = (1, 2, 3, 4)

LOGGED = Settings(settle=False, draws=0)
SETTLED = Settings(draws=DRAWS)

#: What happens on each day; all drawn from seeds that nothing is tuned on.
DAYS: Mapping[str, Mapping[str, Any]] = {
    "a phone on a drill": {"seed": 331, "rig": "demo", "preset": "typical", "area_ha": 5.0},
    "a cart between, backing turns": {
        **{"seed": 332, "rig": "cart", "preset": "typical", "area_ha": 6.0},
        **{"backing_turns": 0.4, "backs": 2},
    },
    "a mounted planter, ten fixes a second": {
        **{"seed": 333, "rig": "mounted", "preset": "typical", "area_ha": 3.5, "hz": 10.0},
    },
    "no speed, no course, stretches without positions": {
        **{"seed": 334, "rig": "six", "preset": "typical", "area_ha": 4.0, "gaps": 3},
        **{"speed": False, "course": False, "keep_outs": 2},
    },
    "round and round, a lost furrow": {
        **{"seed": 335, "rig": "twelve", "preset": "typical", "area_ha": 9.0, "style": "round"},
        **{"lost_furrow_m": 3.0},
    },
    "two days, pegs, taps pressed twice": {
        **{"seed": 336, "rig": "demo", "preset": "typical", "area_ha": 6.0, "two_days": 0.5},
        **{"pegs": True, "doubled": 0.1},
    },
    "a small paddock with few seams": {
        **{"seed": 338, "rig": "demo", "preset": "typical", "area_ha": 1.2, "keep_outs": 0},
    },
    "the fence from the first lap": {
        **{"seed": 337, "rig": "demo", "preset": "rtk", "area_ha": 5.0, "keep_outs": 0},
    },
}


def made(name: str) -> SimDay:
    drive = day(**DAYS[name])
    if "lap" in name:
        return replace(drive, paddock=replace(drive.paddock, area=None))
    return drive


@dataclass(frozen=True)
class Both:
    """One day from both engines; ``phone`` is what tests/web/core/engine.ts prints."""

    home: Tally
    phone: days.Row


@pytest.fixture(scope="module")
def engine(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return days.bundle(tmp_path_factory.mktemp("engine"))


@cache
def both(engine: Path, settings: Settings, names: tuple[str, ...] = tuple(DAYS)) -> dict[str, Both]:
    """The days, computed once for each of the settings."""
    drives = {name: made(name) for name in names}
    given = [days.written(d.log, d.paddock, d.rig) for d in drives.values()]
    rows = days.computed(engine, given, settings)
    return {
        name: Both(find(d.log, d.paddock, [d.rig], settings)[0], row)
        for (name, d), row in zip(drives.items(), rows, strict=True)
    }


def close(home: float, phone: float) -> bool:
    return abs(home - phone) <= max(SHARE * abs(home), LEAST_M2)


def outline(patch: days.Row) -> BaseGeometry:
    rings = [list(zip(r[::2], r[1::2], strict=True)) for r in patch["outline"]]
    return Polygon(rings[0], rings[1:])


def alike(one: Patch, other: Patch) -> bool:
    """Whether two patches are as large as each other, as far as both engines agree on that."""
    return abs(one.area_m2 - other.area_m2) <= max(0.01 * one.area_m2, 1.0)


def paired(day: Both) -> list[tuple[Patch, days.Row]]:
    """Patches of both lists that lie on each other; those near the smallest may be missing."""
    out = []
    left = [(outline(p), p) for p in day.phone["patches"]]
    for patch in day.home.patches:
        same = [(o, p) for o, p in left if o.intersection(patch.outline).area > 0.5 * patch.area_m2]
        assert same or patch.area_m2 < EDGE_M2, f"only at home: {patch.area_m2:.1f} m²"
        out += [(patch, p) for _, p in same[:1]]
        left = [x for x in left if x not in same[:1]]
    alone = [p["area_m2"] for _, p in left]
    assert all(area < EDGE_M2 for area in alone), f"only on the phone: {alone} m²"
    return out


@pytest.mark.parametrize("settings", [LOGGED, SETTLED], ids=["as logged", "settled"])
@pytest.mark.parametrize("name", DAYS)
def test_the_ground_has_the_same_areas_on_the_phone_as_at_home(
    engine: Path, name: str, settings: Settings
) -> None:
    day = both(engine, settings)[name]
    home = {f: getattr(day.home.ground, f).area for f in days.STATES}
    wrong = {
        f: (round(home[f], 1), round(day.phone["ground_m2"][f], 1))
        for f in days.STATES
        if not close(home[f], day.phone["ground_m2"][f])
    }
    assert not wrong
    assert close(day.home.again_ha * 1e4, day.phone["again_ha"] * 1e4)
    assert abs(day.home.down_km - day.phone["down_km"]) < 0.001
    assert abs(day.home.hours - day.phone["hours"]) < 1e-6


@pytest.mark.parametrize("settings", [LOGGED, SETTLED], ids=["as logged", "settled"])
@pytest.mark.parametrize("name", DAYS)
def test_the_same_patches_are_found(engine: Path, name: str, settings: Settings) -> None:
    day = both(engine, settings)[name]
    pairs = paired(day)
    assert pairs
    for home, phone in pairs:
        # one number wherever it is shown; those of two equally large may be the other way round
        if not any(alike(home, other) for other in day.home.patches if other is not home):
            assert home.number == phone["number"]
        # a tail about as narrow as what is opened may stay on one and go on the other
        assert abs(home.area_m2 - phone["area_m2"]) <= max(0.02 * home.area_m2, 3.0)
        # the perimeter is taken of a thinned outline, which begins at another corner
        assert abs(home.width_m - phone["width_m"]) <= max(0.1 * home.width_m, 0.1)
        assert home.kind == phone["kind"], (home.area_m2, home.width_m, home.length_m)
        if abs(home.area_m2 - phone["area_m2"]) <= 0.02 * home.area_m2:
            assert set(home.runs) == set(phone["runs"])


@pytest.mark.parametrize("name", DAYS)
def test_what_rests_on_draws_agrees_within_their_spread(engine: Path, name: str) -> None:
    day = both(engine, SETTLED)[name]
    assert (day.home.settle is None) == (day.phone["settle"] is None)
    if day.home.settle is not None:
        for word, value in day.home.settle.items():
            assert abs(value - day.phone["settle"][word]) <= max(0.005 * abs(value), 0.005), word
    # five standard errors of the difference of two means; the band is 3.3 spreads wide
    band = day.home.bare_high_ha - day.home.bare_low_ha
    slack = 5 * band / 3.3 * (2 / DRAWS) ** 0.5 + LEAST_M2 / 1e4
    assert abs(day.home.bare_ha - day.phone["bare_ha"]) < slack
    assert abs(band - (day.phone["bare_high_ha"] - day.phone["bare_low_ha"])) < 0.35 * band + slack


SCATTERED = (
    "a phone on a drill",
    "round and round, a lost furrow",
    "two days, pegs, taps pressed twice",
)


@pytest.mark.parametrize("name", SCATTERED)
def test_what_is_surely_sure_or_surely_not_is_so_on_both(engine: Path, name: str) -> None:
    # a day's draws share six sizes of drift: a chance scatters with the seed, a mean over some less
    seeds = [paired(both(engine, replace(SETTLED, seed=k), SCATTERED)[name]) for k in SEEDS]
    for same in zip(*seeds, strict=True):
        home = sum(p.chance for p, _ in same) / len(SEEDS)
        phone = sum(q["chance"] for _, q in same) / len(SEEDS)
        if home >= 0.95:
            assert phone >= 0.9, (home, phone)
        if home <= 0.85:
            assert phone < 0.9, (home, phone)


@pytest.mark.parametrize("name", DAYS)
def test_runs_questions_and_what_was_dropped_are_the_same(engine: Path, name: str) -> None:
    day = both(engine, LOGGED)[name]
    home = [(r.number, r.sure, r.rig, r.how) for r in day.home.runs]
    assert home == [(r["number"], r["sure"], r["rig"], r["how"]) for r in day.phone["runs"]]
    for run, other in zip(day.home.runs, day.phone["runs"], strict=True):
        for word in ("down_s", "up_s", "on_s", "off_s"):
            assert abs(getattr(run, word) - other[word]) < 0.01
    assert dict(day.home.dropped) == day.phone["dropped"]
    asked = [(q.kind, round(q.from_ms / 1000), round(q.to_ms / 1000)) for q in day.home.questions]
    assert asked == [
        (q["kind"], round(q["from_ms"] / 1000), round(q["to_ms"] / 1000))
        for q in day.phone["questions"]
    ]
