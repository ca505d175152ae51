"""Paddocks, rig cards and settings: read strictly, kept by version, never edited."""

from __future__ import annotations

from pathlib import Path

import pytest

import farms
from unsown.core.errors import PaddockError, RigError
from unsown.service.farm import Farm
from unsown.service.settings import costs
from unsown.service.words import FarmError
from unsown.store.errors import StoreError


@pytest.fixture
def farm(tmp_path: Path):
    with farms.farm_in(tmp_path) as made:
        yield made


def test_a_paddock_is_measured_when_it_is_saved(farm: Farm) -> None:
    saved = farm.save_paddock(None, farms.paddock(), None, "drawn")
    (found,) = farm.paddocks()
    assert (found["id"], found["name"], found["version"]) == (saved.id, "Small paddock", 1)
    assert found["net_ha"] == pytest.approx(0.96, abs=1e-4)  # 200 m by 48 m
    # a lone boundary is as good as a collection, and comes back as one
    assert found["geojson"] == {"type": "FeatureCollection", "features": [farms.paddock()]}


def test_a_keep_out_is_taken_off_while_it_holds(farm: Farm) -> None:
    whole = farms.paddock()
    hole = farms.paddock("wet")
    ring = hole["geometry"]["coordinates"][0]
    west = ring[0][0]
    hole["geometry"]["coordinates"] = [[[west + (x - west) / 4, y] for x, y in ring]]
    hole["properties"] = {"kind": "slough", "until": "2025-05-31"}
    both = {"type": "FeatureCollection", "features": [whole, hole]}
    clock = farms.Clock()
    saved = farm.save_paddock(None, both, None)
    assert farm.paddock(saved.id)["keep_out_ha"] == pytest.approx(0.24, abs=1e-3)
    assert clock.now_ms == farms.NOW_MS


def test_every_version_stays_and_the_newest_is_shown(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None, "drawn").id
    assert farm.save_paddock(id_, farms.paddock("Renamed"), 1, "its real name").version == 2
    assert [p["name"] for p in farm.paddocks()] == ["Renamed"]
    assert farm.paddock(id_, 1)["name"] == "Small paddock"
    assert [(h["version"], h["why"]) for h in farm.paddock_history(id_)] == [
        (1, "drawn"),
        (2, "its real name"),
    ]


@pytest.mark.parametrize("based_on", [None, 0, 1, 3])
def test_a_change_to_anything_but_the_newest_is_refused(farm: Farm, based_on: int | None) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    farm.save_paddock(id_, farms.paddock("two"), 1)
    with pytest.raises(StoreError) as told:
        farm.save_paddock(id_, farms.paddock("three"), based_on)
    assert told.value.code == "version-old"
    assert farm.paddock(id_)["name"] == "two"


