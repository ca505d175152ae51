"""How the house may be reached, as it was started, and who has shown that they may come in."""

from __future__ import annotations

import ipaddress
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, cast

from flask import current_app

from unsown.routes.listeners import Listeners
from unsown.yard.authority import Authority
from unsown.yard.notice import Notice
from unsown.yard.pace import Pace
from unsown.yard.passphrase import Passphrase
from unsown.yard.sessions import Sessions

if TYPE_CHECKING:
    from unsown.service.farm import Farm

LOOPBACK = ("localhost", "127.0.0.1", "[::1]")


@dataclass(frozen=True)
class Door:
    """What ``unsown serve`` was told, and what guards it.

    Attributes:
        names: host names that requests may carry, in lower case, beside this computer's own
            ``localhost``; every other name is somebody else's page calling us.
        addresses: this computer's addresses that requests may carry as host.
        passphrase: None where only this computer can reach the house: then nobody is asked.
        sessions: who has said the passphrase.
        proxy: a proxy on this computer stands in front and says who asked (``X-Forwarded-*``).
        phones_at: the address phones use, such as ``https://192.168.1.20:8611``; '' where none can.
        trust_at: the page that leads a phone to trust, over plain http; '' where none is needed.
        authority: the farm's own, where phones have to trust it.
        notices: what has to be known about certificate and address.
        static: the folder of the built pages.
    """

    names: frozenset[str] = frozenset()
    addresses: Callable[[], frozenset[str]] = frozenset
    passphrase: Passphrase | None = None
    sessions: Sessions | None = None
    proxy: bool = False
    phones_at: str = ""
    trust_at: str = ""
    authority: Authority | None = None
    notices: Callable[[], Sequence[Notice]] = tuple
    static: Path = Path(__file__).resolve().parents[1] / "static"
    #: five slips of the thumb a minute; from elsewhere thirty for all, so that a guesser on the
    #: yard's network cannot shut out the person who sits here
    login_here: Pace = field(default_factory=lambda: Pace(5, 5, 60, time.monotonic))
    login: Pace = field(default_factory=lambda: Pace(5, 30, 60, time.monotonic))
    claims: Pace = field(default_factory=lambda: Pace(5, 10, 60, time.monotonic))

    def knows(self, host: str) -> bool:
        """Whether a ``Host`` header names this house; the port does not matter."""
        name = host.lower()
        if name.startswith("["):
            name = name.partition("]")[0] + "]"
        else:
            name = name.partition(":")[0].removesuffix(".")
        return name in LOOPBACK or name in self.names or name.strip("[]") in self.addresses()


@dataclass(frozen=True)
class House:
    """What every route needs: the farm and its door."""

    farm: Farm
    door: Door
    listeners: Listeners = field(default_factory=Listeners)


def house() -> House:
    """The house this request is for."""
    return cast("House", current_app.extensions["unsown"])


def here(address: str | None) -> bool:
    """Whether an address of a socket is this computer's own loopback."""
    try:
        found = ipaddress.ip_address((address or "").partition("%")[0])
    except ValueError:
        return False
    mapped = getattr(found, "ipv4_mapped", None)
    return (mapped or found).is_loopback
