"""Where a request comes from: foreign pages, foreign names, proxies, plain http."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from houses import NAME, Home, code_of, home
from unsown.routes.guard import FORWARDED


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Home]:
    with home(
        tmp_path_factory.mktemp("house"), addresses=lambda: frozenset({"192.168.7.20"})
    ) as made:
        yield made


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Home]:
    with home(tmp_path_factory.mktemp("alone"), locked=False) as made:
        yield made


def every(house: Home) -> Iterator[tuple[str, str]]:
    filled = {"dev": "cab", "first": "1", "day": "2026-05-01", "year": "2026"}
    for rule in house.app.url_map.iter_rules():
        path = re.sub(r"<(?:\w+:)?(\w+)>", lambda m: filled.get(m[1], "abcd1234"), rule.rule)
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            yield method, path


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"{NAME}.evil.example", "", "192.168.7.21", "localhost.evil.example",
     "[::2]", f"x{NAME}", "169.254.169.254", "127.0.0.1.nip.example", f"evil.example, {NAME}",
     f"{NAME}@evil.example"],
)  # fmt: skip
def test_no_route_answers_to_a_name_that_is_not_the_houses(house: Home, host: str) -> None:
    client = house.desk()
    for method, path in every(house):
        answer = client.open(path, method=method, headers={"Host": host})
        assert answer.status_code == 403, (method, path)
        assert b"does not answer to" in answer.data


@pytest.mark.parametrize(
    "host",
    [NAME, f"{NAME}:8611", NAME.upper(), f"{NAME}.", "192.168.7.20", "192.168.7.20:8611",
     "localhost:9", "127.0.0.1", "[::1]:8611"],
)  # fmt: skip
def test_the_houses_own_names_and_addresses_are_answered(house: Home, host: str) -> None:
    assert house.client().get("/api/hello", headers={"Host": host}).status_code == 200


def test_on_this_computer_alone_only_its_own_loopback_names_count(alone: Home) -> None:
    for host, status in (("localhost:8610", 200), ("127.0.0.1:8610", 200), (NAME, 403),
                         ("192.168.7.20", 403)):  # fmt: skip
        assert alone.client().get("/api/hello", headers={"Host": host}).status_code == status


@pytest.mark.parametrize("where", ["house", "alone"])
@pytest.mark.parametrize(
    "sent",
    [{"Origin": "https://evil.example"}, {"Origin": "null"}, {"Origin": f"http://{NAME}"},
     {"Origin": f"https://{NAME}:444"}, {"Origin": ""}, {}, {"Sec-Fetch-Site": "cross-site"},
     {"Sec-Fetch-Site": "same-site"}, {"Sec-Fetch-Site": "none"},
     {"Origin": "https://evil.example", "Sec-Fetch-Site": "same-origin"}],
)  # fmt: skip
def test_a_foreign_page_changes_nothing_by_any_route(
    request: pytest.FixtureRequest, where: str, sent: dict[str, str]
) -> None:
    made: Home = request.getfixturevalue(where)
    client = made.desk() if where == "house" else made.client()
    client.environ_base.pop("HTTP_ORIGIN", None)
    for method, path in every(made):
        if method == "GET":
            continue
        for body in (
            {"json": {}},
            {"data": {"x": "y"}},
            {"data": b"{}", "content_type": "text/plain"},
        ):
            kwargs: dict[str, Any] = dict(body)
            answer = client.open(path, method=method, headers=sent, **kwargs)
            assert (answer.status_code, code_of(answer)) == (403, "origin"), (method, path)


def test_a_page_of_the_house_is_believed_by_its_origin_or_by_the_browsers_word(house: Home) -> None:
    client = house.desk()
    client.environ_base.pop("HTTP_ORIGIN")
    for sent in ({"Origin": f"https://{NAME}"}, {"Sec-Fetch-Site": "same-origin"}):
        based_on = house.farm.settings()["version"]
        answer = client.put("/api/settings", json={"based_on": based_on}, headers=sent)
        assert answer.status_code == 200, answer.text


def test_a_foreign_page_cannot_draw_an_answer_in_either(house: Home) -> None:
    client = house.desk()
    for mode in ("no-cors", "cors"):
        sent = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": mode}
        assert client.get("/api/paddocks", headers=sent).status_code == 403
    follows = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert client.get("/desk/", headers=follows).status_code in (200, 503)


@pytest.mark.parametrize("name", FORWARDED)
@pytest.mark.parametrize("where", ["house", "alone"])
def test_a_proxy_nobody_announced_is_refused_on_every_route(
    request: pytest.FixtureRequest, where: str, name: str
) -> None:
    made: Home = request.getfixturevalue(where)
    client = made.desk() if where == "house" else made.client()
    for method, path in every(made):
        answer = client.open(path, method=method, headers={name: "127.0.0.1"})
        assert answer.status_code == 403, (method, path)
        assert b"proxy" in answer.data


def test_behind_a_proxy_a_passphrase_is_asked_and_the_proxy_says_who_and_how(
    tmp_path: Path,
) -> None:
    with home(tmp_path, proxy=True) as made:
        client = made.client()
        client.environ_base["unsown.tls"] = False
        told = {"X-Forwarded-For": "198.51.100.9", "X-Forwarded-Proto": "https"}
        assert client.get("/api/hello").status_code == 403
        assert client.get("/api/hello", headers=told).get_json()["who"] == "nobody"
        assert client.get("/api/phones", headers=told).status_code == 401
        plain = {**told, "X-Forwarded-Proto": "http"}
        assert code_of(client.get("/api/hello", headers=plain)) == "tls"
        faked = {**told, "X-Forwarded-Proto": "https, http"}  # what the visitor sent stands first
        assert code_of(client.get("/api/hello", headers=faked)) == "tls"
        said = client.post("/api/session", json={"passphrase": "long quiet furrow"},
                           headers={**told, **made.origin})  # fmt: skip
        assert said.status_code == 204
        assert said.headers["Set-Cookie"].startswith("__Host-unsown=")
        assert client.get("/api/phones", headers=told).status_code == 200


def test_over_plain_http_another_machine_gets_the_way_to_trust_and_nothing_else(
    house: Home,
) -> None:
    client = house.client()
    client.environ_base |= {"unsown.tls": False, "REMOTE_ADDR": "192.168.7.55"}
    open_ = {"/trust", "/trust/authority.crt", "/plain.css", "/favicon.ico"}
    for method, path in every(house):
        answer = client.open(path, method=method, headers={"Origin": f"http://{NAME}"})
        if path in open_:
            assert answer.status_code in (200, 204, 404), path
        elif method == "GET" and not path.startswith("/api/"):
            assert (answer.status_code, answer.headers["Location"]) == (302, "/trust"), path
        else:
            assert (answer.status_code, code_of(answer)) == (403, "tls"), path
    client.environ_base["REMOTE_ADDR"] = "127.0.0.1"
    assert client.get("/api/hello").status_code == 200


@pytest.mark.parametrize("address", ["::1", "127.0.0.9", "::ffff:127.0.0.1"])
def test_loopback_in_any_spelling_is_this_computer(house: Home, address: str) -> None:
    client = house.client()
    client.environ_base |= {"unsown.tls": False, "REMOTE_ADDR": address}
    assert client.get("/api/hello").status_code == 200


@pytest.mark.parametrize("address", ["", "unix:", "::ffff:10.0.0.1", "fe80::1%eth0"])
def test_any_other_address_is_not(house: Home, address: str) -> None:
    client = house.client()
    client.environ_base |= {"unsown.tls": False, "REMOTE_ADDR": address}
    assert client.get("/api/hello").status_code == 403


def test_every_answer_carries_the_policy_and_no_page_needs_more_than_it_allows(house: Home) -> None:
    client = house.client()
    pages = ("/trust", "/desk/", "/cab/", "/static/assets/nothing.js", "/nothing")
    for path in (*pages, "/api/hello", "/api/nothing", "/api/phones"):
        answer = client.get(path)
        policy = answer.headers["Content-Security-Policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "same-origin"
        assert answer.headers["Cross-Origin-Resource-Policy"] == "same-origin"
    for path in ("/trust", "/nothing"):
        page = client.get(path).text
        assert not re.search(r"<script|<style|\sstyle=|\son[a-z]+=|javascript:", page), path
    assert client.get("/api/hello").headers["Cache-Control"] == "no-store"


def test_a_larger_body_than_a_route_takes_is_refused_before_it_is_read(house: Home) -> None:
    client = house.desk()

    class Endless:
        given = 0

        def read(self, size: int = -1) -> bytes:
            Endless.given += max(size, 0)
            return b" " * max(size, 0)

        readline = read

    answer = client.post(
        "/api/paddocks",
        content_type="application/json",
        environ_overrides={"wsgi.input": Endless(), "CONTENT_LENGTH": "900000000"},
    )
    assert answer.status_code == 413
    assert answer.headers["Connection"] == "close"
    assert Endless.given == 0


@pytest.mark.parametrize(
    ("kind", "data", "status", "code"),
    [("text/plain", b"{}", 415, "media-type"),
     ("application/x-www-form-urlencoded", b"a=b", 415, "media-type"),
     ("multipart/form-data; boundary=x", b"--x--", 415, "media-type"),
     ("application/json", b"{", 400, "json"), ("application/json", b"", 400, "json"),
     ("application/json", b"\xff", 400, "json"), ("application/json", b"[" * 100_000, 400, "json"),
     ("application/json", b"[]", 400, "shape"),
     ("application/json", b'{"geojson": 3}', 400, "shape"),
     ("application/json", b'{"geojson": NaN}', 400, "bad-request"),
     ("application/json", b'{"x": 1}', 400, "shape")],
)  # fmt: skip
def test_a_body_of_another_kind_or_shape_is_named(
    house: Home, kind: str, data: bytes, status: int, code: str
) -> None:
    answer = house.desk().post("/api/paddocks", data=data, content_type=kind)
    assert (answer.status_code, code_of(answer)) == (status, code)


def test_a_defect_is_told_as_one_and_says_nothing_of_the_inside(
    house: Home, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken() -> None:
        raise RuntimeError("secret inside")

    monkeypatch.setattr(house.farm, "settings", broken)
    answer = house.desk().get("/api/settings")
    assert (answer.status_code, code_of(answer)) == (500, "defect")
    assert "secret inside" not in answer.text
    assert "secret inside" in caplog.text
