"""What the page in the cab costs while it drives: in Chromium, slowed down where it says so.

A simulated day of ten hours on 120 ha stands in the phone's log; its last minutes are driven
again from there on. Times are by the page's clock or, where they say so, what its own thread had
of a processor; work is what all processes of the browser had of processors.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from aboard import DRIVING, WRITE, Phone, opened, peaks_mb, processors_s, rows, workers_s
from playwright.sync_api import expect, sync_playwright

import cabs
from handset import Handset, chromium, until
from traced import Traced, traced
from unsown.core.plane import Plane
from unsown.sim import SimDay, day

SLOWER = 6
LONG_H = 14
#: Frames are counted for so long from just before a turn, s.
TURN_S = 40
#: Positions come so often, as those of a quick receiver: a track of one a second, so many times as
#: fast; and for so long, s.
HZ, COSTS_S = 5, 30
#: What is driven then is over so long after its beginning, s.
OVER_S = 900
#: A minute's work is measured on a part of it, s.
PART_S = 15
#: From the last turn but some on it is straight after this long.
INTO_RUN_MS = 135_000
PAD = """() => document.querySelector('#pad')
  .dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}))"""
LIT = """() => document.querySelector('.sight')
  .dispatchEvent(new PointerEvent('pointerdown', {bubbles: true}))"""
#: A loop that anybody can run: a hundred million products of pairs out of eight megabytes, ms.
REFERENCE = """() => {
  const values = new Float64Array(1 << 20).map((_, i) => Math.sin(i));
  const began = performance.now();
  let sum = 0;
  for (let round = 0; round < 100; round++)
    for (let i = 0; i < values.length; i++) sum += values[i] * values[i ^ round];
  return sum === 1 ? 0 : performance.now() - began;
}"""
#: The times between frames while it turns, for some seconds, ms.
FRAMES = """seconds => new Promise(done => {
  const [between, began] = [[], performance.now()];
  let last = began;
  const frame = now => {
    if (Math.abs(window.unsown.driving.get().now.turn_rad_s) > 0.03) between.push(now - last);
    last = now;
    if (now - began < 1000 * seconds) requestAnimationFrame(frame);
    else done(between);
  };
  requestAnimationFrame(frame);
})"""
#: From the touch that begins work to the picture, and from there on where the log is asked for, ms.
REBUILT = """() => new Promise(done => {
  const touched = performance.now();
  let began = NaN;
  const begun = window.unsown.driving.watch(['making'], ({making}) => {
    if (making) began = performance.now();
  });
  document.querySelector('[data-page=work]').click();
  const end = window.unsown.driving.watch(['live'], ({live}) => {
    if (!live) return;
    const now = performance.now();
    setTimeout(() => { begun(); end(); done([now - began, now - touched]); }, 0);
  });
})"""
TASKS = """() => {
  window.tasks = [];
  new PerformanceObserver(list => list.getEntries().forEach(e => window.tasks.push(e.duration)))
    .observe({type: 'longtask'});
}"""
COUNTED = """() => new Promise(done => {
  const [began, out] = [performance.now(), {}];
  new MutationObserver(() => {
    if (document.querySelector('#glance')?.textContent && !out.first)
      out.first = performance.now() - began;
    if (!document.querySelector('#total') || out.all) return;
    out.all = performance.now() - began;
    done(out);
  }).observe(document.body, {subtree: true, childList: true});
  document.querySelector('[data-page=gate]').click();
})"""


def parted(every: list[dict[str, Any]], made: SimDay) -> int:
    """When the last turn but some begins, less some seconds: from there on it is driven again."""
    ups = [m.t_ms for m in made.log.marks if m.kind == "lever" and m.says["lever"] == "up"]
    return int(ups[-4]) - 15_000


def measured(folder: Path, static: Path, made: SimDay) -> dict[str, Any]:
    every = rows(made)
    cut = parted(every, made)
    late = [{k: v for k, v in r.items() if k != "kind"} for r in every if r["t_ms"] >= cut]
    late = [r for r in late if "lat_deg" in r]
    out: dict[str, Any] = {"fixes": sum(r["kind"] == "fix" for r in every)}
    with sync_playwright() as driver, cabs.served(folder / "farm", static) as cab:
        handset = Handset(driver, chromium(), folder / "profile")
        try:
            phone = opened(handset, cab, made, folder)
            for factor in (1, SLOWER):
                phone.slowed(factor)
                out[f"loop_{factor}"] = phone.page.evaluate(REFERENCE)
            phone.slowed(1)
            out["empty_mb"] = phone.heap_mb()
            phone.page.evaluate(WRITE, [r for r in every if r["t_ms"] < cut])
            phone.drive(late, 1)
            phone.slowed(SLOWER)
            out["rebuild_ms"], out["rebuild"] = traced(phone.page, rebuilt(phone))
            until(phone.page, f"{DRIVING}.now && {DRIVING}.now.known", 60)
            out["frames"] = phone.page.evaluate(FRAMES, TURN_S)
            phone.slowed(1)
            phone.drive(late, HZ)
            rebuilt(phone)()
            until(phone.page, "window.costs.length > 50", 60)
            for factor in (1, SLOWER):
                phone.slowed(factor)
                phone.page.evaluate("() => { window.costs = [] }")
                _, out[f"costs_{factor}"] = traced(
                    phone.page, lambda: phone.page.wait_for_timeout(1000 * COSTS_S)
                )
            out["clock"] = phone.page.evaluate("() => window.costs")
            phone.slowed(1)
            out["held_mb"] = phone.heap_mb()
            out["minute"] = minutes(phone, late)
            # it stood for a minute: what was counted meanwhile is shown
            out["ready_ms"] = phone.page.evaluate(COUNTED)["all"]
            out.update(gate(phone, every, cut))
        finally:
            handset.kill()
    return out


def rebuilt(phone: Phone) -> Callable[[], list[float]]:
    """Begins work: the picture is made again from the log."""
    return lambda: list(phone.page.evaluate(REBUILT))


def minutes(phone: Phone, late: list[dict[str, Any]]) -> dict[str, float]:
    """Seconds of processors that a minute of logging takes, by the page that is shown."""
    out = {}
    first = next(r for r in late if r["t_ms"] >= late[0]["t_ms"] + INTO_RUN_MS)
    # without a phone's noise: the page goes dark only where it drives straight for a while
    shown = {
        "work": "document.querySelector('.sight')",
        "dim": "document.querySelector('.dimmed')",
        "standing": "window.unsown.cab.get().page === 'standing'",
    }
    for nth, name in enumerate(shown):
        # each later than the one before: what is older than the newest position is left out
        after_s = OVER_S + 600 * nth
        phone.drive(straight(first, 10 if name == "standing" else 260, after_s), 1)
        rebuilt(phone)()
        until(phone.page, f"{DRIVING}.now && {DRIVING}.now.known", 60)
        # down as it was left; touched, so that nobody has to be asked whether it still is
        while name != "standing":
            phone.page.evaluate(PAD)
            phone.page.wait_for_timeout(1000)
            if phone.page.evaluate("() => window.unsown.cab.get().lever") == "down":
                break
        until(phone.page, shown[name], 120)
        # what begins with the page is over then, as the count that a standing page begins
        phone.page.wait_for_timeout(5000)
        phone.idle()
        used = processors_s(phone.handset)
        for _ in range(2):
            if name == "work":
                phone.page.evaluate(LIT)
            phone.page.wait_for_timeout(500 * PART_S)
        out[name] = 60 / PART_S * (processors_s(phone.handset) - used)
    return out


def straight(first: dict[str, Any], seconds: int, after_s: int) -> list[dict[str, Any]]:
    """Straight on from a position, one a second, begun so long after it; then it stands."""
    plane = Plane(first["lat_deg"], first["lon_deg"])
    ahead = np.radians(90 - first["course_deg"])
    way = 2.0 * np.minimum(np.arange(260.0), seconds)
    lon, lat = plane.to_degrees(way * np.cos(ahead), way * np.sin(ahead))
    out = []
    for i in range(len(way)):
        at = {"t_ms": first["t_ms"] + 1000 * (after_s + i), "acc_m": 3.0}
        moves = {"speed_m_s": 2.0, "course_deg": first["course_deg"]}
        where = {"lat_deg": float(lat[i]), "lon_deg": float(lon[i])}
        out.append({**at, **where, **(moves if i <= seconds else {"speed_m_s": 0.0})})
    return out


def gate(phone: Phone, every: list[dict[str, Any]], cut: int) -> dict[str, Any]:
    """The gate check with the page slowed down, and what the browser holds meanwhile."""
    phone.page.evaluate("() => { localStorage.clear() }")
    phone.page.evaluate(WRITE, [r for r in every if r["t_ms"] >= cut and r["kind"] == "lever"])
    phone.first("gate")
    phone.slowed(SLOWER)
    phone.page.evaluate(TASKS)
    before = peaks_mb(phone.handset, anew=True)
    took = phone.page.evaluate(COUNTED)
    after = peaks_mb(phone.handset)
    phone.page.wait_for_timeout(500)
    tasks = phone.page.evaluate("() => window.tasks")
    phone.slowed(1)
    first = workers_s(phone.handset)
    phone.page.get_by_role("button", name="Count again").click()
    expect(phone.page.get_by_role("button", name="Stop counting")).to_have_count(0, timeout=60_000)
    later = workers_s(phone.handset)
    return {
        "worker_s": max(first.values()),
        "later_s": max(later[tid] - first[tid] for tid in first),
        "first_ms": took.get("first"),
        "count_ms": took["all"],
        "longest_ms": max(tasks, default=0.0),
        "worker_mb": max(after[pid] - before[pid] for pid in after if pid in before),
    }


def flat(folder: Path, static: Path, made: SimDay) -> list[tuple[float, float]]:
    """Hours of logging, and what the page holds after them, MB; painted all the while."""
    every = [r for r in rows(made) if r["kind"] == "fix"]
    track = [{k: v for k, v in r.items() if k != "kind"} for r in every]
    end = int(track[-1]["t_ms"])
    more = [{**r, "t_ms": end + 60_000 + r["t_ms"] - track[0]["t_ms"]} for r in track]
    until_ms = track[0]["t_ms"] + LONG_H * 3_600_000
    track = [r for r in track + more if r["t_ms"] <= until_ms]
    out: list[tuple[float, float]] = []
    with sync_playwright() as driver, cabs.served(folder / "farm", static) as cab:
        handset = Handset(driver, chromium(), folder / "profile")
        try:
            phone = opened(handset, cab, made, folder)
            phone.drive(track, 1200)
            rebuilt(phone)()
            until(phone.page, "document.querySelector('#pad')")
            phone.page.evaluate(PAD)
            for hours in range(2, LONG_H + 1, 2):
                at = track[0]["t_ms"] + hours * 3_600_000 - 60_000
                until(phone.page, f"{DRIVING}.now && {DRIVING}.now.t_ms >= {at}", 240)
                out.append((hours, phone.heap_mb()))
        finally:
            handset.kill()
    return out


def table() -> str:
    """Rows for docs/reference/speed.md."""
    made = day(12, preset="typical", rig="eighteen", area_ha=120.0)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        static = cabs.trial(folder / "static")
        (folder / "day").mkdir()
        found = measured(folder / "day", static, made)
        (folder / "long").mkdir()
        hours = flat(folder / "long", static, made)
    return lines(found, hours)


def _share(values: list[float], part: float) -> float:
    ordered = sorted(values)
    return ordered[min(int(part * len(ordered)), len(ordered) - 1)] if ordered else float("nan")


def lines(found: dict[str, Any], hours: list[tuple[float, float]]) -> str:
    loop = found[f"loop_{SLOWER}"]
    frames, minute = found["frames"], found["minute"]
    costs: Traced = found[f"costs_{SLOWER}"]
    quick = found["costs_1"].positions
    rebuild: Traced = found["rebuild"]
    clock, one = found["clock"], costs.positions
    made_ms, touched_ms = found["rebuild_ms"]
    each = costs.whole / max(len(one), 1)

    def row(what: str, measured_: str, note: str, ms: float | None = None) -> str:
        return f"| {what} | {measured_} | {'' if ms is None else f'{ms / loop:.3f}'} | {note} |"

    first = "not given" if found["first_ms"] is None else f"{found['first_ms']:.0f} ms"
    # a browser tells of a task from 50 ms on
    longest = f"{found['longest_ms']:.0f} ms" if found["longest_ms"] else "none of 50 ms or more"
    kept = ", ".join(f"{h} h {mb:.1f}" for h, mb in hours)
    return "\n".join(
        [
            f"| in the cab, slowed down {SLOWER} times | measured | reference loops | |",
            "|---|---|---|---|",
            row("reference: 100 million products", f"{loop:.0f} ms", "out of 8 MB", loop),
            row("a position, before it is drawn", f"half {_share(one, 0.5):.2f} ms, 99 % "
                f"{_share(one, 0.99):.2f} ms of the page's thread", f"{len(one)} positions, {HZ} a "
                f"second; not slowed down half {_share(quick, 0.5):.2f} ms, 99 % "
                f"{_share(quick, 0.99):.2f} ms; by the clock, slowed down, half "
                f"{_share(clock, 0.5):.2f} ms, 99 % {_share(clock, 0.99):.2f} ms",
                _share(one, 0.99)),
            row("all that a position brings", f"{each:.1f} ms of the page's thread",
                "taking it in, drawing, texts, writing, mean of the same", each),
            row("a frame while turning", f"half {_share(frames, 0.5):.0f} ms, 99 % "
                f"{_share(frames, 0.99):.0f} ms", f"{len(frames)} frames"),
            row("the picture made again from the log", f"{made_ms:.0f} ms",
                f"{found['fixes']} positions; {touched_ms:.0f} ms from the touch, of which the "
                f"page's thread had {rebuild.whole:.0f} ms, its longest task "
                f"{rebuild.longest:.0f} ms", made_ms),
            row("gate check: longest task of the page", longest,
                f"first answer after {first}, all after {found['count_ms']:.0f} ms "
                "(the worker is not slowed down)", found["longest_ms"] or None),
            row("gate check: the busier worker's thread", f"{found['worker_s']:.2f} s", "of a "
                f"processor, not slowed down, with reading the log and painting it; "
                f"{found['later_s']:.2f} s when it counts again"),
            row("gate check, asked for after a minute of standing", f"{found['ready_ms']:.0f} ms",
                "not slowed down; counted while it stood"),
            row("held by the page in the evening", f"{found['held_mb']:.1f} MB",
                f"objects and buffers; {found['empty_mb']:.1f} MB with an empty log"),
            row("gate check: the process grows by", f"{found['worker_mb']:.0f} MB",
                "its peak; given back some seconds after the count"),
            row(f"held while {LONG_H} h are logged", f"{hours[-1][1]:.1f} MB", f"after {kept} MB"),
            row("a minute of logging, working page", f"{minute['work']:.1f} s of processors",
                "all processes of the browser, not slowed down, drawn by software"),
            row("a minute of logging, dim page", f"{minute['dim']:.1f} s of processors", ""),
            row("a minute of logging, standing page",
                f"{minute['standing']:.1f} s of processors", ""),
        ]
    )  # fmt: skip


if __name__ == "__main__":
    print(table())
