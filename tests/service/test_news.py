"""What happens is told to everybody who watches, and nobody slow holds anybody up."""

from __future__ import annotations

from pathlib import Path

import farms
from unsown.service.news import _MOST, News


def test_every_watcher_hears_everything_from_its_start_on() -> None:
    news = News()
    news.tell("board")
    one, two = news.watch(0.01), news.watch(0.01)
    news.tell("work", {"part": 1})
    for watch in (one, two):
        event = next(watch)
        assert event is not None
        assert (event.event, event.data) == ("work", {"part": 1})
        assert next(watch) is None


def test_a_slow_watcher_loses_the_oldest_and_holds_nobody_up() -> None:
    news = News()
    watch = news.watch(0.01)
    for n in range(_MOST + 50):
        news.tell("work", {"n": n})
    first = next(watch)
    assert first is not None
    assert first.data["n"] == 50


def test_closing_ends_every_watch_and_later_ones_at_once() -> None:
    news = News()
    watch = news.watch(5)
    news.close()
    assert list(watch) == []
    assert list(news.watch(5)) == []


def test_a_watcher_that_is_closed_is_forgotten() -> None:
    news = News()
    watch = news.watch(5)
    watch.close()
    assert news._all == set()
    news.tell("board")


def test_a_computation_is_told_from_waiting_to_done(tmp_path: Path) -> None:
    with farms.computing(tmp_path) as farm:
        id_ = farms.stocked(farm)
        watch = farm.subscribe(0.3)
        farm.take_entries("cab", 1, farms.body(farms.day()))
        farms.computed(farm, id_)
        heard = [e for e in iter(lambda: next(watch), None) if e is not None]
    states = [e.data["state"] for e in heard if e.event == "work"]
    assert states[0] == "computing"
    assert states[-1] == "ready"
    assert heard[-1].event == "board"
    assert {e.data["paddock"] for e in heard if e.event == "work"} == {id_}
