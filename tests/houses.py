"""Builders for tests of the routes: a real farm in a folder, behind a door of one's choice."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from unsown.routes.app import create_app
from unsown.routes.door import Door
from unsown.service.farm import Farm, open_farm
from unsown.yard import passphrase
from unsown.yard.pace import Pace
from unsown.yard.sessions import Sessions

WORDS = "long quiet furrow"
NAME = "farm.home.arpa"
T_MS = 1_777_636_800_000

RIG = {
    "name": "Long drill",
    "kind": "towed",
    "phone": {"ahead_of_axle_m": 0.9},
    "tractor": {"axle_to_pin_m": 1.05},
    "tool": {"width_m": 8.4, "pin_to_axle_m": 6.1, "front_rank_m": 1.7, "rear_rank_m": -0.7},
}


def square(name: str = "Tin Kettle", lon: float = -106.21, **more: Any) -> dict[str, Any]:
    """A paddock of some 7 ha as a page would send it."""
    ring = [
        [lon, 49.73],
        [lon + 0.004, 49.73],
        [lon + 0.004, 49.7325],
        [lon, 49.7325],
        [lon, 49.73],
    ]
    feature = {
        "type": "Feature",
        "properties": {"name": name, **more},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    return {"type": "FeatureCollection", "features": [feature]}


def lines(dev: str, first: int, count: int, **more: Any) -> bytes:
    """Fixes as a phone would send them, one a second."""
    return b"".join(
        json.dumps(
            {
                "v": 1,
                "dev": dev,
                "seq": seq,
                "t_ms": T_MS + 1000 * seq,
                "kind": "fix",
                "lat_deg": 49.731,
                "lon_deg": -106.209 + 2e-5 * seq,
                "acc_m": 2.5,
                **more,
            }
        ).encode()
        + b"\n"
        for seq in range(first, first + count)
    )


class _Browser(FlaskClient):
    """A browser that stands on one address."""

    base_url = "http://localhost"

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        kwargs.setdefault("base_url", self.base_url)
        kwargs.setdefault("buffered", True)  # read to the end, so that files are closed
        return super().open(*args, **kwargs)


@dataclass
class Home:
    """A farm, its app, and browsers and phones to ask it."""

    farm: Farm
    app: Flask
    tls: bool
    host: str

    def client(self) -> FlaskClient:
        """A browser without any cookie yet."""
        client = _Browser(self.app, self.app.response_class, use_cookies=True)
        client.base_url = self.origin["Origin"]
        client.environ_base["unsown.tls"] = self.tls
        return client

    @property
    def origin(self) -> dict[str, str]:
        """What a page of the house's own has its browser send."""
        return {"Origin": f"{'https' if self.tls else 'http'}://{self.host}"}

    def desk(self, client: FlaskClient | None = None) -> FlaskClient:
        """A browser where the passphrase was said, sending its own origin."""
        client = client or self.client()
        client.environ_base["HTTP_ORIGIN"] = self.origin["Origin"]
        said = client.post("/api/session", json={"passphrase": WORDS})
        assert said.status_code == 204, said.text
        return client

    def phone(self, may: str = "keeper", name: str = "cab") -> tuple[str, dict[str, str]]:
        """A paired phone: its label, and the header it sends."""
        code = self.farm.new_pairing(may, name).code  # type: ignore[arg-type]
        claim = self.farm.claim(code, name)
        return claim.dev, {"Authorization": f"Bearer {claim.token}"}


@contextmanager
def home(folder: Path, *, locked: bool = True, host: str = NAME, **door: Any) -> Iterator[Home]:
    """A house: with TLS and a passphrase, or (``locked`` False) for this computer alone."""
    made = Door(**door)
    if locked:
        kept = passphrase.keep(folder / "keys", WORDS)
        sessions = Sessions(folder / "keys" / "sessions", kept.hashed, time.time)
        made = replace(
            made,
            passphrase=kept,
            sessions=sessions,
            names=made.names | {NAME},
            phones_at=made.phones_at or f"https://{NAME}:8611",
            claims=door.get("claims") or Pace(10_000, 10_000, 60, time.monotonic),
        )
    with open_farm(folder / "data", compute=False) as farm:
        app = create_app(farm, made)
        app.testing = False
        yield Home(farm, app, locked, host if locked else "localhost:8610")


def code_of(response: TestResponse) -> str:
    """The code of an answered error."""
    said: str = response.get_json()["error"]["code"]
    return said
