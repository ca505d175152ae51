"""Leaving the paddock: ``python tests/soak/moments.py --seeds 30000-30029 --out PAGE``.

Works like ``accuracy.py``, whose page its section is put into; every command leaves the others'
parts of the page as they are.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

# before anything else of this folder: one thread, and where the tests are
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from soak import accuracy, cache, dusk
from soak.accuracy import Job
from soak.keep import kept
from soak.leaving import PRESETS, section

#: Packages whose code a row depends on.
DEPENDS = (
    *("unsown.core", "unsown.sim"),
    *("soak.dusk", "soak.labels", "soak.exact", "soak.hopper"),
)


def parser() -> argparse.ArgumentParser:
    p = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    p.add_argument("--seeds", type=accuracy.seeds, default="30000-30029", metavar="A-B")
    p.add_argument("--presets", type=accuracy.presets, default=PRESETS, metavar="P,P")
    p.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    p.add_argument("--out", type=Path, help="the page to put the section into; else it is printed")
    p.add_argument(
        "--cache", type=Path, default=Path(tempfile.gettempdir()) / "unsown-soak-moments"
    )
    p.add_argument("--report-only", action="store_true", help="measure nothing")
    p.add_argument("--retry", action="store_true", help="measure days that failed again")
    p.add_argument("--engine", help="report on rows of this state of the code")
    return p


def work(job: Job, folder: Path, engine: str) -> list[str]:
    """Measure one drive; returns what failed."""
    seed, _, names = job
    failed = []
    for row in dusk.rows(seed, names):
        cache.add(folder, {"engine": engine, **row})
        if "failed" in row:
            failed.append(f"seed {seed} {row['preset']}: {row['failed']}")
    return failed


def left(asked: argparse.Namespace, rows: list[dusk.Row]) -> list[Job]:
    """The drives that still want measuring, with the presets that want it."""
    done = {(r["seed"], r["preset"]) for r in rows}
    jobs = ((s, tuple(p for p in asked.presets if (s, p) not in done)) for s in asked.seeds)
    return [(seed, dusk.KIND, names) for seed, names in jobs if names]


def main(words: list[str] | None = None) -> int:
    asked = parser().parse_args(words)
    now = cache.engine(DEPENDS)
    if not asked.report_only:
        before = [r for r in cache.read(asked.cache)[0] if r["engine"] == now]
        some = [r for r in before if not (asked.retry and "failed" in r)]
        accuracy.run(left(asked, some), asked, now, work)
    state = asked.engine or now
    found = cache.read(asked.cache)[0]
    rows = [
        r
        for r in found
        if r["engine"] == state and r["seed"] in set(asked.seeds) and r["preset"] in asked.presets
    ]
    if not rows:
        states = dict(cache.by_engine(found))
        raise SystemExit(f"no rows of state {state} in {asked.cache}; there are {states}")
    missing = sum(len(names) for *_, names in left(asked, rows))
    text = section(rows, command(asked), missing)
    if asked.out:
        page = asked.out.read_text(encoding="utf-8") if asked.out.exists() else ""
        asked.out.write_text(kept(page, text, "moments"), encoding="utf-8")
    else:
        print(text)
    return 0


def command(asked: argparse.Namespace) -> str:
    """The command that makes this section again, without this machine's own folders."""
    seeds = f"{asked.seeds[0]}-{asked.seeds[-1]}"
    some = "" if tuple(asked.presets) == PRESETS else f" --presets {','.join(asked.presets)}"
    return f"python tests/soak/moments.py --seeds {seeds}{some} --out docs/reference/accuracy.md"


if __name__ == "__main__":
    sys.exit(main())
