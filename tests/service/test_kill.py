"""Nothing that was acknowledged is lost: the service is killed while three phones upload."""

from __future__ import annotations

import http.client
import json
import random
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

import farms
from unsown.service.farm import Farm

LINES = (1, 12)  # of one sending
LIVES_S = (0.2, 1.6)  # from when it serves until it is killed


class Sender(threading.Thread):
    """A phone on the yard's network, until the service does not answer any more."""

    def __init__(self, phone: farms.Phone, token: str, port: int, chance: random.Random) -> None:
        super().__init__(daemon=True)
        self.phone, self.token, self.port, self.chance = phone, token, port, chance
        self.trouble: list[str] = []

    def run(self) -> None:
        phone = self.phone
        conn = http.client.HTTPConnection("localhost", self.port, timeout=20)
        try:
            while phone.told < len(phone.log):
                # now and then a phone that did not hear the answer sends the same again
                back = min(phone.told, self.chance.choice([0, 0, 0, 5]))
                first = phone.told - back
                part = phone.log[first : phone.told + self.chance.randint(*LINES)]
                conn.request(
                    "PUT",
                    f"/api/phones/{phone.dev}/entries/{first + 1}",
                    b"\n".join(part),
                    {
                        "Authorization": f"Bearer {self.token}",
                        "Content-Type": "application/x-ndjson",
                    },
                )
                answer = conn.getresponse()
                said = answer.read()
                if answer.status != 200:
                    self.trouble.append(f"{answer.status} {said[:300]!r}")
                    return
                phone.told = int(json.loads(said)["held"])
        except (OSError, http.client.HTTPException, ValueError):
            return  # killed: what was not answered was not acknowledged
        finally:
            conn.close()


@contextmanager
def served(folder: Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The service in a process of its own, and its port; killed when the block ends."""
    words = [sys.executable, "-m", "unsown", "serve", "--data", str(folder), "--port", "0"]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as service:
        assert service.stdout is not None
        try:
            said = service.stdout.readline()
            found = re.search(r"http://localhost:(\d+)/", said)
            if found is None:
                service.kill()
            assert found, f"the service said no address: {said + service.stdout.read()}"
            yield service, int(found.group(1))
        finally:
            service.send_signal(signal.SIGKILL)


def check(farm: Farm, phones: list[farms.Phone]) -> None:
    """Every acknowledged entry is there as it was sent, none twice, and the file is whole."""
    from sqlalchemy import select

    from unsown.store.schema import chunk

    assert farm.store.check() == []
    for phone in phones:
        held = farm.held(phone.dev)
        assert held.held >= phone.told
        assert held.wanted == ()
        assert list(farms.lines_held(farm, phone.dev).values()) == phone.log[: held.held]
        with farm.store.read() as conn:
            asked = select(chunk.c.first, chunk.c.last).where(chunk.c.dev == phone.dev)
            spans = conn.execute(asked).all()
        assert sum(last - first + 1 for first, last in spans) == held.held
    assert farm.disputes() == []


def elsewhere(phone: farms.Phone, count: int) -> list[dict[str, Any]]:
    """More entries of a phone that is not near the paddock."""
    return farms.fixes(phone.dev, len(phone.log) + 1, count, north_m=5000)


def rounds(folder: Path, count: int, entries: int, seed: int) -> dict[str, Any]:
    """Kills the service ``count`` times; gives the work that comes of it in the end."""
    chance = random.Random(seed)
    with farms.farm_in(folder) as farm:
        id_ = farms.stocked(farm)
        claims = [farm.claim(farm.new_pairing("keeper", n).code, n) for n in ("a", "b", "c")]
    phones = [farms.Phone(claim.dev) for claim in claims]
    for n, phone in enumerate(phones):
        phone.write(farms.day(phone.dev) if n == 0 else elsewhere(phone, entries))
    sent = 0
    for _ in range(count):
        with served(folder) as (service, port):
            senders = [
                Sender(phone, claim.token, port, random.Random(chance.random()))
                for phone, claim in zip(phones, claims, strict=True)
            ]
            for sender in senders:
                sender.start()
            with pytest.raises(subprocess.TimeoutExpired):
                service.wait(chance.uniform(*LIVES_S))
        for sender in senders:
            sender.join(30)
            assert not sender.is_alive()
            assert sender.trouble == []
        with farms.farm_in(folder) as farm:
            check(farm, phones)
        sent = sum(phone.told for phone in phones)
        if sent == sum(len(phone.log) for phone in phones):
            for phone in phones[1:]:
                phone.write(elsewhere(phone, entries))
    assert sent > 0, "nothing was ever acknowledged: the test shows nothing"
    with farms.computing(folder) as farm:
        for phone in phones:
            phone.send(farm)
        check(farm, phones)
        return farms.computed(farm, id_)


def test_five_kills_while_three_phones_upload_lose_nothing(tmp_path: Path) -> None:
    found = rounds(tmp_path / "farm", 5, 300, seed=1)
    assert found["state"] == "ready"
    assert found["tally"]["sown_ha"] == pytest.approx(0.9116, abs=0.01)


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(2, 6))
def test_two_hundred_kills_lose_nothing(tmp_path: Path, seed: int) -> None:
    found = rounds(tmp_path / "farm", 50, 2000, seed)
    assert found["tally"]["sown_ha"] == pytest.approx(0.9116, abs=0.01)
