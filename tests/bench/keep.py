"""What keeping the log costs on a phone: in Chromium, slowed down sixfold where it says so."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from playwright.sync_api import sync_playwright

import cabs
from handset import Handset, chromium, until

SLOWER = 6
DAY = 14 * 3600  # fixes of a long day at one a second
OPEN = "window.unsown && window.unsown.cab.get().keeper && window.unsown.cab.get().writes"
#: A day of fixes, as fast as they are taken; in parts, as nobody holds a day in one list.
WRITE = """async count => {
  const log = window.unsown.cab.get().keeper;
  const before = (await navigator.storage.estimate()).usageDetails;
  for (let n = 0; n < count; n += 600) {
    const made = [];
    for (let i = n; i < Math.min(n + 600, count); i++) {
      made.push(log.append({kind: 'fix', t_ms: 1777636800000 + 1000 * i, clock_ms: 1777636800120 +
        1000 * i, lat_deg: 49.73 + 1e-5 * Math.sin(i), lon_deg: -106.21 + 1e-7 * i, acc_m: 2.5,
        speed_m_s: 2.08 + 0.1 * Math.sin(i), course_deg: i % 360}));
    }
    await log.flush();
    await Promise.all(made);
  }
  const bytes = async () => (await navigator.storage.estimate()).usageDetails.indexedDB;
  return [await bytes(), before.indexedDB || 0];
}"""
#: Levers one after another: each is its own writing, and waited for.
ACKNOWLEDGED = """async count => {
  const log = window.unsown.cab.get().keeper;
  const took = [];
  for (let n = 0; n < count; n++) {
    const at = performance.now();
    await log.append({kind: 'lever', t_ms: Date.now(), lever: n % 2 ? 'up' : 'down', how: 'pad'});
    took.push(performance.now() - at);
  }
  took.sort((a, b) => a - b);
  return [took[Math.floor(count / 2)], took[Math.floor(count * 0.99)]];
}"""
READ = """async () => {
  const at = performance.now();
  const {fixes} = await window.unsown.cab.get().keeper.log(1777636800000);
  return [performance.now() - at, fixes.t_ms.length];
}"""
PAINTED = """() => new Promise(done => new PerformanceObserver(list => {
  const paint = list.getEntriesByName('first-contentful-paint')[0];
  if (paint) done(paint.startTime);
}).observe({type: 'paint', buffered: true}))"""


def measured(folder: Path) -> dict[str, Any]:
    """Writes a day, reads it back, starts cold with the service gone; as it is and slowed down."""
    static = cabs.trial(folder / "static")
    out: dict[str, Any] = {}
    with sync_playwright() as driver, cabs.served(folder / "farm", static) as cab:
        handset = Handset(driver, chromium(), folder / "profile")
        try:
            page = handset.start(cab.url)
            until(page, OPEN)
            out["bytes"], out["bytes_before"] = page.evaluate(WRITE, DAY)
            for factor in (1, SLOWER):
                _slowed(page, factor)
                out[f"ack_{factor}"] = page.evaluate(ACKNOWLEDGED, 300)
                out[f"read_{factor}"] = min(page.evaluate(READ) for _ in range(3))
            handset.kill()
            cab.go()
            for factor in (1, SLOWER):
                page = handset.start()
                _slowed(page, factor)
                page.goto(cab.url)
                until(page, OPEN)
                out[f"start_{factor}"] = page.evaluate(PAINTED)
                handset.kill()
        finally:
            handset.kill()
    return out


def _slowed(page: Any, factor: int) -> None:
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": factor})


def table() -> str:
    """Rows for docs/reference/speed.md."""
    with tempfile.TemporaryDirectory() as name:
        found = measured(Path(name))
    each = found["bytes"] / DAY
    half, most = found["ack_1"]
    slow_half, slow_most = found[f"ack_{SLOWER}"]
    read, fixes = found["read_1"]
    return "\n".join(
        [
            f"| keeping the log, in Chromium | as it is | slowed down {SLOWER} times | |",
            "|---|---|---|---|",
            f"| a lever acknowledged | half within {half:.1f} ms, 99 % within {most:.1f} ms"
            f" | {slow_half:.1f} ms, {slow_most:.1f} ms | on the disk, one after another |",
            f"| a day read back | {read:.0f} ms | {found[f'read_{SLOWER}'][0]:.0f} ms"
            f" | {fixes} fixes, from chunks into columns |",
            f"| cold start with the service gone | {found['start_1']:.0f} ms"
            f" | {found[f'start_{SLOWER}']:.0f} ms | to the first paint, a day on the phone |",
            f"| room a day takes | {found['bytes'] / 1e6:.1f} MB | | {each:.0f} bytes a fix |",
        ]
    )


if __name__ == "__main__":
    print(table())
