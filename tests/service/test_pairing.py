"""A phone is paired by a code that is used once, in ten minutes, and known by its own token."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import farms
from unsown.service import pairing
from unsown.service.farm import Farm
from unsown.service.words import FarmError


@pytest.fixture
def clock() -> farms.Clock:
    return farms.Clock()


@pytest.fixture
def farm(tmp_path: Path, clock: farms.Clock):
    with farms.farm_in(tmp_path, clock=clock) as made:
        yield made


def refused(farm: Farm, code: str) -> None:
    with pytest.raises(FarmError) as told:
        farm.claim(code, "thief")
    assert told.value.code == "pairing-wrong"


def test_a_code_gives_one_phone_its_token(farm: Farm) -> None:
    made = farm.new_pairing("keeper", "Cab one")
    claim = farm.claim(made.code, "")
    assert re.fullmatch(r"cab-one-[0-9a-f]{6}", claim.dev)
    phone = farm.phone_of(claim.token)
    assert phone is not None
    assert (phone.dev, phone.name, phone.may) == (claim.dev, "Cab one", "keeper")
    refused(farm, made.code)
    assert [p.dev for p in farm.phones()] == [claim.dev]


def test_a_code_may_be_typed_as_people_type(farm: Farm) -> None:
    code = farm.new_pairing("rider", "x").code
    assert farm.claim(f"  {code.lower().replace('0', 'o').replace('1', 'l')} ", "x").may == "rider"


def test_a_code_is_over_after_ten_minutes(farm: Farm, clock: farms.Clock) -> None:
    made = farm.new_pairing("keeper", "x")
    assert made.until_ms == clock.now_ms + 600_000
    clock.pass_s(599)
    other = farm.new_pairing("keeper", "y")
    clock.pass_s(1)
    refused(farm, made.code)
    assert farm.claim(other.code, "y").name == "y"


def test_wrong_guesses_make_every_open_code_void(farm: Farm) -> None:
    made = farm.new_pairing("keeper", "x")
    for n in range(pairing.MOST_WRONG):
        refused(farm, f"GUESS{n:05d}")
    refused(farm, made.code)
    assert farm.phones() == []


def test_a_code_has_fifty_bits_and_no_two_are_alike(farm: Farm) -> None:
    codes = {farm.new_pairing("keeper", "x").code.replace("-", "") for _ in range(200)}
    assert len(codes) == 200
    assert {len(c) for c in codes} == {10}
    assert len(set("".join(codes))) == 32


def test_neither_code_nor_token_lies_in_the_store(farm: Farm, tmp_path: Path) -> None:
    made = farm.new_pairing("keeper", "x")
    open_code = farm.new_pairing("keeper", "y").code
    claim = farm.claim(made.code, "x")
    everything = b"".join(p.read_bytes() for p in tmp_path.iterdir() if p.is_file())
    for secret in (made.code, open_code, claim.token):
        assert secret.encode() not in everything
        assert secret.replace("-", "").encode() not in everything


def test_a_withdrawn_phone_is_nobody_and_its_log_stays(farm: Farm) -> None:
    claim = farm.claim(farm.new_pairing("keeper", "x").code, "x")
    farm.take_entries(claim.dev, 1, farms.body(farms.fixes(claim.dev, 1, 5)))
    farm.withdraw(claim.dev)
    assert farm.phone_of(claim.token) is None
    assert farm.held(claim.dev).held == 5
    (phone,) = farm.phones()
    assert phone.withdrawn_ms == farms.NOW_MS


@pytest.mark.parametrize("token", ["", "x", "é" * 500, "' OR 1=1 --"])
def test_what_is_no_token_is_nobody(farm: Farm, token: str) -> None:
    farm.claim(farm.new_pairing("keeper", "x").code, "x")
    assert farm.phone_of(token) is None


def test_a_phone_is_a_keeper_or_a_rider_and_nothing_else(farm: Farm) -> None:
    with pytest.raises(FarmError):
        farm.new_pairing("owner", "x")  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["", "   ", "Fahrer Jürgen", "手机", "a" * 300, "x\x00\ny"])
def test_any_name_gives_a_plain_label(farm: Farm, name: str) -> None:
    claim = farm.claim(farm.new_pairing("keeper", name).code, "")
    assert re.fullmatch(r"[a-z0-9-]{1,40}", claim.dev)
    assert claim.name.isprintable()
    assert len(claim.name) <= 60