def test_a_paddock_that_was_put_away_is_hidden_and_comes_back(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    farm.put_away(id_)
    assert farm.paddocks() == []
    assert [p["id"] for p in farm.paddocks(away=True)] == [id_]
    assert farm.paddock(id_)["away"] is True
    farm.put_away(id_, back=True)
    assert [p["id"] for p in farm.paddocks()] == [id_]


def test_what_is_no_paddock_is_refused_and_nothing_is_saved(farm: Farm) -> None:
    nameless = farms.paddock("")
    point = {"type": "Point", "coordinates": [0, 0]}
    for bad in (nameless, point, {}, [], None, {"type": "Feature", "x": float("nan")}):
        with pytest.raises(PaddockError):
            farm.save_paddock(None, bad, None)
    assert farm.paddocks() == []


def test_things_that_are_not_there_are_told_as_unknown(farm: Farm) -> None:
    id_ = farm.save_paddock(None, farms.paddock(), None).id
    for ask in (
        lambda: farm.paddock("none"),
        lambda: farm.paddock(id_, 7),
        lambda: farm.paddock_history("none"),
        lambda: farm.put_away("none"),
        lambda: farm.save_paddock("none", farms.paddock(), None),
        lambda: farm.rig("none"),
        lambda: farm.rig_history("none"),
        lambda: farm.put_rig_away("none"),
        lambda: farm.withdraw("none"),
        lambda: farm.job("none"),
        lambda: farm.work("none", 2025),
        lambda: farm.ground("none", 2025),
        lambda: farm.timeline(id_, 2025, farms.DAY),
        lambda: farm.try_entries("none", 2025, [{"t_ms": 1, "kind": "stop"}]),
    ):
        with pytest.raises(FarmError) as told:
            ask()
        assert told.value.code == "unknown"


def test_a_rig_card_is_held_to_the_rules_of_its_file(farm: Farm) -> None:
    saved = farm.save_rig(None, farms.CARD, None, "measured")
    assert any("no times" in note for note in saved.notes)
    (found,) = farm.rigs()
    assert found["card"] == farms.CARD
    assert found["rig"]["tool"]["width_m"] == 8.0
    assert "width_m = 8.0" in found["toml"]
    with pytest.raises(RigError) as told:
        farm.save_rig(saved.id, {**farms.CARD, "tool": {"width_mm": 8}}, 1)
    assert "width_m" in str(told.value)
    assert farm.rig_history(saved.id)[-1]["version"] == 1


@pytest.mark.parametrize(
    "card",
    [
        {**farms.CARD, "name": 'a "b" \\ \x7f\n[tool]'},
        {**farms.CARD, "from": "2026-05-01T12:00:00Z"},
        {**farms.CARD, "turn": {"tightest_m": None}},
    ],
    ids=["odd name", "from", "not measured"],
)
def test_a_card_means_the_same_as_the_toml_of_its_keys(farm: Farm, card: dict) -> None:
    id_ = farm.save_rig(None, card, None).id
    found = farm.rig(id_)
    assert found["rig"]["name"] == card["name"].strip()
    assert (found["rig"]["from_ms"] is None) == ("from" not in card)


def test_a_card_cannot_smuggle_toml_in(farm: Farm) -> None:
    with pytest.raises(RigError):
        farm.save_rig(None, {**farms.CARD, 'kind"\n[tool]\nwidth_m = 9 #': 1}, None)
    with pytest.raises(RigError):
        farm.save_rig(None, {**farms.CARD, "from": '1979-05-27T07:32:00Z\nkind = "towed"'}, None)


def test_settings_begin_with_defaults_and_keep_what_was_set(farm: Farm) -> None:
    assert farm.settings()["version"] == 0
    assert farm.settings()["prices"]["seed_kg_ha"] is None
    farm.save_settings({"units": "ac", "prices": {"seed_kg_ha": 118}}, 0)
    after = farm.save_settings({"prices": {"tractor_h": 58.5}, "farm": "Ninepost"}, 1)
    assert after == farm.settings()
    assert (after["version"], after["units"], after["farm"]) == (2, "ac", "Ninepost")
    assert after["prices"]["seed_kg_ha"] == 118
    assert after["prices"]["tractor_h"] == 58.5


def test_what_a_farm_has_not_priced_is_reckoned_with_an_example_and_told_as_one(farm: Farm) -> None:
    before = farm.settings()
    assert before["example"]["prices"]["seed_price_kg"] == 0.46
    assert "seed_price_kg" in costs(before).examples
    after = farm.save_settings({"prices": {"seed_price_kg": 0}, "trip_min": 20}, 0)
    found = costs(after)
    assert (found.prices.seed_price_kg, found.trip_s) == (0.0, 1200.0)  # nought is a price too
    assert found.prices.tractor_h == 58.0
    assert not {"seed_price_kg", "trip_min"} & set(found.examples)
    assert len(found.examples) == 9
    assert "example" not in kept_settings(farm)


def kept_settings(farm: Farm) -> dict:
    from unsown.store import things

    farm.save_settings({"example": {}, "units": "ac"}, 1)
    with farm.store.read() as conn:
        return things.get(conn, "settings", "farm").body


BAD = [
    {"trip_min": -1}, {"trip_min": "an hour"}, {"trip_min": True}, {"trip_min": float("nan")},
    {"units": "acre"}, {"zone": "Mars/Base"}, {"day_start": "4"}, {"day_start": "24:00"},
    {"day_start": "04:00:30"}, {"farm": 5}, {"currency": "x" * 99}, {"prices": []},
    {"prices": {"seed": 1}}, {"prices": {"tractor_h": -1}}, {"prices": {"tractor_h": True}},
    {"colour": "red"}, {"land": None}, {"zone": ["a"]}, {"day_start": None}, {"units": ["ha"]},
]  # fmt: skip


@pytest.mark.parametrize("given", BAD, ids=str)
def test_a_setting_that_cannot_be_is_refused(farm: Farm, given: dict) -> None:
    with pytest.raises(FarmError) as told:
        farm.save_settings(given, 0)
    assert told.value.code == "bad-value"
    assert farm.settings()["version"] == 0
