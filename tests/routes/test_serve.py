"""``unsown serve`` as a process: starts, refuses, keeps its secrets, and stops."""

from __future__ import annotations

import argparse
import contextlib
import copy
import http.client
import json
import signal
import socket
import sqlite3
import time
from pathlib import Path

import pytest

from houses import lines
from served import Served, free_port, served
from unsown.cli import main, parser_of
from unsown.commands import opening
from unsown.core.errors import DayError, UnsownError
from unsown.routes import events
from unsown.routes.listeners import MOST
from unsown.service import bring
from unsown.service.farm import Farm

NAME = "farm.home.arpa"


def options(*words: str) -> argparse.Namespace:
    return parser_of("serve").parse(list(words))


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_stops_when_it_is_told_to_and_leaves_a_whole_store(tmp_path: Path, number: int) -> None:
    with served(tmp_path) as house, house.connect() as line:
        line.request("GET", "/api/events", headers={"Host": f"localhost:{house.port}"})
        assert line.getresponse().status == 200  # a listener keeps nobody from stopping
        start = time.monotonic()
        assert house.stop(number) == 0
        assert time.monotonic() - start < 15
    assert "Stopped." in "".join(house.printed)
    with sqlite3.connect(tmp_path / "unsown.db") as store:
        assert store.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    store.close()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", house.port))


def test_a_second_start_on_the_same_folder_is_refused_with_the_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with served(tmp_path) as house:
        code = main(["serve", "--data", str(tmp_path), "--port", "0", "--tls-port", "0"])
        said = capsys.readouterr().err
        assert code == 2
        assert f"process {house.process.pid}" in said
        assert "--data" in said
        assert house.ask("GET", "/api/hello")[0] == 200


def test_a_port_that_is_taken_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert main(["serve", "--data", str(tmp_path), "--port", str(port)]) == 2
    said = capsys.readouterr().err
    assert f"Port {port} cannot be had" in said
    assert "--port" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--cert", "a.pem"], "--cert and --key belong together"),
        (["--key", "a.pem"], "--cert and --key belong together"),
        (["--yard", "--proxy", "--host-name", "a"], "--yard and --proxy exclude each other"),
        (["--yard", "--cert", "a", "--key", "b"], "--yard and --cert exclude each other"),
        (["--proxy"], "cannot be seen"),
        (["--new-authority"], "--yard"),
    ],
)
def test_options_that_do_not_go_together_are_refused(words: list[str], said: str) -> None:
    with pytest.raises(UnsownError, match=said):
        opening.check(options(*words))


def test_without_more_words_only_this_computer_can_reach_it(tmp_path: Path) -> None:
    found = opening.opening(options(), tmp_path)
    assert found.address == "127.0.0.1"
    assert found.door.passphrase is None
    assert found.tls is None
    assert not (tmp_path / "keys").exists()


def test_with_a_proxy_it_still_listens_on_this_computer_only_and_asks_for_the_passphrase(
    tmp_path: Path,
) -> None:
    found = opening.opening(options("--proxy", "--host-name", NAME), tmp_path)
    assert found.address == "127.0.0.1"
    assert found.door.passphrase is not None
    assert found.door.proxy
    assert found.door.phones_at == f"https://{NAME}"


def test_a_passphrase_of_ones_own_and_a_new_one_take_the_place_of_the_old(tmp_path: Path) -> None:
    file = tmp_path / "mine"
    file.write_text("long quiet furrow\n")
    file.chmod(0o600)
    words = ["--proxy", "--host-name", NAME]
    own = opening.opening(options(*words, "--passphrase-file", str(file)), tmp_path)
    assert own.door.passphrase is not None
    assert own.door.passphrase.fits("long quiet furrow")
    kept = opening.opening(options(*words), tmp_path)
    assert kept.door.passphrase == own.door.passphrase
    assert kept.said == []
    new = opening.opening(options(*words, "--new-passphrase"), tmp_path)
    assert new.door.passphrase is not None
    assert not new.door.passphrase.fits("long quiet furrow")
    once = (tmp_path / "keys" / "passphrase-once.txt").read_text().strip()
    assert new.door.passphrase.fits(once)
    assert once not in "".join(new.said)


