"""Forgotten taps: ``python tests/soak/taps.py --seeds 25000-25039 --out PAGE``.

Works like ``accuracy.py``, whose page its section is put into. Both commands leave each other's
part of the page as it is.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Container
from functools import partial
from pathlib import Path

# before anything else of this folder: one thread, and where the tests are
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from soak import accuracy, cache, forgotten
from soak.accuracy import Job
from soak.keep import kept
from soak.recall import PRESETS, section

#: Presets on which the whole day is guessed as well; it takes longer than all else of a preset.
BANDS = ("typical",)
#: Packages whose code a row depends on.
DEPENDS = ("unsown.core", "unsown.sim", "unsown.tune", "soak.forgotten")


def parser() -> argparse.ArgumentParser:
    p = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    p.add_argument("--seeds", type=accuracy.seeds, default="25000-25039", metavar="A-B")
    p.add_argument("--days", type=int, help="only so many of the seeds")
    p.add_argument(
        "--bands", type=int, help="guess whole days on so many of the seeds, else on all"
    )
    p.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    p.add_argument("--out", type=Path, help="the page to put the section into; else it is printed")
    p.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "unsown-soak-taps")
    p.add_argument("--report-only", action="store_true", help="measure nothing")
    p.add_argument("--retry", action="store_true", help="measure days that failed again")
    p.add_argument("--engine", help="report on rows of this state of the code")
    return p


def work(job: Job, folder: Path, engine: str, guessed: Container[int]) -> list[str]:
    """Measure one drive, one of those ``guessed`` without its taps too; returns what failed."""
    seed, _, names = job
    failed = []
    for row in forgotten.rows(seed, names, BANDS if seed in guessed else ()):
        cache.add(folder, {"engine": engine, **row})
        if "failed" in row:
            failed.append(f"seed {seed} {row['preset']}: {row['failed']}")
    return failed


def left(asked: argparse.Namespace, rows: list[forgotten.Row]) -> list[Job]:
    """The drives that still want measuring, with the presets that want it."""
    done = {(r["seed"], r["preset"]) for r in rows}
    jobs = ((s, tuple(p for p in PRESETS if (s, p) not in done)) for s in asked.seeds)
    return [(seed, forgotten.KIND, names) for seed, names in jobs if names]


def main(words: list[str] | None = None) -> int:
    asked = parser().parse_args(words)
    asked.seeds = asked.seeds[: asked.days]
    now = cache.engine(DEPENDS)
    if not asked.report_only:
        before = [r for r in cache.read(asked.cache)[0] if r["engine"] == now]
        some = [r for r in before if not (asked.retry and "failed" in r)]
        whole = partial(work, guessed=asked.seeds[: asked.bands])
        accuracy.run(left(asked, some), asked, now, whole)
    state = asked.engine or now
    found = cache.read(asked.cache)[0]
    rows = [r for r in found if r["engine"] == state and r["seed"] in set(asked.seeds)]
    if not rows:
        states = dict(cache.by_engine(found))
        raise SystemExit(f"no rows of state {state} in {asked.cache}; there are {states}")
    missing = sum(len(names) for *_, names in left(asked, rows))
    text = section(rows, command(asked), missing)
    if asked.out:
        page = asked.out.read_text(encoding="utf-8") if asked.out.exists() else ""
        asked.out.write_text(kept(page, text), encoding="utf-8")
    else:
        print(text)
    return 0


def command(asked: argparse.Namespace) -> str:
    """The command that makes this section again, without this machine's own folders."""
    seeds = f"{asked.seeds[0]}-{asked.seeds[-1]}"
    some = "" if asked.bands is None else f" --bands {asked.bands}"
    return f"python tests/soak/taps.py --seeds {seeds}{some} --out docs/reference/accuracy.md"


if __name__ == "__main__":
    sys.exit(main())
