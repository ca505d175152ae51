"""From the words of ``unsown serve`` to a door: names, certificate, passphrase, what to print."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from unsown.commands import terminal
from unsown.core.errors import UnsownError

if TYPE_CHECKING:
    from unsown.routes.door import Door
    from unsown.yard.authority import Authority
    from unsown.yard.notice import Notice
    from unsown.yard.passphrase import Passphrase

KEYS = "keys"
#: Phones come from elsewhere; the guard holds them to TLS and to this house's own names.
EVERYWHERE = "0.0.0.0"  # nosec B104
_FRESH_S = 10.0


@dataclass
class Opening:
    """What is opened: the door, where to listen, and what a person has to be told.

    Attributes:
        address: to bind, such as 127.0.0.1.
        tls: certificate and key of the second port; None where there is none.
        renew: looks after the certificate; True where it was made anew.
        said: lines to print.
    """

    door: Door
    address: str
    tls: tuple[Path, Path] | None = None
    renew: Callable[[], bool] = field(default=lambda: False)
    said: list[str] = field(default_factory=list)


def check(args: argparse.Namespace) -> None:
    """Refuses options that do not go together.

    Raises:
        UnsownError: with which ones, and why.
    """

    def refuse(message: str, hint: str) -> None:
        raise UnsownError("serve-options", message, where="unsown serve", hint=hint)

    if (args.cert is None) != (args.key is None):
        refuse("--cert and --key belong together.", "Give both files, or neither.")
    ways = [
        name
        for name, given in (("--yard", args.yard), ("--cert", args.cert), ("--proxy", args.proxy))
        if given
    ]
    if len(ways) > 1:
        refuse(f"{' and '.join(ways)} exclude each other.", "Choose one way for phones to come in.")
    if args.proxy and not args.host_name:
        refuse(
            "Behind a proxy the name that phones use cannot be seen.",
            "Give it with --host-name NAME.",
        )
    if args.new_authority and not args.yard:
        refuse("--new-authority makes one for --yard.", "Give --yard too.")


def opening(args: argparse.Namespace, folder: Path) -> Opening:
    """The door as it was asked for; keys and passphrase are made where they are missing.

    Raises:
        YardError: a name, certificate, key or passphrase cannot be used.
    """
    from unsown.routes.door import Door  # noqa: PLC0415
    from unsown.yard.names import host_name  # noqa: PLC0415

    given = {host_name(args.host_name)} if args.host_name else set()
    if not (args.yard or args.cert or args.proxy):
        return Opening(Door(names=frozenset(given)), "127.0.0.1")
    said: list[str] = []
    kept = _passphrase(args, folder / KEYS, said)
    if args.yard:
        return _yard(args, folder / KEYS, kept, said)
    if args.cert:
        return _own(args, folder / KEYS, given, kept, said)
    name = next(iter(given))
    door = _door(folder / KEYS, kept, names=given, proxy=True, phones_at=f"https://{name}")
    return Opening(door, "127.0.0.1", said=said)


def now() -> datetime:
    """This computer's clock."""
    return datetime.now(UTC)


def _yard(args: argparse.Namespace, keys: Path, kept: Passphrase, said: list[str]) -> Opening:
    from unsown.yard import address, leaf, notice  # noqa: PLC0415
    from unsown.yard.authority import open_authority  # noqa: PLC0415
    from unsown.yard.errors import YardError  # noqa: PLC0415
    from unsown.yard.names import own_names  # noqa: PLC0415

    names = own_names(args.host_name)
    own = address.own_addresses()
    if not own and not args.host_name:
        raise YardError(
            "no-address",
            "This computer has no address on a private network.",
            hint="Connect it to the yard's Wi-Fi, or give its name there with --host-name.",
        )
    authority = open_authority(keys, names, now(), anew=args.new_authority)
    held = [leaf.keep_leaf(keys, authority, names, [o.address for o in own], now())]
    host = (args.host_name and names[0]) or _in_address(str(own[0].address))
    lent = None if args.host_name else own[0].lent
    before = address.remembered(keys, host)

    def renew() -> bool:
        found = [o.address for o in address.own_addresses()]
        held[0] = leaf.keep_leaf(keys, authority, names, found, now())
        return held[0].renewed

    def notices() -> list[Notice]:
        return [
            *notice.moving(host, by_name=bool(args.host_name), lent=lent, before=before),
            *notice.ending("The certificate", held[0].ends, now(), "Keep the service running: it "
                "renews itself."),
            *notice.ending("The farm's authority", authority.certificate.not_valid_after_utc,
                now(), "Start with --new-authority, and let each phone trust the new one."),
        ]  # fmt: skip

    door = _door(
        keys, kept, names=set(names), addresses=_fresh(address.own_addresses), authority=authority,
        notices=notices, phones_at=f"https://{host}:{args.tls_port}",
        trust_at=f"http://{host}:{args.port}/trust",
    )  # fmt: skip
    return Opening(door, EVERYWHERE, (held[0].certificate, held[0].key), renew, said)


