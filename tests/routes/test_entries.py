"""The log over HTTP: sent whole or not at all, packed or not, again and again."""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from houses import T_MS, Home, code_of, home, lines
from unsown.routes import entries


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Home]:
    with home(tmp_path) as made:
        yield made


def put(
    house: Home, phone: tuple[str, dict[str, str]], first: int, body: bytes, **headers: str
) -> TestResponse:
    dev, token = phone
    return house.client().put(
        f"/api/phones/{dev}/entries/{first}",
        data=body,
        headers={**token, "Content-Type": "application/x-ndjson", **headers},
    )


def test_entries_are_acknowledged_and_the_same_again_changes_nothing(house: Home) -> None:
    phone = house.phone()
    first = put(house, phone, 1, lines(phone[0], 1, 5)).get_json()
    assert (first["held"], first["kept"], first["again"]) == (5, 5, 0)
    again = put(house, phone, 1, lines(phone[0], 1, 7)).get_json()
    assert (again["held"], again["kept"], again["again"]) == (7, 2, 5)
    held = house.client().get(f"/api/phones/{phone[0]}/held", headers=phone[1]).get_json()
    assert (held["held"], held["wanted"]) == (7, [])


def test_packed_entries_are_the_same_entries(house: Home) -> None:
    phone = house.phone()
    body = gzip.compress(lines(phone[0], 1, 500))
    packed = {"Content-Encoding": "gzip"}
    assert put(house, phone, 1, body, **packed).get_json()["held"] == 500
    again = put(house, phone, 1, lines(phone[0], 1, 500)).get_json()
    assert (again["kept"], again["again"]) == (0, 500)


@pytest.mark.parametrize(
    ("body", "kind", "status", "code"),
    [
        (b"not gzip", "gzip", 422, "gzip"),
        (gzip.compress(b"x" * 1000)[:-9], "gzip", 422, "gzip"),
        (b"", "gzip", 422, "gzip"),
        (gzip.compress(b"{}\n") + b"more", "gzip", 422, "gzip"),
        (zlib.compress(b"{}\n"), "gzip", 422, "gzip"),
        (b"{}\n", "br", 415, "content-encoding"),
        (b"{}\n", "gzip, gzip", 415, "content-encoding"),
        (b"{}\n", "identity", 422, "intake-entry"),
        (b"", "identity", 422, "intake-empty"),
        (b"\xff\xfe\n", "identity", 422, "intake-encoding"),
    ],
    # named: the packed bodies hold the second they were packed in, and every worker that runs
    # tests has to find the same ones
    ids=["not packed", "cut", "packed nothing", "more behind it", "another packing",
         "unknown packing", "packed twice", "not an entry", "nothing", "not text"],
)  # fmt: skip
def test_what_is_no_log_is_refused_with_the_reason_and_what_is_held(
    house: Home, body: bytes, kind: str, status: int, code: str
) -> None:
    phone = house.phone()
    put(house, phone, 1, lines(phone[0], 1, 3))
    answer = put(house, phone, 4, body, **{"Content-Encoding": kind})
    assert (answer.status_code, code_of(answer)) == (status, code)
    assert house.farm.held(phone[0]).held == 3


def test_a_small_gzip_that_unpacks_without_end_is_stopped_at_the_limit(house: Home) -> None:
    phone = house.phone()
    bomb = gzip.compress(b"\0" * 500_000_000, 9)
    assert len(bomb) < 1_000_000
    answer = put(house, phone, 1, bomb, **{"Content-Encoding": "gzip"})
    assert (answer.status_code, code_of(answer)) == (413, "intake-large")


def test_a_sending_above_the_limit_is_refused_before_it_is_read(house: Home) -> None:
    phone = house.phone()
    answer = put(house, phone, 1, b" " * (entries.MOST_BYTES + 1))
    assert answer.status_code == 413
    assert answer.headers["Connection"] == "close"


def test_another_entry_under_the_same_number_is_a_conflict(house: Home) -> None:
    phone = house.phone()
    put(house, phone, 1, lines(phone[0], 1, 3))
    answer = put(house, phone, 2, lines(phone[0], 2, 1, acc_m=9.0))
    assert (answer.status_code, code_of(answer)) == (409, "intake-clash")
    assert answer.get_json()["held"] == 3
    (both,) = [d for d in house.desk().get("/api/disputes").get_json() if d["dev"] == phone[0]]
    assert both["seq"] == 2
    assert json.loads(both["came"])["acc_m"] == 9.0
    assert both["held"] != both["came"]


@pytest.mark.parametrize("first", ["0", "-1", "01", "x", "1.0", str(2**53), "9" * 30, "%31%00"])
def test_a_number_that_is_none_is_refused(house: Home, first: str) -> None:
    dev, token = house.phone()
    answer = house.client().put(f"/api/phones/{dev}/entries/{first}", data=b"{}\n", headers=token)
    assert answer.status_code == 400


def test_an_answer_of_the_desk_becomes_an_entry_and_can_be_undone(house: Home) -> None:
    desk = house.desk()
    lever = {"t_ms": T_MS, "kind": "lever", "lever": "down", "how": "afterwards"}
    said = desk.post("/api/entries", json={"entries": [lever, lever]})
    assert said.status_code == 201
    one, two = said.get_json()["seq"]
    assert two == one + 1
    undo = {"t_ms": T_MS, "kind": "undo", "of": one}
    assert desk.post("/api/entries", json={"entries": [undo]}).get_json()["seq"] == [two + 1]


@pytest.mark.parametrize(
    ("given", "status"),
    [({"entries": []}, 400), ({}, 400), ({"entries": [{"kind": "lever"}]}, 400),
     ({"entries": [{"t_ms": 1.5, "kind": "lever"}]}, 400),
     ({"entries": [{"t_ms": 1, "kind": "lever"}] * 2001}, 400),
     ({"entries": [{"t_ms": 1, "kind": "lever", "lever": "sideways"}]}, 422)],
)  # fmt: skip
def test_what_is_no_entry_is_not_kept(house: Home, given: dict[str, object], status: int) -> None:
    assert house.desk().post("/api/entries", json=given).status_code == status
