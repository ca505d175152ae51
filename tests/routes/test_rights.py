"""Who may what: every route of the API, tried by everybody who may not."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from werkzeug.test import TestResponse

from houses import Home, code_of, home
from unsown.routes.endpoint import spec_of

#: Stands here by hand, apart from the routes: whoever opens one has to open it here too.
RIGHTS = {
    "anyone": {
        *("GET /api/hello", "GET /api/openapi.json", "POST /api/session", "DELETE /api/session"),
        "POST /api/pairings/claim",
    },
    "own": {"PUT /api/phones/<dev>/entries/<first>", "GET /api/phones/<dev>/held"},
    "look": {
        *("GET /api/settings", "GET /api/paddocks", "GET /api/paddocks/<id>", "GET /api/rigs"),
        *("GET /api/rigs/<id>", "GET /api/rigs/<id>/sketch.svg", "GET /api/board"),
        *("GET /api/work/<id>", "GET /api/work/<id>/ground", "GET /api/work/<id>/timeline"),
        *("GET /api/slip/<day>", "GET /api/events", "GET /api/pack"),
    },
}
OPEN_PAGES = {
    *("GET /", "GET /desk/", "GET /desk/<path:rest>"),
    *("GET /cab", "GET /cab/", "GET /cab/<path:name>"),
    *("GET /static/<path:name>", "GET /plain.css", "GET /papers/paper.css"),
    *("GET /trust", "GET /trust/authority.crt", "GET /favicon.ico"),
}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Home]:
    with home(tmp_path_factory.mktemp("house")) as made:
        yield made


def routes(house: Home) -> list[str]:
    return [
        f"{method} {rule.rule}"
        for rule in house.app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    ]


def ask(house: Home, name: str, headers: dict[str, str], dev: str = "cab") -> TestResponse:
    method, rule = name.split(" ")
    filled = {"dev": dev, "first": "1", "day": "2026-05-01", "year": "2026"}
    path = re.sub(r"<(?:\w+:)?(\w+)>", lambda m: filled.get(m[1], "abcd1234"), rule)
    return house.client().open(path, method=method, headers={**house.origin, **headers})


def test_every_route_stands_in_the_table_of_rights_or_is_for_the_desk(house: Home) -> None:
    named = set().union(*RIGHTS.values()) | OPEN_PAGES
    assert named <= set(routes(house)), "the table names what is not there"
    for rule in house.app.url_map.iter_rules():
        spec = spec_of(house.app.view_functions[rule.endpoint])
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            name = f"{method} {rule.rule}"
            wanted = next((right for right, names in RIGHTS.items() if name in names), "desk")
            wanted = "anyone" if name in OPEN_PAGES else wanted
            if not rule.rule.startswith("/api/") and wanted == "desk":
                wanted = "look"  # printed pages
            assert spec.who == wanted, name


def test_nobody_gets_nothing_but_what_anyone_may_have(house: Home) -> None:
    for name in routes(house):
        if name in RIGHTS["anyone"] | OPEN_PAGES:
            continue
        assert ask(house, name, {}).status_code == 401, name


def test_a_rider_only_looks(house: Home) -> None:
    dev, token = house.phone("rider")
    for name in routes(house):
        if "/api/" not in name or name in RIGHTS["anyone"] | RIGHTS["look"]:
            continue
        answer = ask(house, name, token, dev)
        assert (answer.status_code, code_of(answer)) == (403, "right"), name


def test_a_keeper_adds_to_its_own_log_and_to_no_other(house: Home) -> None:
    dev, token = house.phone("keeper")
    other, _ = house.phone("keeper")
    for name in routes(house):
        if "/api/" not in name or name in RIGHTS["anyone"] | RIGHTS["look"] | RIGHTS["own"]:
            continue
        answer = ask(house, name, token, dev)
        assert (answer.status_code, code_of(answer)) == (403, "right"), name
    for name in RIGHTS["own"]:
        assert ask(house, name, token, other).status_code == 403, name
    assert ask(house, "GET /api/phones/<dev>/held", token, dev).status_code == 200


@pytest.mark.parametrize("may", ["keeper", "rider"])
def test_a_withdrawn_phone_gets_nothing_at_all_from_then_on(house: Home, may: str) -> None:
    dev, token = house.phone(may)
    assert ask(house, "GET /api/paddocks", token).status_code == 200
    house.farm.withdraw(dev)
    for name in routes(house):
        if "/api/" not in name:
            continue
        answer = ask(house, name, token, dev)
        assert (answer.status_code, code_of(answer)) == (401, "token"), name


def test_a_bad_token_is_refused_even_beside_a_good_cookie(house: Home) -> None:
    client = house.desk()
    assert client.get("/api/phones").status_code == 200
    for shown in ("Bearer wrong", "Bearer ", "Basic dXNlcjpwYXNz", "", "Bearer " + "x" * 5000):
        answer = client.get("/api/phones", headers={"Authorization": shown})
        assert (answer.status_code, code_of(answer)) == (401, "token")


def test_the_desk_cannot_write_into_a_phones_log(house: Home) -> None:
    dev, _ = house.phone("keeper")
    answer = house.desk().put(f"/api/phones/{dev}/entries/1", data=b"{}\n")
    assert (answer.status_code, code_of(answer)) == (403, "right")


def test_a_method_that_is_not_there_is_named_as_such_and_nothing_answers_options(
    house: Home,
) -> None:
    client = house.desk()
    for method in ("OPTIONS", "PATCH", "TRACE"):
        answer = client.open("/api/paddocks", method=method)
        assert answer.status_code == 405
        assert "Access-Control-Allow-Origin" not in answer.headers
    assert set(answer.headers["Allow"].split(", ")) == {"GET", "HEAD", "POST"}
