"""What happens, told as it happens: few listeners, each let go of however it ends."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from houses import Home, code_of, home
from unsown.routes import events
from unsown.routes.listeners import Listeners
from unsown.service.words import Event


class BrokenError(Exception):
    """What a farm may come to."""


class News:
    """A farm's news as a list; whether it was closed is kept."""

    def __init__(self, told: list[Event | type[Exception] | None]) -> None:
        self.told, self.closed = iter(told), False

    def __iter__(self) -> News:
        return self

    def __next__(self) -> Event | None:
        found = next(self.told)
        if isinstance(found, type):
            raise found
        return found

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def house(tmp_path: Path) -> Iterator[Home]:
    with home(tmp_path, locked=False) as made:
        yield made


def told(house: Home, monkeypatch: pytest.MonkeyPatch, *happened: Any) -> tuple[str, News]:
    news = News(list(happened))
    monkeypatch.setattr(house.farm, "subscribe", lambda patience_s: news)
    answer = house.client().get("/api/events")
    assert answer.mimetype == "text/event-stream"
    return answer.text, news


def listeners(house: Home) -> Listeners:
    found: Listeners = house.app.extensions["unsown"].listeners
    return found


def test_each_event_is_told_with_its_data_on_one_line(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    work = {"paddock": "a1", "stage": "set\ntling", "part": 0.5}
    text, news = told(house, monkeypatch, Event("work", work), Event("board"))
    assert text.startswith("retry: 3000\n\n")
    assert 'event: work\ndata: {"paddock":"a1","stage":"set\\ntling","part":0.5}\n\n' in text
    assert "event: board\ndata: {}\n\n" in text
    assert news.closed


def test_when_nothing_happens_a_heartbeat_asks_whether_anybody_is_there(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(events, "HEARTBEAT_S", 0.0)
    text, _ = told(house, monkeypatch, None, None)
    assert text.count(": still here\n\n") == 2
    monkeypatch.setattr(events, "HEARTBEAT_S", 60.0)
    text, _ = told(house, monkeypatch, None, None)
    assert "still here" not in text


def test_a_listener_is_let_go_after_a_while_and_when_the_house_closes(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    endless = [Event("board")] * 100
    monkeypatch.setattr(events, "LONGEST_S", 0.0)
    text, news = told(house, monkeypatch, *endless)
    assert "board" not in text
    assert news.closed
    monkeypatch.setattr(events, "LONGEST_S", 600.0)
    answer = house.client().get("/api/events", buffered=False)
    listeners(house).closing.set()
    assert "board" not in answer.text
    assert code_of(house.client().get("/api/events")) == "listeners"


@pytest.mark.parametrize("how", ["ends", "fails", "hangs up"])
def test_a_place_is_given_back_however_a_listener_ends(
    house: Home, monkeypatch: pytest.MonkeyPatch, how: str
) -> None:
    def free() -> int:
        held = 0
        while listeners(house).enter():
            held += 1
        for _ in range(held):
            listeners(house).leave()
        return held

    before = free()
    happened: list[Any] = [Event("board")] * 3 + ([BrokenError] if how == "fails" else [])
    news = News(happened)
    monkeypatch.setattr(house.farm, "subscribe", lambda patience_s: news)
    answer = house.client().get("/api/events", buffered=False)
    assert free() == before - 1
    if how == "hangs up":
        next(iter(answer.response))
    elif how == "fails":
        with pytest.raises(BrokenError):
            assert answer.text
    else:
        assert answer.text
    answer.close()
    assert free() == before
    assert news.closed


def test_a_farm_that_cannot_tell_takes_no_place(
    house: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(patience_s: float) -> None:
        raise RuntimeError("no news")

    monkeypatch.setattr(house.farm, "subscribe", broken)
    for _ in range(40):
        assert house.client().get("/api/events").status_code == 500


def test_one_too_many_is_told_to_come_back_later(house: Home) -> None:
    while listeners(house).enter():
        pass
    answer = house.client().get("/api/events")
    assert (answer.status_code, code_of(answer)) == (503, "listeners")
    assert answer.headers["Retry-After"] == "30"


def test_a_phone_that_is_withdrawn_hears_no_more_and_a_desk_that_left_neither(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(events, "_LOOK_S", 0.0)
    with home(tmp_path) as made:
        monkeypatch.setattr(made.farm, "subscribe", lambda _: News([Event("board")] * 50))
        dev, token = made.phone("rider")
        heard = made.client().get("/api/events", headers=token, buffered=False)
        assert made.client().get("/api/events", headers=token).text.count("board") == 50
        made.farm.withdraw(dev)
        assert "board" not in heard.text
        desk = made.desk()
        heard = desk.get("/api/events", buffered=False)
        assert desk.delete("/api/session").status_code == 204
        assert "board" not in heard.text
