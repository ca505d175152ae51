"""What the home service bears: ten phones at once, and the smallest intakes one after another.

Measured on a process of its own on 127.0.0.1, over plain http, with synced writes, by the clock:
waiting for the disk is part of it. ``make bench`` puts the rows into docs/reference/speed.md.
"""

from __future__ import annotations

import gzip
import json
import random
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from houses import T_MS, square
from served import Served, served

PHONES = 10
DAY_S = 14 * 3600  # a fix a second
BATCH = 6_000
SMALL_S = 10.0


def lines(dev: str, first: int, count: int) -> bytes:
    """Fixes up and down a paddock with a phone's unrest in the digits, to pack as real ones do."""
    chance = random.Random(f"{dev} {first}")  # the same each time
    out = []
    for seq in range(first, first + count):
        back, way = divmod(seq % 260, 130)
        north = 2.08 * (130 - way if back else way)
        entry = {
            "v": 1,
            "dev": dev,
            "seq": seq,
            "t_ms": T_MS + 1000 * seq + chance.randrange(40),
            "kind": "fix",
            "lat_deg": round(49.73 + (north + chance.gauss(0, 0.3)) / 111_200, 7),
            "lon_deg": round(-106.208 + chance.gauss(0, 4e-6), 7),
            "acc_m": round(2.5 + chance.random(), 2),
            "speed_m_s": round(2.08 + chance.gauss(0, 0.05), 2),
            "course_deg": round((180 * back + chance.gauss(0, 1.5)) % 360, 1),
        }
        out.append(json.dumps(entry).encode() + b"\n")
    return b"".join(out)


def paired(house: Served) -> tuple[str, str]:
    """A keeper: its label and its token."""
    _, _, body = house.ask("POST", "/api/pairings", {"may": "keeper", "name": "cab"})
    code = json.loads(body)["code"]
    _, _, body = house.ask("POST", "/api/pairings/claim", {"code": code})
    said = json.loads(body)
    return said["dev"], said["token"]


def send(house: Served, phone: tuple[str, str], batches: list[tuple[int, bytes]]) -> list[float]:
    """Sends one after another on one connection; seconds of each."""
    dev, token = phone
    head = {"Authorization": f"Bearer {token}", "Content-Encoding": "gzip"}
    took = []
    with house.connect(timeout=120) as line:
        for first, body in batches:
            start = time.perf_counter()
            line.request("PUT", f"/api/phones/{dev}/entries/{first}", body, head)
            answer = line.getresponse()
            said = answer.read()
            took.append(time.perf_counter() - start)
            if answer.status != 200:
                raise SystemExit(f"a phone was refused: {answer.status} {said[:300]!r}")
    return took


def all_at_once(works: list[Callable[[], list[float]]]) -> tuple[float, list[float]]:
    """Seconds until all are done, and of each request."""
    took: list[float] = []
    threads = [threading.Thread(target=lambda work=work: took.extend(work())) for work in works]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return time.perf_counter() - start, took


def memory_mb(house: Served) -> float:
    """The most memory the service had, its computing process apart."""
    text = Path(f"/proc/{house.process.pid}/status").read_text(encoding="ascii")
    return int(next(row for row in text.splitlines() if row.startswith("VmHWM")).split()[1]) / 1024


def share(took: list[float], part: float) -> float:
    """The time that this part of the requests did not exceed."""
    return sorted(took)[min(len(took) - 1, int(part * len(took)))]


def rows() -> list[str]:
    """The rows of the table."""
    with tempfile.TemporaryDirectory() as name, served(Path(name)) as house:
        house.ask("POST", "/api/paddocks", {"geojson": square()})
        phones = [paired(house) for _ in range(PHONES)]
        days = [
            [
                (first, gzip.compress(lines(dev, first, min(BATCH, DAY_S - first + 1)), 6))
                for first in range(1, DAY_S + 1, BATCH)
            ]
            for dev, _ in phones
        ]
        sent_mb = sum(len(body) for day in days for _, body in day) / 1e6
        wall, took = all_at_once(
            [lambda p=p, d=d: send(house, p, d) for p, d in zip(phones, days, strict=True)]
        )
        whole = memory_mb(house)
        for dev, token in phones:
            _, _, body = house.ask("GET", f"/api/phones/{dev}/held",
                headers={"Authorization": f"Bearer {token}"})  # fmt: skip
            if json.loads(body)["held"] != DAY_S:
                raise SystemExit(f"{dev}: {body!r}")
        small_wall, small = all_at_once([lambda p=p: small_ones(house, p) for p in phones])
        one_wall, one = all_at_once([lambda: small_ones(house, paired(house), 1)])
        return [
            f"| {PHONES} phones at once, each a day of 14 h at 1 Hz | {wall:.1f} s | "
            f"{PHONES * DAY_S / wall:,.0f} entries a second, {sent_mb:.0f} MB packed | "
            f"a sending of {BATCH} entries: half within {share(took, 0.5):.2f} s, 99 % within "
            f"{share(took, 0.99):.2f} s; the service held {whole:.0f} MB at most |",
            f"| {PHONES} phones at once, one entry a sending | {len(small) / small_wall:,.0f} a "
            f"second | half within {1000 * share(small, 0.5):.0f} ms, 99 % within "
            f"{1000 * share(small, 0.99):.0f} ms | after the days above; "
            f"{memory_mb(house):.0f} MB at most |",
            f"| one phone, one entry a sending | {len(one) / one_wall:,.0f} a second | half within "
            f"{1000 * share(one, 0.5):.0f} ms, 99 % within {1000 * share(one, 0.99):.0f} ms | |",
        ]


def small_ones(house: Served, phone: tuple[str, str], first: int = DAY_S + 1) -> list[float]:
    """One entry after another for some seconds."""
    took: list[float] = []
    ends = time.perf_counter() + SMALL_S
    dev, token = phone
    head = {"Authorization": f"Bearer {token}"}
    with house.connect(timeout=60) as line:
        while time.perf_counter() < ends:
            body = lines(dev, first, 1)
            start = time.perf_counter()
            line.request("PUT", f"/api/phones/{dev}/entries/{first}", body, head)
            answer = line.getresponse()
            answer.read()
            took.append(time.perf_counter() - start)
            if answer.status != 200:
                raise SystemExit(f"a phone was refused: {answer.status}")
            first += 1
    return took


def table() -> str:
    """The rows under their head."""
    head = ["| what | by the clock | | |", "|---|---|---|---|"]
    return "\n".join([*head, *rows()])


if __name__ == "__main__":
    print(table())
