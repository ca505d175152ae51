"""Prices: what a change of them computes anew, and which season keeps its own."""

from __future__ import annotations

from pathlib import Path

import farms
from farms import sown


def test_other_prices_compute_this_season_anew_and_none_that_had_its_own(tmp_path: Path) -> None:
    year_ms = 365 * 86_400_000
    clock = farms.Clock(farms.NOW_MS - year_ms)
    with farms.computing(tmp_path, clock=clock) as farm:
        farm.save_settings({"prices": {"tractor_h": 50}}, 0)  # while it was 2024
        clock.pass_s(year_ms / 1000)
        id_ = sown(farm)
        later = [e | {"dev": "next"} for e in farms.day("next", later_ms=-year_ms)]
        farm.take_file("before.jsonl", farms.body(later))
        assert farm.finish(farms.WAIT_S)
        heads = {year: farm.work(id_, year)["head"] for year in (2024, 2025)}
        assert all(heads.values())
    with farms.farm_in(tmp_path) as farm:  # it computes nothing
        farm.save_settings({"prices": {"tractor_h": 99}}, 1)
        assert farm.work(id_, 2025)["stale"] is True
        assert farm.work(id_, 2024)["stale"] is False
    with farms.computing(tmp_path) as farm:
        assert farm.finish(farms.WAIT_S)
        assert farm.work(id_, 2025)["head"] != heads[2025]
        assert farm.work(id_, 2024)["head"] == heads[2024]


def test_a_season_keeps_the_prices_that_it_had_when_it_ended(tmp_path: Path) -> None:
    year_ms = 365 * 86_400_000
    clock = farms.Clock()
    with farms.computing(tmp_path / "one", clock=clock) as farm:
        id_ = sown(farm)
        farm.save_settings({"prices": {"tractor_h": 99}}, 0)
        priced = farms.computed(farm, id_)
        assert "tractor_h" not in priced["worth"]["examples"]
        clock.pass_s(year_ms / 1000)
        farm.take_file("next.jsonl", farms.body(farms.day("next", later_ms=year_ms)))
        farm.save_settings({"prices": {"tractor_h": 11}}, 1)
        assert farms.computed(farm, id_, 2026)["worth"]["examples"] == priced["worth"]["examples"]
        assert farms.computed(farm, id_)["head"] == priced["head"]
        farm.rebuild()
        assert farms.computed(farm, id_)["head"] == priced["head"]


def test_a_season_that_ended_before_any_price_was_set_is_weighed_at_those_of_now(
    tmp_path: Path,
) -> None:
    clock = farms.Clock(farms.NOW_MS + 365 * 86_400_000)
    with farms.computing(tmp_path / "one", clock=clock) as farm:
        id_ = sown(farm)
        assert "tractor_h" in farms.computed(farm, id_)["worth"]["examples"]
        for version, price in enumerate((99, 98)):
            farm.save_settings({"prices": {"tractor_h": price}}, version)
            assert "tractor_h" not in farms.computed(farm, id_)["worth"]["examples"]
