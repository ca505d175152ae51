"""Farms in a folder, days to send to them, and a fake phone that keeps a log as a real one does."""

from __future__ import annotations

import copy
import itertools
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import smallday
from unsown.core.plane import Plane
from unsown.service.bench import Bench
from unsown.service.farm import Farm, open_farm
from unsown.service.figure import figure
from unsown.service.task import Done, Task
from unsown.service.words import Held, IntakeError
from unsown.store.lock import Lock
from unsown.store.store import Store

CARD = {
    "name": "Small bar",
    "kind": "mounted",
    "phone": {"ahead_of_axle_m": 0},
    "tool": {"width_m": 8},
}
DAY, SEASON = "2025-05-03", 2025
#: An evening after the small day: nothing in it is odd.
NOW_MS = smallday.START_MS + 12 * 3_600_000
WAIT_S = 90.0


class Clock:
    """A clock that stands until it is told to go on."""

    def __init__(self, now_ms: int = NOW_MS) -> None:
        self.now_ms = now_ms

    def __call__(self) -> int:
        return self.now_ms

    def pass_s(self, seconds: float) -> None:
        self.now_ms += round(1000 * seconds)


@contextmanager
def farm_in(folder: Path, *, compute: bool = False, clock: Clock | None = None) -> Iterator[Farm]:
    with open_farm(folder, clock=clock or Clock(), compute=compute, zone="UTC") as farm:
        yield farm


class Inline(Bench):
    """A bench without a process: the same computation, in the thread that asks for it."""

    def run(self, task: Task, tell: Callable[[str, float], None]) -> Done | None:
        return figure(task, tell)

    def stop(self) -> None:
        pass


@contextmanager
def computing(
    folder: Path, *, clock: Clock | None = None, bench: Bench | None = None
) -> Iterator[Farm]:
    """A farm that computes, without the seconds that a process takes to start."""
    folder.mkdir(exist_ok=True)
    with Lock(folder):
        store = Store.at(folder)
        farm = Farm(store, clock or Clock(), zone="UTC", bench=bench or Inline())
        try:
            yield farm
        finally:
            farm.close()
            store.close()


def paddock(name: str = "Small paddock", east_m: float = 0.0, north_m: float = 0.0) -> Any:
    """The small paddock's GeoJSON, moved."""
    corners = [(0, 0), (200, 0), (200, 48), (0, 48), (0, 0)]
    lon, lat = smallday.PLANE.to_degrees(
        [x + east_m for x, _ in corners], [y + north_m for _, y in corners]
    )
    ring = [[round(a, 8), round(b, 8)] for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]
    return {
        "type": "Feature",
        "properties": {"name": name},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }


def stocked(farm: Farm) -> str:
    """A farm with the small paddock and its rig card; the paddock's id."""
    farm.save_rig(None, CARD, None)
    return farm.save_paddock(None, paddock(), None).id


def sown(farm: Farm) -> str:
    """A farm on which the small day was sown; the paddock's id."""
    id_ = stocked(farm)
    farm.take_entries("cab", 1, body(day()))
    return id_


def day(
    dev: str = "cab", *, first: int = 1, later_ms: int = 0, north_m: float = 0.0
) -> list[dict[str, Any]]:
    """The small day as entries of a phone, moved in time and place."""
    plane = Plane(smallday.PLANE.lat0_deg + north_m / 111_230.0, smallday.PLANE.lon0_deg)
    out = []
    for seq, entry in enumerate(smallday.entries(), first):
        made = copy.copy(entry) | {"dev": dev, "seq": seq, "t_ms": entry["t_ms"] + later_ms}  # type: ignore[operator]
        if made["kind"] == "fix" and north_m:
            made["lat_deg"] = made["lat_deg"] + plane.lat0_deg - smallday.PLANE.lat0_deg
        out.append(made)
    return out


def fixes(
    dev: str, first: int, count: int, *, t_ms: int = smallday.START_MS, north_m: float = 0.0
) -> list[dict[str, Any]]:
    """A fix a second on a line, numbered from ``first`` on."""
    return [
        {
            "v": 1, "dev": dev, "seq": first + i, "t_ms": t_ms + 1000 * i, "kind": "fix",
            "lat_deg": round(49.7302 + north_m / 111_230.0, 8),
            "lon_deg": -106.21 + 1e-5 * (i % 99), "acc_m": 2.5,
        }
        for i in range(count)
    ]  # fmt: skip


def body(entries: Sequence[Mapping[str, Any]]) -> bytes:
    """JSON lines."""
    return "".join(json.dumps(dict(e)) + "\n" for e in entries).encode()


class Phone:
    """A fake phone: a numbered log of its own, and what home acknowledged of it.

    Attributes:
        log: every line, number 1 first; nothing of it is ever dropped here.
        told: the highest number that home said it holds.
    """

    def __init__(self, dev: str, lines: Sequence[bytes] = ()) -> None:
        self.dev, self.log, self.told = dev, list(lines), 0

    def write(self, entries: Sequence[Mapping[str, Any]]) -> None:
        self.log += body(entries).splitlines()

    def send(self, farm: Farm, batch: int = 100) -> Held:
        """Sends what comes after what was acknowledged; goes back where home says so."""
        held = farm.held(self.dev)
        for _ in itertools.count():
            if self.told >= len(self.log):
                held = farm.held(self.dev)
                if held.held >= len(self.log):
                    return held
                self.told = held.held
            part = self.log[self.told : self.told + batch]
            try:
                self.told = farm.take_entries(self.dev, self.told + 1, b"\n".join(part)).held
            except IntakeError as error:
                if error.code != "intake-gap":
                    raise
                self.told = error.held
        raise AssertionError("unreachable")


def lines_held(farm: Farm, dev: str) -> dict[int, bytes]:
    """Every line that a farm holds of a writer."""
    from unsown.store import chunks

    with farm.store.read() as conn:
        return chunks.lines_between(conn, dev, 1, 2**53)


def evidence(farm: Farm) -> dict[str, Any]:
    """What a store holds for good, however it is kept: lines, and what is buried."""
    from sqlalchemy import select

    from unsown.store.schema import buried, writer

    with farm.store.read() as conn:
        rows = conn.execute(select(writer.c.dev, writer.c.held, writer.c.known)).all()
        graves = conn.execute(select(buried)).all()
    return {
        "writers": sorted(tuple(r) for r in rows),
        "buried": sorted(tuple(r) for r in graves),
        "lines": {r.dev: lines_held(farm, r.dev) for r in rows},
    }


def computed(farm: Farm, id_: str, season: int = SEASON) -> dict[str, Any]:
    """A work once everything is computed, without when and how long it took."""
    assert farm.finish(WAIT_S), "the farm was still computing"
    found = farm.work(id_, season)
    return {k: v for k, v in found.items() if k not in ("computed_ms", "took_s")}
