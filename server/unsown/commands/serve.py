"""``unsown serve``: the home service, for this computer or for phones in the yard."""

from __future__ import annotations

import argparse
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from unsown.commands import terminal
from unsown.commands.progress import Progress
from unsown.core.errors import UnsownError

if TYPE_CHECKING:
    from unsown.commands.opening import Opening
    from unsown.routes.listen import Server

PORT = 8610
SUMMARY = "the home service: takes in what phones logged, shows it, prints it"
EXAMPLES = """\
examples:
  unsown serve                     this computer alone: http://localhost:8610/
  unsown serve --yard              phones on the yard's Wi-Fi too, over TLS
  unsown serve --demo --data demo  with an invented farm to look at
"""
_LOOK_S = 600.0  # how often certificate and addresses are looked after


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``unsown serve``."""
    parser.add_argument("--data", type=Path, metavar="FOLDER",
        help="where the farm is kept (default: this system's place for user data)")  # fmt: skip
    parser.add_argument("--port", type=_port, default=PORT, metavar="N",
        help=f"port for this computer, plain http (default {PORT})")  # fmt: skip
    parser.add_argument("--tls-port", type=_port, default=PORT + 1, metavar="N",
        help=f"port for phones, TLS (default {PORT + 1})")  # fmt: skip
    parser.add_argument("--yard", action="store_true",
        help="let phones on this network in, with an authority of the farm's own")  # fmt: skip
    parser.add_argument("--cert", type=Path, metavar="FILE",
        help="let phones in with a certificate of your own (PEM, the whole chain)")  # fmt: skip
    parser.add_argument("--key", type=Path, metavar="FILE", help="the certificate's key (PEM)")
    parser.add_argument("--proxy", action="store_true",
        help="a reverse proxy on this computer stands in front and speaks TLS")  # fmt: skip
    parser.add_argument("--host-name", metavar="NAME",
        help="the name phones use for this computer, such as farm.home.arpa")  # fmt: skip
    parser.add_argument("--passphrase-file", type=Path, metavar="FILE",
        help="take the passphrase from the first line of this file")  # fmt: skip
    parser.add_argument("--new-passphrase", action="store_true",
        help="make a new passphrase; everybody has to say it again")  # fmt: skip
    parser.add_argument("--new-authority", action="store_true",
        help="make a new authority; each phone has to trust it again")  # fmt: skip
    parser.add_argument("--demo", action="store_true",
        help="put the invented farm into a data folder that is empty")  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Serves until it is told to stop (Ctrl-C, or the system's own word for it).

    Raises:
        UnsownError: options that do not go together, a folder in use, a port that is taken.
    """
    from unsown.commands.opening import check, opening  # noqa: PLC0415
    from unsown.routes.app import create_app  # noqa: PLC0415
    from unsown.routes.listen import Server  # noqa: PLC0415
    from unsown.service.farm import open_farm  # noqa: PLC0415
    from unsown.store.place import data_folder  # noqa: PLC0415

    check(args)
    args.port, args.tls_port = (_free(port) for port in (args.port, args.tls_port))
    with _until_told() as told, open_farm(args.data) as farm:
        opened = opening(args, data_folder(args.data))
        if args.demo:
            from unsown.commands.demofarm import put_in  # noqa: PLC0415

            with Progress() as progress:
                progress("driving the invented day", 0.0)
                put_in(farm)
        app = create_app(farm, opened.door)
        servers = [Server(app, opened.address, args.port)]
        try:
            if opened.tls:
                servers.append(Server(app, opened.address, args.tls_port, opened.tls))
            for server in servers:
                server.start()
            _say(opened, servers[0].port)
            while not told.wait(_LOOK_S):
                _look_after(opened, servers[-1])
        finally:
            app.extensions["unsown"].listeners.closing.set()
            for server in servers:
                server.stop()
    terminal.say("Stopped. Nothing that was acknowledged is lost.")
    return 0


def _look_after(opened: Opening, server: Server) -> None:
    """Renews what ends or lacks a new address; what fails is said, and tried again later."""
    try:
        if opened.renew():
            server.renew()
            terminal.say("The certificate was renewed.")
    except (UnsownError, OSError) as error:
        terminal.say(terminal.one_line(f"unsown: the certificate: {error}"), sys.stderr)


@contextmanager
def _until_told() -> Iterator[threading.Event]:
    """An event that Ctrl-C and the system's request to end set; a second Ctrl-C ends at once."""
    told = threading.Event()

    def tell(number: int, frame: object) -> None:
        if told.is_set() and number == signal.SIGINT:
            raise KeyboardInterrupt
        told.set()

    before = {number: signal.signal(number, tell) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield told
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _say(opened: Opening, port: int) -> None:
    door = opened.door
    terminal.say(f"Unsown serves this computer: http://localhost:{port}/")
    if door.proxy:
        terminal.say(f"Through the proxy:           {door.phones_at}/")
    elif door.phones_at:
        terminal.say(f"Phones and others:           {door.phones_at}/")
    if door.authority:
        terminal.say(f"Each phone, once, first:     {door.trust_at}")
        terminal.say(f"Fingerprint to compare:      {door.authority.fingerprint}")
        _code(door.trust_at)
    for line in opened.said:
        terminal.say(line)
    for one in door.notices():
        terminal.say(f"Notice: {one.message} {one.hint}")
    terminal.say("Stop with Ctrl-C.")
    sys.stdout.flush()


def _code(text: str) -> None:
    from unsown.yard import code  # noqa: PLC0415

    if not sys.stdout.isatty():
        return
    try:
        # colours are control characters, which say() would take out
        print(code.lines(text, colour=True))
    except UnicodeEncodeError:
        return  # a terminal without blocks: the address stands above in words


def _free(port: int) -> int:
    """The port itself, or any that is free in place of 0: addresses name it before it is bound."""
    if port:
        return port
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _port(text: str) -> int:
    value = int(text)
    if not 0 <= value < 65_536:
        raise argparse.ArgumentTypeError(f"{text}: a port from 0 to 65535 was expected")
    return value
