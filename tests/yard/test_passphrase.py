"""Passphrase, sessions, and how fast somebody may guess."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path

import pytest

from unsown.yard import pace, passphrase, sessions
from unsown.yard.errors import YardError


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_a_passphrase_made_here_has_forty_bits_and_is_accepted(tmp_path: Path) -> None:
    assert len(set(passphrase.WORDS)) == 256
    made = passphrase.make()
    assert len(made.split()) == passphrase.WORDS_IN_ONE == 5
    assert made != passphrase.make()
    assert passphrase.keep(tmp_path, made).fits(made)


def test_only_a_scrypt_hash_is_kept_and_only_for_its_owner(tmp_path: Path) -> None:
    passphrase.keep(tmp_path, "long quiet furrow")
    file = tmp_path / "passphrase"
    assert file.read_text().startswith("scrypt:16384:8:1$")
    assert "furrow" not in file.read_text()
    if os.name == "posix":
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
    kept = passphrase.load(tmp_path)
    assert kept is not None
    assert kept.fits("long quiet furrow")
    assert kept.fits("  long quiet  furrow ")
    assert not kept.fits("long quiet furrows")
    assert not kept.fits("")
    assert not kept.fits("x" * 100_000)


def test_without_a_passphrase_there_is_none(tmp_path: Path) -> None:
    assert passphrase.load(tmp_path) is None


@pytest.mark.parametrize("said", ["", "short", "x" * 201, "a b        "])
def test_a_passphrase_too_short_or_too_long_is_refused(tmp_path: Path, said: str) -> None:
    with pytest.raises(YardError, match="10 to 200 characters"):
        passphrase.keep(tmp_path, said)
    assert passphrase.load(tmp_path) is None


def test_a_file_of_ones_own_gives_its_first_line(tmp_path: Path) -> None:
    file = tmp_path / "mine"
    file.write_text("long quiet furrow\r\nnot this\n")
    file.chmod(0o600)
    assert passphrase.read_file(file) == "long quiet furrow"
    with pytest.raises(YardError, match="not there"):
        passphrase.read_file(tmp_path / "none")


def test_a_session_holds_until_it_is_closed_or_thirty_days_old(tmp_path: Path) -> None:
    clock = Clock()
    kept = sessions.Sessions(tmp_path / "sessions", "hash", clock)
    token, other = kept.open(), kept.open()
    assert len(token) >= 43  # 32 bytes in base 64
    assert kept.holds(token)
    assert not kept.holds(token + "x")
    kept.close(other)
    assert not kept.holds(other)
    clock.now += 30 * 86_400 + 1
    assert not kept.holds(token)


def test_sessions_outlive_a_restart_but_not_another_passphrase(tmp_path: Path) -> None:
    clock = Clock()
    token = sessions.Sessions(tmp_path / "sessions", "hash", clock).open()
    assert token not in (tmp_path / "sessions").read_text()
    assert sessions.Sessions(tmp_path / "sessions", "hash", clock).holds(token)
    assert not sessions.Sessions(tmp_path / "sessions", "other", clock).holds(token)


def test_a_torn_file_of_sessions_asks_for_the_passphrase_again(tmp_path: Path) -> None:
    clock = Clock()
    path = tmp_path / "sessions"
    token = sessions.Sessions(path, "hash", clock).open()
    for torn in ('{"bound"', "[]", "{}", json.dumps({"bound": "x", "ends": 3})):
        path.write_text(torn)
        assert not sessions.Sessions(path, "hash", clock).holds(token)


def test_there_are_never_more_than_two_hundred_sessions(tmp_path: Path) -> None:
    clock = Clock()
    kept = sessions.Sessions(tmp_path / "sessions", "hash", clock)
    first = kept.open()
    for _ in range(sessions.MOST):
        clock.now += 1
        last = kept.open()
    assert not kept.holds(first)
    assert kept.holds(last)


def test_after_so_many_tries_one_has_to_wait_and_the_wait_is_said() -> None:
    clock = Clock()
    tries = pace.Pace(each=3, all_=5, window_s=60, clock=clock)
    assert [tries.wait("a") for _ in range(3)] == [0, 0, 0]
    clock.now += 20
    assert tries.wait("a") == 40
    assert [tries.wait("b") for _ in range(2)] == [0, 0]
    assert tries.wait("c") == 40  # the house as a whole has had its five
    clock.now += 40
    assert tries.wait("c") == 0


def test_waiting_is_not_made_longer_by_asking_meanwhile() -> None:
    clock = Clock()
    tries = pace.Pace(each=1, all_=9, window_s=10, clock=clock)
    tries.wait("a")
    for _ in range(9):
        clock.now += 1
        assert tries.wait("a") > 0
    clock.now += 1
    assert tries.wait("a") == 0


def test_the_right_word_costs_no_try() -> None:
    clock = Clock()
    tries = pace.Pace(each=2, all_=2, window_s=60, clock=clock)
    for _ in range(10):
        assert tries.wait("a") == 0
        tries.forgive("a")
    assert tries.wait("a") == 0
    assert tries.wait("a") == 0
    assert tries.wait("a") > 0


def test_many_addresses_take_no_memory_for_ever() -> None:
    clock = Clock()
    tries = pace.Pace(each=1, all_=10**9, window_s=60, clock=clock)
    for number in range(5000):
        tries.wait(str(number))
    assert len(tries._by) <= 1000
    clock.now += 61
    tries.wait("last")
    assert len(tries._by) == 1
