"""Addresses and names of the house, its square code, and what somebody has to know in time."""

from __future__ import annotations

import socket
from datetime import timedelta
from pathlib import Path
from xml.etree import ElementTree

import pytest

from unsown.yard import address, code, names, notice
from unsown.yard.errors import YardError
from yardmade import NOW

LINKS = [
    {"ifname": "lo", "addr_info": [{"local": "127.0.0.1"}, {"local": "::1"}]},
    {"ifname": "wlan0", "addr_info": [
        {"local": "192.168.1.40", "dynamic": True}, {"local": "fe80::1"},
        {"local": "fd00::40", "temporary": True}, {"local": "fd00::41"}]},
    {"ifname": "eth1", "addr_info": [{"local": "10.1.2.3"}, {"local": "what"}, {}]},
    {"ifname": "tun0"},
]  # fmt: skip


def test_addresses_are_read_with_whether_a_router_lent_them() -> None:
    found = {str(own.address): own.lent for own in address.listed(LINKS)}
    assert found == {"192.168.1.40": True, "fd00::41": False, "10.1.2.3": False}


def test_this_computers_own_addresses_are_private_and_really_its_own() -> None:
    for own in address.own_addresses():
        assert own.address.is_private
        assert not own.address.is_loopback
        family = socket.AF_INET if own.address.version == 4 else socket.AF_INET6
        with socket.socket(family) as probe:
            probe.bind((str(own.address), 0))  # only an own address can be bound


def test_the_host_of_last_time_is_remembered(tmp_path: Path) -> None:
    assert address.remembered(tmp_path, "192.168.1.40") == ""
    assert address.remembered(tmp_path, "192.168.1.40") == "192.168.1.40"
    assert address.remembered(tmp_path, "192.168.1.41") == "192.168.1.40"
    assert address.remembered(tmp_path, "192.168.1.41") == "192.168.1.41"


@pytest.mark.parametrize(
    ("given", "name"),
    [("farm.home.arpa", "farm.home.arpa"), (" FARM.lan. ", "farm.lan"),
     ("höf.lan", "xn--hf-fka.lan"), ("a", "a"), ("9post.lan", "9post.lan")],
)  # fmt: skip
def test_a_host_name_is_taken_as_browsers_send_it(given: str, name: str) -> None:
    assert names.host_name(given) == name


@pytest.mark.parametrize(
    "given",
    ["", ".", "https://farm.lan", "farm.lan:8766", "192.168.1.4", "a..b", "-a.lan", "a-.lan",
     "a_b.lan", "a b", "*.lan", f"{'a' * 64}.lan", ".".join(["aaaa"] * 60), "farm\n.lan",
     "fd00::1"],
)  # fmt: skip
def test_what_is_no_host_name_is_refused(given: str) -> None:
    with pytest.raises(YardError, match="host name was expected"):
        names.host_name(given)


def test_this_computers_own_names_end_in_domains_of_the_home(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: "Shed-PC.example.org")
    assert names.own_names(None) == ("shed-pc", "shed-pc.local", "shed-pc.home.arpa")
    for useless in ("localhost", "my_pc", ""):
        monkeypatch.setattr(socket, "gethostname", lambda useless=useless: useless)
        assert names.own_names(None) == ("farm.home.arpa",)
    assert names.own_names("Barn.lan") == ("barn.lan",)


@pytest.mark.parametrize(
    ("days", "codes"), [(31, []), (30, ["ends-soon"]), (0.5, ["ends-soon"]), (-1, ["ended"])]
)
def test_an_end_is_told_thirty_days_ahead(days: float, codes: list[str]) -> None:
    ends = NOW + timedelta(days=days)
    said = notice.ending("The certificate", ends, NOW, "Renew it.")
    assert [one.code for one in said] == codes
    for one in said:
        assert f"{ends:%B %Y}" in one.message
        assert one.hint == "Renew it."


def test_an_end_is_told_in_days() -> None:
    ends = NOW + timedelta(days=12, hours=3)
    assert "in 12 days" in notice.ending("It", ends, NOW, "")[0].message
    assert "today or tomorrow" in notice.ending("It", NOW + timedelta(hours=3), NOW, "")[0].message


def test_an_address_that_moves_is_told_and_a_name_or_fixed_one_is_not() -> None:
    def codes(host: str, **known: object) -> list[str]:
        return [one.code for one in notice.moving(host, **known)]  # type: ignore[arg-type]

    assert codes("10.0.0.2", by_name=False, lent=False, before="10.0.0.2") == []
    assert codes("10.0.0.2", by_name=False, lent=True, before="") == ["address-lent"]
    assert codes("farm.lan", by_name=True, lent=True, before="farm.lan") == []
    assert codes("10.0.0.2", by_name=False, lent=False, before="10.0.0.1") == ["address-changed"]
    unknown = notice.moving("10.0.0.2", by_name=False, lent=None, before="")
    assert "can't tell" in unknown[0].message


def test_the_square_code_is_an_svg_without_script_or_style_and_grows_with_its_text() -> None:
    small = code.svg("https://192.168.1.40:8766/")
    root = ElementTree.fromstring(small)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert "style" not in small
    assert "script" not in small
    width = float(root.attrib["viewBox"].split()[2])
    longer = ElementTree.fromstring(code.svg("https://192.168.1.40:8766/" + "x" * 200))
    assert float(longer.attrib["viewBox"].split()[2]) > width >= 21 + 8  # version 1 and its border


def test_the_square_code_on_a_terminal_sets_its_own_colours() -> None:
    plain = code.lines("https://192.168.1.40:8766/", colour=False).split("\n")
    assert len({len(row) for row in plain}) == 1
    coloured = code.lines("https://192.168.1.40:8766/", colour=True).split("\n")
    assert all(row.startswith("\033[97;40m") and row.endswith("\033[0m") for row in coloured)
    assert [row[8:-4] for row in coloured] == plain
