"""A phone's browser for the bench: a simulated day's page in it, what it holds and what it uses."""

from __future__ import annotations

import json
import os
import time
from dataclasses import dataclass
from math import isnan
from pathlib import Path
from typing import Any

from playwright.sync_api import CDPSession, Page

import cabs
import fields
from handset import Handset, until
from unsown.sim import SimDay

#: Processors that a page which counts nothing has in a second, at most, s.
IDLE_S = 0.3
DRIVING = "window.unsown.driving.get()"
#: What each position costs before it is drawn, ms.
PREPARED = """
window.costs = [];
const every = window.setInterval.bind(window);
const at = () => window.unsown?.driving.get().now?.t_ms;
window.setInterval = (act, ms, ...rest) => every(() => {
  const [before, began] = [at(), performance.now()];
  act();
  const took = performance.now() - began;
  if (at() === before) return;
  window.costs.push(took);
  console.timeStamp('a position');
}, ms, ...rest);
"""
BEGUN = """if (window.unsownReplay)
  window.unsownReplay.begun_ms = Number(localStorage.begun);"""
#: Entries of the day as this phone's own, as fast as they are taken.
WRITE = """async rows => {
  const log = window.unsown.cab.get().keeper;
  for (let n = 0; n < rows.length; n += 600) {
    const made = rows.slice(n, n + 600).map(row => log.append(row));
    await log.flush();
    await Promise.all(made);
  }
}"""


@dataclass
class Phone:
    """One browser with the day's log in it."""

    handset: Handset
    page: Page
    cdp: CDPSession

    def slowed(self, factor: int) -> None:
        self.cdp.send("Emulation.setCPUThrottlingRate", {"rate": factor})

    def heap_mb(self) -> float:
        """What the page holds: objects and buffers that are still needed."""
        for _ in range(2):
            self.cdp.send("HeapProfiler.collectGarbage")
        told = self.cdp.send("Runtime.getHeapUsage")
        return float(told["usedSize"] + told["backingStorageSize"]) / 1e6

    def idle(self, most_s: float = 90) -> None:
        """Waits until nothing is counted beside the page: workers that rest use no processor."""
        end = time.monotonic() + most_s
        while time.monotonic() < end:
            used = processors_s(self.handset)
            self.page.wait_for_timeout(1000)
            if processors_s(self.handset) - used < IDLE_S:
                return

    def drive(self, track: list[dict[str, Any]], speed: float) -> None:
        """The page anew, with a track to drive from now on."""
        # a day is more than the page's own storage takes
        told = json.dumps({"track": track, "speed": speed})
        self.page.add_init_script(f"if (localStorage.begun) window.unsownReplay = {told};")
        self.page.add_init_script(BEGUN)
        self.page.evaluate("() => { localStorage.begun = String(Date.now() + 3000) }")
        self.first("work")

    def first(self, page: str) -> None:
        """The first page anew, from which another one can be reached; nothing is driven yet."""
        self.page.evaluate("() => window.unsown.cab.get().keeper.remember('driving', false)")
        self.page.reload()
        until(self.page, f"document.querySelector('[data-page={page}]')", 60)


def rows(made: SimDay) -> list[dict[str, Any]]:
    """The day as positions and changes of the lever, in order of time."""
    f = made.log.fixes
    names = ("t_ms", "lat_deg", "lon_deg", "acc_m", "speed_m_s", "course_deg")
    columns = [getattr(f, name).tolist() for name in names]
    out = [
        {"kind": "fix", **{k: v for k, v in zip(names, row, strict=True) if not isnan(v)}}
        for row in zip(*columns, strict=True)
    ]
    for m in made.log.marks:
        if m.kind == "lever":
            out.append({"kind": "lever", "t_ms": m.t_ms, "lever": m.says["lever"], "how": "pad"})
    return sorted(out, key=lambda row: row["t_ms"])


def opened(handset: Handset, cab: cabs.Cab, made: SimDay, folder: Path) -> Phone:
    """The page with the farm pack of the day; home is gone."""
    page = handset.start()
    page.add_init_script(PREPARED)
    page.goto(cab.url)
    until(page, "window.unsown && window.unsown.cab.get().page")
    page.evaluate("() => window.unsown.cab.get().keeper.remember('cautions', 1)")
    page.reload()
    until(page, "document.querySelector('#ready')?.textContent.startsWith('Ready')", 60)
    page.locator("[data-page=carry]").click()
    pack, _ = fields.write(made, folder, None)
    page.set_input_files("#file", pack)
    until(page, "window.unsown.cab.get().pack")
    cab.go()
    return Phone(handset, page, page.context.new_cdp_session(page))


def _processes(handset: Handset) -> list[int]:
    """Every process of the browser."""
    group = handset.group()
    found = []
    for entry in Path("/proc").iterdir():
        if not entry.name.isdigit():
            continue
        try:
            if os.getpgid(int(entry.name)) == group:
                found.append(int(entry.name))
        except ProcessLookupError:
            continue
    return found


def processors_s(handset: Handset) -> float:
    """Seconds of processors that the browser has had."""
    ticks = 0
    for pid in _processes(handset):
        told = Path(f"/proc/{pid}/stat").read_text()
        columns = told[told.rindex(")") + 2 :].split()
        ticks += int(columns[11]) + int(columns[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def workers_s(handset: Handset) -> dict[str, float]:
    """Seconds of a processor that each worker's thread has had."""
    out = {}
    for pid in _processes(handset):
        for task in Path(f"/proc/{pid}/task").iterdir():
            if (task / "comm").read_text().startswith("DedicatedWorker"):
                out[task.name] = int((task / "schedstat").read_text().split()[0]) / 1e9
    return out


def peaks_mb(handset: Handset, *, anew: bool = False) -> dict[int, float]:
    """The most memory that each process of the browser has had, MB; ``anew``: from now on."""
    peaks = {}
    for pid in _processes(handset):
        if anew:
            Path(f"/proc/{pid}/clear_refs").write_text("5")
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                peaks[pid] = int(line.split()[1]) / 1e3
    return peaks
