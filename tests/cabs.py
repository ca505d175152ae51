"""The phone's page for tests, built so that they get at its log, and a home that can go away."""

from __future__ import annotations

import os
import random
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import farms
from unsown.routes.app import create_app
from unsown.routes.door import Door
from unsown.routes.listen import Server
from unsown.service.farm import Farm

#: Below the ports that systems lend out: a home that comes again must find its own free.
PORTS = range(21_000, 31_000)
ROOT = Path(__file__).resolve().parents[1]


def trial(static: Path) -> Path:
    """Builds the phone's page into ``static/cab``, with ``window.unsown``; gives ``static``."""
    run = subprocess.run(
        [sys.executable, str(ROOT / "web" / "npm.py"), "run", "--silent", "trial"],
        env={**os.environ, "UNSOWN_CAB_OUT": str(static / "cab")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return static


@dataclass
class Cab:
    """A farm, and the service that answers for it as long as it is there."""

    farm: Farm
    static: Path
    paddock: str
    port: int
    _server: Server | None = None

    @property
    def url(self) -> str:
        """Where the phone's page is."""
        return f"http://localhost:{self.port}/cab/"

    def come(self) -> None:
        """Answers, at the same address as before."""
        app = create_app(self.farm, Door(static=self.static))
        self._server = Server(app, "127.0.0.1", self.port, threads=8)
        self._server.start()

    def go(self) -> None:
        """Answers no more; what was held stays held."""
        if self._server is not None:
            self._server.stop()
        self._server = None

    def code(self, may: str = "keeper") -> str:
        """A pairing code, as the desk makes it."""
        return self.farm.new_pairing(may, "morning").code  # type: ignore[arg-type]

    def held(self, dev: str) -> dict[int, bytes]:
        """Every line that is held of a phone."""
        return farms.lines_held(self.farm, dev)


def _free_port() -> int:
    for port in random.SystemRandom().sample(PORTS, 50):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind(("127.0.0.1", port))
            except OSError:
                continue
            return port
    raise AssertionError("fifty ports, and none of them free")


@contextmanager
def served(
    folder: Path, static: Path, stock: Callable[[Farm], str] = farms.stocked
) -> Iterator[Cab]:
    """A farm, served on a port of its own until the block ends; ``stock`` gives its paddock."""
    with farms.farm_in(folder, clock=farms.Clock()) as farm:
        made = Cab(farm, static, stock(farm), _free_port())
        made.come()
        try:
            yield made
        finally:
            made.go()