def test_no_secret_is_printed_or_kept_in_the_clear(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with served(data, "--yard", "--host-name", NAME) as house:
        once = data / "keys" / "passphrase-once.txt"
        said = once.read_text().strip()
        once.unlink()
        status, headers, _ = house.ask("POST", "/api/session", {"passphrase": said}, tls=NAME)
        assert status == 204
        cookie = headers["Set-Cookie"].partition(";")[0]
        _, _, body = house.ask("POST", "/api/pairings", {"may": "keeper", "name": "cab"},
                               {"Cookie": cookie}, tls=NAME)  # fmt: skip
        code = _field(body, "code")
        _, _, body = house.ask("POST", "/api/pairings/claim", {"code": code}, tls=NAME)
        token, dev = _field(body, "token"), _field(body, "dev")
        bearer = {"Authorization": f"Bearer {token}", "Content-Type": "application/x-ndjson"}
        path = f"/api/phones/{dev}/entries/1"
        assert house.ask("PUT", path, lines(dev, 1, 5), bearer, tls=NAME)[0] == 200
        house.ask("PUT", path, b"broken", bearer, tls=NAME)
        house.ask("POST", "/api/session", {"passphrase": f"{said} x"}, tls=NAME)
        house.stop()
    secrets = (said, code, code.replace("-", ""), token, cookie.partition("=")[2])
    files = [file.read_bytes() for file in data.rglob("*") if file.is_file()]
    assert len(files) >= 5
    for secret in secrets:
        assert secret not in "".join(house.printed)
        assert not any(secret.encode() in content for content in files)


def test_listeners_have_a_limit_and_leave_room_for_everybody_else(tmp_path: Path) -> None:
    with served(tmp_path) as house:
        open_lines = [_listen(house) for _ in range(MOST)]
        try:
            status, headers, _ = house.ask("GET", "/api/events")
            assert status == 503
            assert headers["Retry-After"] == "30"
            for _ in range(30):
                assert house.ask("GET", "/api/hello")[0] == 200
        finally:
            for line in open_lines:
                line.close()


def test_pages_loaded_again_find_a_place_to_listen_at_once(tmp_path: Path) -> None:
    with served(tmp_path) as house:
        for _ in range(3):
            start = time.monotonic()
            for line in [_listen(house) for _ in range(MOST)]:
                line.close()
            # far sooner than a heartbeat comes round
            assert time.monotonic() - start < events.HEARTBEAT_S / 2


def _listen(house: Served) -> socket.socket:
    line = socket.create_connection(("127.0.0.1", house.port), 20)
    line.sendall(f"GET /api/events HTTP/1.1\r\nHost: localhost:{house.port}\r\n\r\n".encode())
    assert b" 200 " in line.recv(4096)
    return line


def test_those_who_connect_and_say_nothing_keep_nobody_out(tmp_path: Path) -> None:
    with served(tmp_path, "--yard", "--host-name", NAME) as house:
        silent = [socket.create_connection(("127.0.0.1", house.tls_port), 5) for _ in range(20)]
        try:
            start = time.monotonic()
            assert house.ask("GET", "/api/hello", tls=NAME)[0] == 200
            assert time.monotonic() - start < 5  # they are hung up on after ten
        finally:
            for line in silent:
                line.close()


def test_a_body_that_may_not_be_sent_is_answered_before_the_line_is_closed(tmp_path: Path) -> None:
    with served(tmp_path) as house:
        body = b"x" * 12_000_000
        for more, status in (({}, 413), ({"Origin": "https://evil.example"}, 403)):
            head = {"Content-Type": "application/json", **more}
            got, headers, said = house.ask("POST", "/api/paddocks", body, head)
            assert (got, headers["Connection"]) == (status, "close")
            assert json.loads(said)["error"]["message"]


def test_bodies_nobody_may_send_do_not_fill_the_memory(tmp_path: Path) -> None:
    with served(tmp_path, "--yard", "--host-name", NAME) as house:
        before = peak_mb(house)
        for _ in range(3):
            with house.connect(NAME) as line, contextlib.suppress(OSError):
                line.putrequest("PUT", "/api/phones/cab/entries/1")
                line.putheader("Content-Length", "200000000")
                line.putheader("Authorization", "Bearer nothing")
                line.endheaders()
                for _ in range(2000):
                    line.send(b"x" * 100_000)
        assert house.ask("GET", "/api/hello", tls=NAME)[0] == 200
        assert peak_mb(house) - before < 60


def peak_mb(house: Served) -> float:
    status = Path(f"/proc/{house.process.pid}/status")
    if not status.exists():
        pytest.skip("this system does not tell the memory of a process")
    line = next(row for row in status.read_text().splitlines() if row.startswith("VmHWM"))
    return int(line.split()[1]) / 1024


def test_a_body_without_an_end_is_cut_off(tmp_path: Path) -> None:
    with served(tmp_path) as house:
        with house.connect() as line:
            head = {
                "Origin": house.origin,
                "Content-Type": "application/json",
                "Transfer-Encoding": "chunked",
            }
            with contextlib.suppress(OSError):
                parts = (b"x" * 100_000 for _ in range(60))
                line.request("POST", "/api/paddocks", parts, head, encode_chunked=True)
            with contextlib.suppress(OSError, http.client.HTTPException):
                assert line.getresponse().status in (400, 413)
        assert house.ask("GET", "/api/hello")[0] == 200


def test_the_invented_farm_is_put_into_an_empty_folder_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from houses import square
    from unsown.commands.demofarm import PADDOCKS, put_in
    from unsown.service.farm import open_farm

    with open_farm(tmp_path / "demo", compute=False) as farm:
        assert put_in(farm)
        assert {row["name"] for row in farm.paddocks()} == set(PADDOCKS)
        assert farm.settings()["farm"] == "Ninepost Coulee"
        assert len(farm.rigs()) == 1
        before = farm.season(2026)["entries"]
        assert before > 40_000
        assert not put_in(farm)
        farm.save_settings({"currency": ""}, farm.settings()["version"])  # stopped half-way
        assert put_in(farm)
        assert farm.season(2026)["entries"] == before
        assert len(farm.paddocks()) == len(PADDOCKS)
        _its_first_lap_gives_the_paddock(farm)
    with open_farm(tmp_path / "other", compute=False) as farm:
        farm.save_paddock(None, square(), None)
        with pytest.raises(UnsownError, match="Another farm"):
            put_in(farm)


def _its_first_lap_gives_the_paddock(farm: Farm) -> None:
    """Done here, where a whole day is at hand: making one takes longer than all else."""
    found = bring.from_lap(farm.store, 2026, "2026-05-14")
    drawn = next(row for row in farm.paddocks() if row["name"] == "Dry Ladle")
    whole_ha = drawn["net_ha"] + drawn["keep_out_ha"]
    assert found["area_ha"] == pytest.approx(whole_ha, rel=0.01)
    assert 0.02 < found["sigma_ha"] < 1.0
    outline, *others = found["geojson"]["features"]
    assert outline["properties"]["boundary"] == "lap"
    assert [other["properties"]["kind"] for other in others] == ["unreachable"]
    named = copy.deepcopy(found["geojson"])
    named["features"][0]["properties"]["name"] = "By the lap"
    saved = farm.save_paddock(None, named, None)
    assert farm.paddock(saved.id)["boundary"] == "lap"
    same = bring.from_lap(farm.store, 2026, "2026-05-14", "morning")
    assert same["area_ha"] == found["area_ha"]
    with pytest.raises(DayError, match="no track was logged"):
        bring.from_lap(farm.store, 2026, "2026-05-14", "night")
    with pytest.raises(UnsownError, match="2026-05-15"):
        bring.from_lap(farm.store, 2026, "2026-05-15")


def _field(body: bytes, name: str) -> str:
    found: str = json.loads(body)[name]
    return found


def test_ports_are_given_and_read(tmp_path: Path) -> None:
    port = free_port()
    assert options("--port", str(port)).port == port
    assert main(["serve", "--port", "70000"]) == 2