def _own(
    args: argparse.Namespace, keys: Path, given: set[str], kept: Passphrase, said: list[str]
) -> Opening:
    from unsown.yard import leaf, notice  # noqa: PLC0415
    from unsown.yard.errors import YardError  # noqa: PLC0415

    _, stands = leaf.own_certificate(args.cert)
    names = given or set(stands)
    if not names:
        raise YardError(
            "cert-names",
            "The certificate names no host that could be shown to phones.",
            where=str(args.cert),
            hint="Say which one with --host-name NAME.",
        )
    name = next(iter(given), stands[0] if stands else "")

    def notices() -> list[Notice]:
        until, _ = leaf.own_certificate(args.cert)
        return notice.ending("The certificate", until, now(), "Renew it where it came from; a new "
            "file is taken at the next start.")  # fmt: skip

    door = _door(
        keys, kept, names=names, notices=notices, phones_at=f"https://{name}:{args.tls_port}"
    )
    return Opening(door, EVERYWHERE, (args.cert, args.key), said=said)


def _door(
    keys: Path,
    kept: Passphrase,
    *,
    names: set[str],
    phones_at: str,
    trust_at: str = "",
    proxy: bool = False,
    addresses: Callable[[], frozenset[str]] = frozenset,
    authority: Authority | None = None,
    notices: Callable[[], list[Notice]] = list,
) -> Door:
    from unsown.routes.door import Door  # noqa: PLC0415
    from unsown.yard.sessions import Sessions  # noqa: PLC0415

    sessions = Sessions(keys / "sessions", kept.hashed, time.time)
    return Door(
        names=frozenset(names), addresses=addresses, passphrase=kept, sessions=sessions,
        proxy=proxy, phones_at=phones_at, trust_at=trust_at, authority=authority, notices=notices,
    )  # fmt: skip


def _passphrase(args: argparse.Namespace, keys: Path, said: list[str]) -> Passphrase:
    from unsown.yard import passphrase, private  # noqa: PLC0415

    private.folder(keys)
    once = keys / "passphrase-once.txt"
    where = f"The passphrase lies in {once}. Read it, keep it, and delete the file."
    if args.passphrase_file:
        kept = passphrase.keep(keys, passphrase.read_file(args.passphrase_file))
        once.unlink(missing_ok=True)
        return kept
    known = None if args.new_passphrase else passphrase.load(keys)
    if known is not None:
        said += [where] if once.exists() else []
        return known
    made = passphrase.make()
    kept = passphrase.keep(keys, made)
    if sys.stdout.isatty():
        once.unlink(missing_ok=True)
        # at once: what fails later must not leave a passphrase that nobody ever saw
        terminal.say(f"Passphrase, shown this once: {made}")
        sys.stdout.flush()
    else:  # what is printed may end in a log, where a secret must not lie
        private.write(once, f"{made}\n".encode())
        said.append(where)
    return kept


def _fresh(look: Callable[[], tuple[object, ...]]) -> Callable[[], frozenset[str]]:
    """The addresses of now, looked up at most every few seconds."""
    known: list[tuple[float, frozenset[str]]] = []

    def addresses() -> frozenset[str]:
        at = time.monotonic()
        if not known or at - known[-1][0] > _FRESH_S:
            found = frozenset(str(getattr(own, "address", own)) for own in look())
            known[:] = [(at, found)]
        return known[-1][1]

    return addresses


def _in_address(text: str) -> str:
    return f"[{text}]" if ":" in text else text
