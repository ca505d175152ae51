"""This computer's addresses, and whether the one that phones keep is a fixed one.

A page on a phone belongs to the address it came from: if the house's address changes, the phone's
page and all it holds stay with the old one. Whether a router hands out the same address each time
cannot be seen from here; what can be seen is said, and what was seen last time is remembered.
"""

from __future__ import annotations

import ipaddress
import json
import shutil
import socket
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from unsown.yard import private
from unsown.yard.authority import covered

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
_SECONDS = 5
_MEMORY = "address.json"


@dataclass(frozen=True)
class Own:
    """One address of this computer.

    Attributes:
        address: without zone.
        lent: True where a router lent it for a time, False where it is set by hand, None where
            this system does not say.
    """

    address: Address
    lent: bool | None


def own_addresses() -> tuple[Own, ...]:
    """Private addresses that other machines could reach, the likeliest first."""
    found = _listed()
    first = _towards_others()
    if first is not None and all(own.address != first for own in found):
        found = [Own(first, None), *found]
    found = [own for own in found if covered(own.address)]
    # the way out of the house goes by the yard's network, not by one of virtual machines
    return tuple(sorted(found, key=lambda own: (own.address != first, own.address.version)))


def _listed() -> list[Own]:
    program = shutil.which("ip")
    if program is None:
        return [Own(address, None) for address in _resolved()]
    try:
        # a program found on the path and words that are ours
        done = subprocess.run(  # nosec B603
            [program, "-json", "address", "show", "up"],
            capture_output=True, check=True, timeout=_SECONDS,
        )  # fmt: skip
        return listed(json.loads(done.stdout))
    except (OSError, subprocess.SubprocessError, ValueError):
        return [Own(address, None) for address in _resolved()]


def listed(links: list[dict[str, Any]]) -> list[Own]:
    """The addresses in what ``ip -json address`` prints, loopback and link-local ones left out."""
    out = []
    for link in links:
        for info in link.get("addr_info") or ():
            try:
                address = ipaddress.ip_address(info.get("local", ""))
            except ValueError:
                continue
            if address.is_loopback or address.is_link_local or info.get("temporary"):
                continue
            out.append(Own(address, bool(info.get("dynamic", False))))
    return out


def _resolved() -> list[Address]:
    try:
        rows = socket.getaddrinfo(socket.gethostname(), None, type=socket.SOCK_STREAM)
    except OSError:
        return []
    texts = dict.fromkeys(str(row[4][0]).partition("%")[0] for row in rows)
    found = [ipaddress.ip_address(text) for text in texts]
    return [a for a in found if not a.is_loopback and not a.is_link_local]


def _towards_others() -> Address | None:
    """The address packets would leave by; asking the system so sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address of nobody
            address = ipaddress.ip_address(probe.getsockname()[0])
        except OSError:
            return None
    return None if address.is_unspecified or address.is_loopback else address


def remembered(folder: Path, main: str) -> str:
    """The host that phones were shown last time, '' the first time; ``main`` is kept for next."""
    path = folder / _MEMORY
    try:
        before = str(json.loads(private.read(path) or b"{}").get("main", ""))
    except (ValueError, AttributeError):
        before = ""
    if before != main:
        private.write(path, json.dumps({"main": main}).encode())
    return before
