"""The passphrase: cookies, leaving, and how fast somebody may guess."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from houses import WORDS, code_of, home
from unsown.yard.pace import Pace


def test_the_cookie_is_kept_from_scripts_from_other_pages_and_from_plain_http(
    tmp_path: Path,
) -> None:
    with home(tmp_path) as made:
        said = made.client().post("/api/session", json={"passphrase": WORDS}, headers=made.origin)
        cookie = said.headers["Set-Cookie"]
        name, _, rest = cookie.partition("=")
        assert name == "__Host-unsown"
        assert {"HttpOnly", "Secure", "Path=/", "SameSite=Strict"} <= set(rest.split("; "))
        assert "Domain" not in rest
        assert len(rest.partition(";")[0]) >= 43


def test_on_this_computer_over_plain_http_the_cookie_has_another_name(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        client = made.client()
        client.environ_base["unsown.tls"] = False
        client.base_url = "http://localhost:8610"
        said = client.post("/api/session", json={"passphrase": WORDS},
                           headers={"Origin": "http://localhost:8610"})  # fmt: skip
        assert said.headers["Set-Cookie"].startswith("unsown=")
        assert "Secure" not in said.headers["Set-Cookie"]
        assert client.get("/api/phones").status_code == 200


def test_a_cookie_of_plain_http_opens_nothing_over_tls(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        token = made.app.extensions["unsown"].door.sessions.open()
        client = made.client()
        client.set_cookie("unsown", token, domain="farm.home.arpa")
        assert client.get("/api/phones").status_code == 401


def test_leaving_ends_the_session_everywhere(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        client = made.desk()
        cookie = client.get_cookie("__Host-unsown", domain="farm.home.arpa")
        assert cookie is not None
        assert client.delete("/api/session").status_code == 204
        assert client.get("/api/phones").status_code == 401
        stolen = made.client()
        stolen.set_cookie("__Host-unsown", cookie.value, domain="farm.home.arpa")
        assert stolen.get("/api/phones").status_code == 401


def test_a_wrong_passphrase_opens_nothing_and_after_five_one_has_to_wait(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        client = made.client()
        for _ in range(5):
            said = client.post("/api/session", json={"passphrase": "wrong"}, headers=made.origin)
            assert (said.status_code, code_of(said)) == (403, "passphrase")
            assert "Set-Cookie" not in said.headers
        said = client.post("/api/session", json={"passphrase": WORDS}, headers=made.origin)
        assert (said.status_code, code_of(said)) == (429, "too-fast")
        assert 0 < int(said.headers["Retry-After"]) <= 60


def test_a_guesser_elsewhere_does_not_shut_out_the_person_at_this_computer(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        for number in range(40):
            client = made.client()
            client.environ_base["REMOTE_ADDR"] = f"192.168.7.{number + 1}"
            said = client.post("/api/session", json={"passphrase": "wrong"}, headers=made.origin)
        assert said.status_code == 429
        made.desk()  # asserts that it gets in


def test_saying_it_right_many_times_is_never_too_fast(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        for _ in range(8):
            made.desk()


@pytest.mark.parametrize("said", ["x" * 201, 5, None, ["long quiet furrow"]])
def test_what_is_no_passphrase_is_refused_before_it_is_hashed(tmp_path: Path, said: object) -> None:
    with home(tmp_path, login_here=Pace(0, 0, 60, time.monotonic)) as made:
        answer = made.client().post("/api/session", json={"passphrase": said}, headers=made.origin)
        assert (answer.status_code, code_of(answer)) == (400, "shape")


def test_where_only_this_computer_can_reach_it_nobody_is_asked(tmp_path: Path) -> None:
    with home(tmp_path, locked=False) as made:
        client = made.client()
        hello = client.get("/api/hello").get_json()
        assert (hello["who"], hello["passphrase"], hello["yard"]) == ("desk", False, False)
        said = client.post("/api/session", json={"passphrase": ""}, headers=made.origin)
        assert (said.status_code, said.headers.get("Set-Cookie")) == (204, None)


def test_hello_tells_a_stranger_nothing_of_the_farm(tmp_path: Path) -> None:
    with home(tmp_path) as made:
        made.farm.save_settings({"farm": "Ninepost Coulee"}, None)
        assert made.client().get("/api/hello").get_json()["farm"] is None
        assert made.desk().get("/api/hello").get_json()["farm"] == "Ninepost Coulee"
        dev, token = made.phone("rider")
        hello = made.client().get("/api/hello", headers=token).get_json()
        assert (hello["who"], hello["dev"], hello["farm"]) == ("rider", dev, "Ninepost Coulee")
