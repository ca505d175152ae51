"""Pairing, and that its code cannot be guessed in its time."""

from __future__ import annotations

import time
from fractions import Fraction
from pathlib import Path
from urllib.parse import urlsplit

import farms
from houses import Home, code_of, home
from unsown.routes.door import Door
from unsown.service import pairing
from unsown.yard.pace import Pace


def begin(made: Home, may: str = "keeper") -> dict[str, str]:
    said = made.desk().post("/api/pairings", json={"may": may, "name": "morning"})
    assert said.status_code == 201, said.text
    found: dict[str, str] = said.get_json()
    return found


def claim(made: Home, code: str):  # type: ignore[no-untyped-def]
    client = made.client()
    return client.post("/api/pairings/claim", json={"code": code}, headers=made.origin)


def test_a_phone_is_paired_looks_and_sends_and_is_withdrawn(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        got = claim(made, begin(made)["code"])
        assert got.status_code == 201
        dev, token = got.get_json()["dev"], {"Authorization": f"Bearer {got.get_json()['token']}"}
        assert made.client().get("/api/paddocks", headers=token).status_code == 200
        desk = made.desk()
        assert [row["dev"] for row in desk.get("/api/phones").get_json()] == [dev]
        assert desk.delete(f"/api/phones/{dev}").status_code == 204
        assert made.client().get("/api/paddocks", headers=token).status_code == 401
        assert desk.get("/api/phones").get_json()[0]["withdrawn_ms"] > 0
        assert desk.delete("/api/phones/nobody").status_code == 404


def test_the_code_stands_only_in_the_part_of_the_address_that_is_never_sent(
    tmp_path: Path,
) -> None:
    with home(tmp_path) as made:
        told = begin(made)
        parts = urlsplit(told["url"])
        assert parts.fragment == f"pair={told['code']}"
        assert told["code"] not in parts.path + parts.query + parts.netloc
        assert f"{parts.scheme}://{parts.netloc}" == "https://farm.home.arpa:8611"
        assert told["qr"].startswith("<svg")


def test_a_code_is_good_once_and_a_wrong_one_is_not(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        code = begin(made)["code"]
        assert claim(made, code).status_code == 201
        for wrong in (code, "AAAAA-AAAAA", "", "\u2603"):
            answer = claim(made, wrong)
            assert (answer.status_code, code_of(answer)) == (403, "pairing-wrong")


def test_a_rider_cannot_become_a_keeper_nor_make_a_code(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        got = claim(made, begin(made, "rider")["code"]).get_json()
        assert got["may"] == "rider"
        token = {"Authorization": f"Bearer {got['token']}"}
        answer = made.client().post("/api/pairings", json={"may": "keeper"}, headers=token)
        assert answer.status_code == 403


OWN = "phone-0123456789ab"


def claim_as(made: Home, code: str, dev: str, was: str = ""):  # type: ignore[no-untyped-def]
    said = {"code": code, "dev": dev, **({"was": was} if was else {})}
    return made.client().post("/api/pairings/claim", json=said, headers=made.origin)


def test_a_phone_keeps_the_label_under_which_it_logs_already(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        made.farm.take_file("carried.jsonl", farms.body(farms.fixes(OWN, 1, 5)))
        got = claim_as(made, begin(made)["code"], OWN)
        assert (got.status_code, got.get_json()["dev"]) == (201, OWN)
        token = {"Authorization": f"Bearer {got.get_json()['token']}"}
        held = made.client().get(f"/api/phones/{OWN}/held", headers=token).get_json()
        assert held["held"] == 5  # what came by file is not sent again
        sent = made.client().put(
            f"/api/phones/{OWN}/entries/6", data=farms.body(farms.fixes(OWN, 6, 2)), headers=token
        )
        assert sent.get_json()["held"] == 7


def test_a_label_that_is_another_phones_is_refused_and_the_code_stays_good(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        first = claim_as(made, begin(made)["code"], OWN).get_json()
        code = begin(made)["code"]
        for was in ("", "guess", first["token"][:-1] + "x"):
            answer = claim_as(made, code, OWN, was)
            assert (answer.status_code, code_of(answer)) == (409, "pairing-label"), was
        desk = made.farm.desk_entries([{"t_ms": 1, "kind": "stop"}])
        assert desk == [1]
        for label in ("desk-0a1b2c", "cab", "phone-UPPERCASE0", "phone-1"):
            assert claim_as(made, code, label).status_code == 400, label
        token = {"Authorization": f"Bearer {first['token']}"}
        assert made.client().get("/api/paddocks", headers=token).status_code == 200
        assert claim(made, code).status_code == 201


def test_a_phone_that_was_withdrawn_is_paired_again_under_its_own_label(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        first = claim_as(made, begin(made)["code"], OWN).get_json()
        made.farm.withdraw(OWN)
        again = claim_as(made, begin(made, "rider")["code"], OWN, first["token"])
        assert (again.status_code, again.get_json()["may"]) == (201, "rider")
        for token, status in ((first["token"], 401), (again.get_json()["token"], 200)):
            said = {"Authorization": f"Bearer {token}"}
            assert made.client().get("/api/paddocks", headers=said).status_code == status
        assert [p.withdrawn_ms for p in made.farm.phones()] == [None]


def test_guessing_a_code_is_slowed_from_one_address_and_from_all_together(tmp_path: Path) -> None:
    with home(tmp_path, claims=Pace(5, 10, 60, time.monotonic)) as made:
        code = begin(made)["code"]
        let_through = 0
        for number in range(40):
            client = made.client()
            client.environ_base["REMOTE_ADDR"] = f"10.0.0.{number % 8}"
            answer = client.post("/api/pairings/claim", json={"code": "AAAAA-AAAAA"},
                                 headers=made.origin)  # fmt: skip
            let_through += answer.status_code != 429
        assert let_through == 10
        assert answer.headers["Retry-After"]
        assert claim(made, code).status_code == 429  # the right one has to wait as well


def test_no_code_can_be_guessed_within_its_ten_minutes() -> None:
    codes = len(set(pairing._LETTERS)) ** pairing._LENGTH
    pace = Door().claims
    # a sliding window lets at most one window's worth more through than the time holds
    windows = pairing.MINUTES * 60 / pace.window_s + 1
    tries = min(pace.all * windows, pairing.MOST_WRONG)
    assert tries == 50
    assert Fraction(int(tries), codes) < Fraction(1, 10**13)
    # and with every limit gone, at a thousand tries a second
    assert Fraction(1000 * pairing.MINUTES * 60, codes) < Fraction(1, 10**9)


def test_the_pace_really_lets_no_more_through_than_the_arithmetic_says() -> None:
    now = [0.0]
    pace = Pace(5, 10, 60, lambda: now[0])
    through = 0
    for second in range(pairing.MINUTES * 60):
        now[0] = float(second)
        for who in range(20):
            through += pace.wait(f"10.0.0.{who}") == 0
    assert through <= 10 * (pairing.MINUTES + 1)
    assert through >= 10 * pairing.MINUTES  # it does not stop an honest phone for ever
