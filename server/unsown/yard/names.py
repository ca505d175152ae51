"""Host names: which ones this computer answers to, and whether one can stand in a certificate."""

from __future__ import annotations

import re
import socket

from unsown.yard.errors import YardError

_LABEL = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)\Z")
_MOST = 253
#: RFC 8375: the domain of home networks, which no public registry ever hands out.
HOME = "home.arpa"
FALLBACK = f"farm.{HOME}"


def host_name(text: str) -> str:
    """The name in lower case and ASCII, as browsers send it.

    Raises:
        YardError: it is an address, or no host name.
    """
    name = text.strip().rstrip(".").lower()
    try:
        name = name.encode("idna").decode("ascii")
    except UnicodeError:
        name = ""
    labels = name.split(".")
    plain = 0 < len(name) <= _MOST and all(_LABEL.match(label) for label in labels)
    if not plain or labels[-1].isdigit():
        raise YardError(
            "host-name",
            f"A host name was expected, such as farm.{HOME}; {text[:80]!r} came.",
            where="--host-name",
            hint="Letters, digits and hyphens, parts divided by dots; no port and no https://.",
        )
    return name


def own_names(given: str | None) -> tuple[str, ...]:
    """The names the farm's authority may sign for: the one given, or this computer's own.

    Raises:
        YardError: the name given is no host name.
    """
    if given:
        return (host_name(given),)
    try:
        name = host_name(socket.gethostname()).partition(".")[0]
    except YardError:
        name = "localhost"
    if name == "localhost":  # says nothing that another computer could use
        return (FALLBACK,)
    return (name, f"{name}.local", f"{name}.{HOME}")
