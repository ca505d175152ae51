"""The accuracy report: ``python tests/soak/accuracy.py --seeds 22000-22099 --out PAGE``.

Days run in workers, one drive each with all its presets; every row is written to the cache at
once, so a run broken off goes on where it was, and ``--report-only`` makes the page anew.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

# Small matrices on shared cores are up to 100 times slower with several threads.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from soak import cache, measure  # noqa: E402
from soak.keep import all_kept  # noqa: E402
from soak.page import page  # noqa: E402
from soak.wanted import WANTED  # noqa: E402

ROOT = Path(__file__).resolve().parents[2]
#: One drive to measure: seed, kind, presets.
Job = tuple[int, str, tuple[str, ...]]


def parser() -> argparse.ArgumentParser:
    p = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    p.add_argument("--seeds", type=seeds, default=seeds("22000-22099"), metavar="A-B")
    p.add_argument("--presets", type=presets, default=tuple(WANTED), metavar="P,P")
    p.add_argument("--missed", type=int, default=25, help="seeds with a missed run as well")
    p.add_argument("--pegs", action="store_true", help="missed runs with pegs over two days too")
    p.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    p.add_argument("--out", type=Path, help="the page to write; else it is printed")
    p.add_argument("--cache", type=Path, default=Path(tempfile.gettempdir()) / "unsown-soak")
    p.add_argument("--report-only", action="store_true", help="measure nothing")
    p.add_argument("--retry", action="store_true", help="measure days that failed again")
    p.add_argument("--engine", help="report on rows of this state of the code")
    return p


def seeds(text: str) -> list[int]:
    """``22000-22099,30000`` as numbers."""
    out: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        out += range(int(first), int(last or first) + 1)
    return out


def presets(text: str) -> tuple[str, ...]:
    names = tuple(text.split(","))
    if strange := set(names) - set(WANTED):
        raise argparse.ArgumentTypeError(f"expected some of {', '.join(WANTED)}, got {strange}")
    return names


def jobs(asked: argparse.Namespace, done: set[tuple[int, str, str]]) -> list[Job]:
    """The drives that still want measuring, with the presets that want it."""
    kinds = [("day", asked.seeds), ("missed run", asked.seeds[: asked.missed])]
    if asked.pegs:
        kinds.append(("missed run, pegs", asked.seeds[: asked.missed]))
    out = []
    for kind, some in kinds:
        for seed in some:
            left = tuple(p for p in asked.presets if (seed, kind, p) not in done)
            if left:
                out.append((seed, kind, left))
    return out


def work(job: Job, folder: Path, engine: str) -> list[str]:
    """Measure one drive; returns what failed."""
    seed, kind, names = job
    failed = []
    for row in measure.rows(seed, names, kind):
        cache.add(folder, {"engine": engine, **row})
        if "failed" in row:
            failed.append(f"seed {seed} {row['preset']} {kind}: {row['failed']}")
    return failed


def run(
    todo: list[Job], asked: argparse.Namespace, engine: str, work: Callable[..., list[str]] = work
) -> None:
    """Measure all drives, ``work(job, cache, engine)`` each."""
    started = time.monotonic()
    # Fresh processes: each imports the code once, at its start.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(asked.workers, context) as pool:
        waiting = [pool.submit(work, job, asked.cache, engine) for job in todo]
        for n, one in enumerate(as_completed(waiting), 1):
            for failure in one.result():
                print(f"FAILED {failure}", file=sys.stderr)
            gone = time.monotonic() - started
            left = gone / n * (len(todo) - n)
            say = f"{n} of {len(todo)} drives, {gone / 60:.0f} min gone, {left / 60:.0f} min to go"
            print(say, file=sys.stderr, flush=True)


def chosen(rows: list[measure.Row], asked: argparse.Namespace, now: str) -> list[measure.Row]:
    """The asked rows of one state of the code; a mixture is refused."""
    kinds = {"day", "missed run", *(["missed run, pegs"] if asked.pegs else [])}
    rows = [
        r
        for r in rows
        if r["preset"] in asked.presets and r["seed"] in set(asked.seeds) and r["kind"] in kinds
    ]
    states = cache.by_engine(rows)
    engine = asked.engine or (now if now in states or len(states) != 1 else next(iter(states)))
    if engine not in states:
        raise SystemExit(
            f"no rows of state {engine} in {asked.cache}; there are {dict(states)}."
            " Measure, or choose one with --engine."
        )
    if engine != now:
        print(f"note: these rows are of state {engine}, the code is now {now}", file=sys.stderr)
    return [r for r in rows if r["engine"] == engine]


def main(words: list[str] | None = None) -> int:
    asked = parser().parse_args(words)
    now = cache.engine()
    if not asked.report_only:
        before = [r for r in cache.read(asked.cache)[0] if r["engine"] == now]
        run(
            jobs(asked, _keys(r for r in before if not (asked.retry and "failed" in r))), asked, now
        )
        if cache.engine() != now:
            print("note: the code was changed while the days were measured", file=sys.stderr)
    found, torn = cache.read(asked.cache)
    if torn:
        print(f"note: {torn} cut-off lines in {asked.cache} left out", file=sys.stderr)
    rows = chosen(found, asked, now)
    missing = sum(len(names) for *_, names in jobs(asked, _keys(rows)))
    text = page(rows, command(asked), ROOT / "docs" / "explain", missing)
    if asked.out:
        before = asked.out.read_text(encoding="utf-8") if asked.out.exists() else ""
        asked.out.write_text(all_kept(text, before), encoding="utf-8")
    else:
        print(text, end="")
    return 0


def _keys(rows: Iterable[measure.Row]) -> set[tuple[int, str, str]]:
    return {(r["seed"], r["kind"], r["preset"]) for r in rows}


def command(asked: argparse.Namespace) -> str:
    """The command that makes this page again, without this machine's own folders."""
    said = f"python tests/soak/accuracy.py --seeds {asked.seeds[0]}-{asked.seeds[-1]}"
    said += f" --presets {','.join(asked.presets)} --missed {asked.missed}"
    return said + (" --pegs" if asked.pegs else "") + " --out docs/reference/accuracy.md"


if __name__ == "__main__":
    sys.exit(main())
