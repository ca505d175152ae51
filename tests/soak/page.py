"""The page docs/reference/accuracy.md, from rows."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from soak import tables
from soak.measure import Row
from soak.tables import Days
from soak.wanted import WANTED
from unsown.core.words import Settings
from unsown.sim.receiver import PRESETS

#: A report on fewer days a preset is marked as a trial.
ENOUGH = 100

STEERING = {
    "steering under 0.2 m": lambda r: r["story"]["steer_m"] < 0.2,
    "0.2 to 0.28 m": lambda r: 0.2 <= r["story"]["steer_m"] <= 0.28,
    "over 0.28 m": lambda r: r["story"]["steer_m"] > 0.28,
}
OVERLAP = {
    "overlap under 0.3 m": lambda r: r["story"]["overlap_m"] < 0.3,
    "0.3 m and over": lambda r: r["story"]["overlap_m"] >= 0.3,
}

SIMULATED = """\
Real days cannot be measured: nobody knows which ground was really left bare. So the project's own
simulator drives a rig over an invented paddock with known truth and gives the engine only what a
phone would have written down. Its kinematics and polygons are its own; it shares no code with the
engine beyond words, errors and the plane. Seeds 20000 to 20099 are kept for this page: nothing is
tuned on them.

- **Paddocks** of 28 to 80 ha, four shapes, none to two keep-outs; the boundary is surveyed.
- **Tools** of 6 to 18 m: trailed, mounted, with a cart between.
- **Drivers** who lay one to four headland laps and then runs up and back by the last furrow, with
  a wanted overlap of 0.1 to 0.8 m and a steering spread of 0.1 to 0.35 m that lasts 20 to 40 s;
  corners sown through, lifted or either.
- **Mishaps**: two to six late drops and early lifts of 4 to 15 m, one to five wanders of 0.5 to
  2.5 m, up to four halts of up to 45 minutes, creeping, backing, trips to the truck; a lost
  furrow on a quarter of the days.
- **Taps** are complete and exact on these days: forgotten ones are measured on days of their own.
  Blind stretches and driven boundaries are not part of this page.
- **Receivers**: one fix a second with the errors of the preset (below), drawn anew for each day.
  The same drive is logged by every preset."""

COLUMNS = """\
- **bare said / true**: `bare_ha` over the ground really bare, slivers included. 1.00 is right,
  2.00 is twice too much. First the median day, then the middle 80 % of days.
- **listed / true**: area of the listed patches over 1.5 m wide (`call` sure or likely) over the
  area of the true patches over 1.5 m wide; median day. True patches are opened by 0.6 m and
  dropped under 6 m² as the engine's are, and widths are measured the same way (mean width).
- **true patches found**: of the true patches of at least 50 m² and 2 m wide, the share of which
  at least half lies under said patches with a chance of 0.5 or more, in their place.
- **sure patches that are real**: of the patches with a chance of 0.9 or more, the share of which
  at least half is truly bare.
- **band holds the truth**: days on which the bare ground lies between `bare_low_ha` and
  `bare_high_ha`. A 90 % band should hold on 90 % of days: less is overconfident, 100 % would be
  too wide.
- **width of the band / true**: `bare_high_ha` less `bare_low_ha`, over the truth; median day.

