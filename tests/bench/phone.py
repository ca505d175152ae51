"""How fast the phone's engine is: under Node, in a process of its own, beside a reference loop.

A phone's processor is slower than this machine's, and the browser's slowing down does not reach
workers: what is given for a slow phone is six times what was measured here.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from unsown.core.words import Log
from unsown.sim import day
from web import days

TIMES = 3  # runs, each in a process of its own; the quickest is taken: the rest is other work
SLOWER = 6  # a slow phone


def _ran(command: list[str]) -> dict[str, Any]:
    ran = subprocess.run(command, check=True, capture_output=True, text=True)
    row: dict[str, Any] = json.loads(ran.stdout)
    return row


def _parts(row: dict[str, Any]) -> str:
    waits = row["both_s"] - row["thread_s"]
    return (
        f"the first's thread had {row['thread_s']:.2f} s, the second's {row['second_s']:.2f} s, "
        f"and the first waited for {waits:.2f} s"
    )


def _forgotten(log: Log) -> Log:
    """The day with one tap in its middle that nobody made: somewhere the tool stayed down."""
    ups = [i for i, m in enumerate(log.marks) if m.says.get("lever") == "up"]
    return replace(log, marks=[m for i, m in enumerate(log.marks) if i != ups[len(ups) // 2]])


def table() -> str:
    """A day of ten hours on 120 ha: the gate check, the first answer, a step of the live grid."""
    made = day(12, preset="typical", rig="eighteen", area_ha=120.0)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        runner = days.bundle(folder, "speed")
        given, asked = folder / "day.json", folder / "asked.json"
        given.write_text(json.dumps(days.written(made.log, made.paddock, made.rig)))
        asked.write_text(json.dumps(days.written(_forgotten(made.log), made.paddock, made.rig)))
        command = [days.node(), str(runner)]
        rows, firsts, laters, opens = [], [], [], []
        for _ in range(TIMES):
            rows.append(_ran([*command, str(given)]))
            firsts.append(_ran([*command, str(given), "two"]))
            laters.append(_ran([*command, str(given), "again"]))
            opens.append(_ran([*command, str(asked), "two"]))
    best = min(rows, key=lambda row: float(row["find_s"]))
    first, later, doubt = (
        min(pairs, key=lambda row: float(row["both_s"])) for pairs in (firsts, laters, opens)
    )
    assert first["bare"] == later["bare"] == best["bare"], "two workers say something else than one"
    size = f"{best['fixes']} fixes in {best['hours']:.1f} h on {best['net_ha']:.0f} ha"
    size += (
        f"; {best['all_s']:.1f} s with compiling and collecting; {best['peak_mb']:.0f} MB in all"
    )
    loop = best["reference_s"]

    def line(what: str, seconds: float, note: str) -> str:
        slow, loops = f"{SLOWER * seconds:.2f} s", f"{seconds / loop:.2f}"
        return f"| {what} | {seconds:.3f} s | {slow} | {loops} | {note} |"

    parts = ", ".join(f"{k} {v:.2f} s" for k, v in best["stages_s"].items() if v >= 0.01)
    paint = best["paint"]
    half, most = paint["half_us"], paint["most_us"]
    step, steps = f"{half:.1f} µs, 99 % {most:.0f} µs", f"{paint['steps']} steps, by the clock"
    return "\n".join(
        [
            f"| the engine | its thread had | {SLOWER} times that | reference loops | |",
            "|---|---|---|---|---|",
            line("reference: 100 million products", loop, "out of 8 MB"),
            line("ground, patches and chances, by one worker", best["find_s"], f"{size}; {parts}"),
            line(
                "gate check, all of it, by two workers",
                first["both_s"],
                f"with worth and way, on two idle cores: {_parts(first)}; by the clock of this "
                "machine, which compiles and does other work on the same two cores, at best "
                f"{min(p['clock_s'] for p in firsts):.2f} s; {first['peak_mb']:.0f} MB in all",
            ),
            line(
                "the same by workers that counted a moment before, as after an answer",
                later["both_s"],
                _parts(later),
            ),
            line(
                "the same where a tap was forgotten and nobody has answered yet",
                doubt["both_s"],
                f"{_parts(doubt)}: what was settled of the tapped runs is not taken",
            ),
            line("first answer, from the live grid", best["glance_s"], f"{best['tiles']} tiles"),
            f"| one step of the live grid | {step} | {SLOWER * half:.1f} µs | | {steps} |",
        ]
    )


if __name__ == "__main__":
    print(table())