✗ marks a figure that is not what was wanted. In brackets stands the 95 % interval of each figure:
of shares of days by Wilson's score, of shares of patches and of medians by drawing whole days
again 2000 times (never narrower than Wilson's)."""


def page(rows: Sequence[Row], command: str, linked: Path, missing: int = 0) -> str:
    """The whole page.

    Args:
        rows: all rows of one state of the code.
        command: what to give to make the page again.
        linked: folder of the explanations that the page links to where they exist.
        missing: how many of the asked days were not measured.
    """
    good = [r for r in rows if "failed" not in r]
    presets = [p for p in WANTED if any(r["preset"] == p for r in rows)]
    days: Days = {p: found for p in presets if (found := _of(good, "day", p))}
    lines = _head(rows, command, missing)
    lines += ["## What came", "", *tables.main(days), COLUMNS, ""]
    lines += ["## Where it falls short", "", *tables.shortfalls(days), *_why(linked)]
    lines += ["## Beside the plain way", "", PLAIN, "", *tables.plain(days)]
    lines += ["## What a chance is worth", "", CHANCES, "", *tables.chances(days)]
    lines += ["## What limits it", "", LIMITS, ""]
    lines += [*tables.split(days, STEERING), *tables.split(days, OVERLAP)]
    lines += ["Found (patches of at least 50 m² and 2 m), by why the ground is bare:", ""]
    lines += [*tables.reasons(days), MOVED, "", *tables.variants(days)]
    lines += _missed(good, presets)
    lines += ["## Time", "", TIME, "", *tables.times(days)]
    lines += ["## What was simulated", "", SIMULATED, "", *_receivers(presets)]
    lines += _failures(rows)
    return "\n".join(lines).rstrip() + "\n"


def _of(rows: Sequence[Row], kind: str, preset: str) -> list[Row]:
    return [r for r in rows if r["kind"] == kind and r["preset"] == preset]


def _head(rows: Sequence[Row], command: str, missing: int) -> list[str]:
    days = [r for r in rows if r["kind"] == "day"]
    seeds = sorted({r["seed"] for r in days})
    failed = sum("failed" in r for r in rows)
    least = min(Counter(r["preset"] for r in days).values(), default=0)
    lines = ["# How true the numbers are", ""]
    if least < ENOUGH:
        told = f"> **A trial of {least} days a preset.** Too few to judge by: {ENOUGH} are wanted."
        lines += [told, ""]
    told = (
        f"Measured on {len(seeds)} simulated days a preset, seeds {ranges(seeds)}, with default"
        f" settings ({Settings().draws} draws); engine and simulator of state"
        f" `{rows[0]['engine']}`. "
    )
    told += f"**Days not measured yet: {missing}.** " if missing else "Every day is in. "
    told += f"**Days that failed: {failed}**, see the end." if failed else "No day failed."
    told += " What the days are like is told [below](#what-was-simulated). Made by:"
    return [*lines, *filled(told), "```", command, "```", ""]


def filled(text: str) -> list[str]:
    """A paragraph in lines, links and code unbroken."""
    return [*textwrap.wrap(text, 98, break_long_words=False, break_on_hyphens=False), ""]


def ranges(seeds: Sequence[int]) -> str:
    """The seeds in words."""
    if not seeds:
        return "none"
    cuts = [0, *(np.flatnonzero(np.diff(seeds) > 1) + 1), len(seeds)]
    parts = [seeds[a:b] for a, b in zip(cuts[:-1], cuts[1:], strict=True)]
    return ", ".join(f"{p[0]} to {p[-1]}" if len(p) > 1 else str(p[0]) for p in parts)


def _why(linked: Path) -> list[str]:
    name = "docs/explain/settle.md"
    page = f"[{name}](../explain/settle.md)" if (linked / "settle.md").exists() else f"`{name}`"
    return filled(
        "*Could be chance*: the interval of the figure touches what is wanted. What was tried and"
        f" what limits these figures stands in {page}."
    )


PLAIN = """\
The plain way on the same days: the phone's line buffered by half the width between the taps,
united, taken off the paddock; no trailing tool, no delays, no settling. *Tow only* is the engine
with settling off: the tool is towed and the delays are counted, the drift stays in. Both list
every patch they find, with no chance; Unsown's listed patches are those called sure or likely (a
chance of 0.6 or more). First the median day, then the middle 80 % of days."""

CHANCES = """\
All said patches, by the chance said of them: *real* is the share of which at least half was truly
bare. The two should agree, line by line. *All phones* leaves the survey-grade receiver out."""

LIMITS = """\
The same figures on parts of the days. *Below* and *above* count the days whose truth lies below
and above the band."""

MOVED = """\
A constant error shifts the whole picture: a patch is then found, beside its place. *Picture
shifted* allows the said patches to be moved as one by a part of the day's constant error (0, 1/3,
2/3 or all of it on each axis, what finds most). *By greatest width* takes the widest place of a
true patch for its width instead of its mean. *Constant error* is its median size over days."""

TIME = """\
Processor time of one `find` with default draws on one core, simulating and judging not counted;
other work on the machine slows it."""


def _missed(good: Sequence[Row], presets: Sequence[str]) -> list[str]:
    lines: list[str] = []
    for kind, title in (
        ("missed run", "One width left out from end to end, nothing marked:"),
        (
            "missed run, pegs",
            "The same over two days, with pegs visited on both. Wanted at good and typical: a"
            " chance of at least 0.9:",
        ),
    ):
        days = {p: some for p in presets if (some := _of(good, kind, p))}
        if days:
            lines += [title, "", *tables.missed(days)]
    if not lines:
        return []
    told = (
        "*Listed*: at least half of the run's ground lies under said patches of any chance. Its"
        " chance is that of the patches on it, weighted by area. Where the drift between two runs"
        " nears half a width the picture may show the strip one run beside its place: *within a"
        " width* looks for it up to one working width to either side. Wanted: listed on every day"
        " at every preset."
    )
    return ["## A whole missed run", "", *filled(told), *lines]


def _receivers(presets: Sequence[str]) -> list[str]:
    body = []
    for name in presets:
        p = PRESETS[name]
        bursts = (
            f"bursts of 8 to 75 m, up to {100 * p.outliers:.1g} % of fixes" if p.outliers else ""
        )
        sizes = (p.white_m, p.drift_m, p.drift_s, p.bias_m)
        body.append([name, *(f"{v:g}" for v in sizes), bursts or "none"])
    head = "receiver|quick noise, m|drift, m|drift lasts, s|constant error, m each axis|outliers"
    return tables.table(head.split("|"), body)


def _failures(rows: Sequence[Row]) -> list[str]:
    failed = [r for r in rows if "failed" in r]
    if not failed:
        return []
    body = [[str(r["seed"]), r["preset"], r["kind"], f"`{r['failed']}`"] for r in failed]
    told = "The engine or the simulator raised on these days; they are in no figure above."
    return [
        "## Days that failed",
        "",
        told,
        "",
        *tables.table(["seed", "preset", "kind", "error"], body),
    ]
