"""The section 'Forgotten taps' of the accuracy page, from rows of ``forgotten``."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from soak import sums
from soak.figures import Figure, median, percent, pooled, share
from soak.measure import Row
from soak.page import filled, ranges
from soak.tables import table

PRESETS = ("good", "typical")
#: A section on fewer days a preset is marked as a trial.
ENOUGH = 40
INF = float("inf")
#: A figure in the unit of what is wanted of it, and how it is written; NaN: not measured.
Said = tuple[float, str]
NOTHING: Said = (float("nan"), "not measured")


@dataclass(frozen=True)
class Line:
    """One figure of the table with the least and the most that is wanted of it."""

    what: str
    of: Callable[[Sequence[Row]], Said]
    wanted: str = ""
    least: float = -INF
    most: float = INF

    def cell(self, days: Sequence[Row]) -> str:
        """The figure as it stands in the table; marked where it is not what is wanted."""
        value, said = self.of(days)
        short = not np.isnan(value) and not self.least <= value <= self.most
        return f"**{said} ✗**" if short else said


def near(days: Sequence[Row], metres: float) -> Figure:
    """Share of the missing changes that an end of a question lies so near to."""
    found = [[c["off_m"] <= metres for c in d["missing"]] for d in days]
    return pooled([(sum(f), len(f)) for f in found])


def asked(days: Sequence[Row], key: str) -> tuple[float, float]:
    """False questions in two hours: over all days, and on the worst day."""
    rates = [2 * d[key] / d["hours"] for d in days]
    return 2 * sum(d[key] for d in days) / sum(d["hours"] for d in days), max(rates)


def ground(days: Sequence[Row], key: str, untapped: bool = False) -> list[float]:
    """Ground in percent of each day's paddock; ``untapped``: with every tap removed."""
    return [100 * (d["none"] if untapped else d)[key] / d["net_ha"] for d in days]


def right(days: Sequence[Row], of: str, yes: str) -> Figure:
    """Share of moving time in the right state without any tap."""
    return pooled([(d["none"][yes], d["none"][of]) for d in days])


def turned(days: Sequence[Row]) -> list[Row]:
    """What became of the swapped minutes, of days on which a tap fell into them.

    A lap may take longer than they last. Then nobody asks, and the runs are right as they are.
    """
    every = [d["swapped"] for d in days]
    return [e for e in every if e["asked"] or not e["repaired"]]


def repaired(days: Sequence[Row]) -> Figure:
    """Days on which one question about swapping was asked, and its answer put all right."""
    ok = [e["asked"] == 1 and e["repaired"] for e in turned(days)]
    return share(sum(ok), len(ok))


def holds(days: Sequence[Row]) -> tuple[Figure, int, int]:
    """Guessed days whose truth lies from ``bare_low_ha`` to ``bare_high_ha + doubt_ha``.

    Then how many days' truth lies below, and above.
    """
    bands = [d["band"] for d in days if "band" in d]
    below = sum(b["true_ha"] < b["low_ha"] for b in bands)
    above = sum(b["true_ha"] > b["high_ha"] + b["doubt_ha"] for b in bands)
    return share(len(bands) - below - above, len(bands)), below, above


def wide(days: Sequence[Row]) -> list[float]:
    """Width of that band in percent of the paddock, each guessed day."""
    some = [(d["band"], d["net_ha"]) for d in days if "band" in d]
    return [100 * (b["high_ha"] + b["doubt_ha"] - b["low_ha"]) / net for b, net in some]


def _near(metres: float) -> Callable[[Sequence[Row]], Said]:
    def said(days: Sequence[Row]) -> Said:
        f = near(days, metres)
        return 100 * f.value, percent(f)

    return said


def _asked(key: str, worst: bool) -> Callable[[Sequence[Row]], Said]:
    def said(days: Sequence[Row]) -> Said:
        value = asked(days, key)[int(worst)]
        return value, f"{value:.2f}"

    return said


def _ground(
    key: str, of: Callable[[Sequence[float]], float], untapped: bool = False
) -> Callable[[Sequence[Row]], Said]:
    def said(days: Sequence[Row]) -> Said:
        value = float(of(ground(days, key, untapped)))
        return value, f"{value:.2f} %"

    return said


def _right(of: str, yes: str) -> Callable[[Sequence[Row]], Said]:
    def said(days: Sequence[Row]) -> Said:
        f = right(days, of, yes)
        return 100 * f.value, f"{100 * f.value:.1f} % ({100 * f.low:.1f} to {100 * f.high:.1f})"

    return said


def _repaired(days: Sequence[Row]) -> Said:
    f = repaired(days)
    return 100 * f.value, percent(f)


def _questions(days: Sequence[Row]) -> Said:
    every = turned(days)
    if not every:
        return NOTHING
    about, rest = (float(np.mean([e[k] for e in every])) for k in ("asked", "others"))
    return about, f"{about:.2f} and {rest:.2f}"


def _holds(days: Sequence[Row]) -> Said:
    f, below, above = holds(days)
    if not f.count:
        return NOTHING
    return 100 * f.value, f"{percent(f)}; {below} below, {above} above"


def _wide(days: Sequence[Row]) -> Said:
    f = median(wide(days))
    if not f.count:
        return NOTHING
    times = median([100 * w / p for w, p in zip(wide(days), _true(days), strict=True)])
    said = f"{f.value:.1f} % of the paddock, {times.value / 100:.1f} times the truth"
    return f.value, said


def _true(days: Sequence[Row]) -> list[float]:
    """Truly bare ground in percent of the paddock, each guessed day."""
    return [100 * d["band"]["true_ha"] / d["net_ha"] for d in days if "band" in d]


_ONE = {"wanted": "at most 1", "most": 1.0}
_LITTLE = {"wanted": "under 0.3 %", "most": 0.3}
LINES = (
    Line("missing changes found within 8 m", _near(8.0), "at least 93 %", 93.0),
    Line("found within 15 m", _near(15.0), "at least 96 %", 96.0),
    Line("false questions in two hours, all days", _asked("false", False), **_ONE),
    Line("the same, worst day", _asked("false", True), **_ONE),
    Line("the same with every tap there, all days", _asked("false_all_taps", False), **_ONE),
    Line("ground falsely sown, mean of days", _ground("falsely_ha", np.mean), **_LITTLE),
    Line("the same, median day", _ground("falsely_ha", np.median), **_LITTLE),
    Line("the same, worst day", _ground("falsely_ha", max), **_LITTLE),
    Line("the same with every tap there, mean", _ground("falsely_all_taps_ha", np.mean), **_LITTLE),
    Line("ground in doubt, nothing answered yet, mean", _ground("doubt_ha", np.mean)),
    Line("twenty swapped minutes repaired by one question", _repaired, "every day", 100.0),
    Line("questions on such a day: about swapping, others", _questions),
    Line("no taps: right state", _right("of", "right"), "at least 97 % (typical)", 97.0),
    Line("the same without runs driven with the tool up", _right("plain_of", "plain_right")),
    Line("no taps: ground falsely sown, mean", _ground("falsely_ha", np.mean, True)),
    Line("no taps: truth within the band and doubt", _holds, "at least 80 %", 80.0),
    Line("width of that band with doubt, median", _wide),
)

DAYS = """\
Days whose speed does not give the lever away (`unsown.sim.hard_taps`, 28 to 80 ha): no slowing in
turns, halts, trips to the truck, backing turns, creeping, corners partly sown through, and one
or two runs driven with the tool up. A tenth of the taps is taken away at random, the others come
0 to 4 s late. The same drives and taps are logged by either receiver. Nothing is tuned on these
seeds. Said and true are laid along one path, so the receiver's own error is not in these figures
beyond what it does to the inference."""

COLUMNS = """\
- **missing changes**: changes that no tap tells of, on runs over 60 m; *found* where an end of a
  question lies so near along the way, or the log itself begins or ends there.
- **false questions**: about stretches whose taps are right. Questions about runs really driven
  with the tool up are not counted: the log cannot tell them from sowing.
- **ground falsely sown**: called sown, but swept at no time while seed fell, in percent of the
  paddock, such runs included; on cells of half a metre, of which one that seed touched is sown
  (a strip one bar wide loses up to half a metre of its width by that).
- **twenty swapped minutes**: down and up swapped in the middle of the day, every tap there.
  *Repaired*: one question about swapping, and its answer gives the very runs of right taps. The
  other questions of such a day leave out runs driven with the tool up. Days on which no tap fell
  into those minutes are left out.
- **no taps**: every tap removed (`--runs guess`). *Right state*: a chance over one half is down;
  seconds in which the rig moved. *Band and doubt*: the bare ground lies from `bare_low_ha` to
  `bare_high_ha` + `doubt_ha`; *below* and *above* count the days on which it does not.

✗ marks a figure that is not what was wanted; where a mean and a worst day stand, both are held to
it. In brackets stands the 95 % interval, as above. What limits these figures stands in
[docs/explain/lever.md](../explain/lever.md)."""


def section(rows: Sequence[Row], command: str, missing: int = 0) -> str:
    """The whole section, its heading first.

    Args:
        rows: all rows of one state of the code.
        command: what to give to make the section again.
        missing: how many of the asked days were not measured.
    """
    days = sums.measured(rows, PRESETS)
    body = [
        [line.what, *(line.cell(some) for some in days.values()), line.wanted] for line in LINES
    ]
    lines = ["## Forgotten taps", "", *_head(rows, days, missing), "```", command, "```", ""]
    lines += [DAYS, "", *table(["", *days, "wanted"], body), COLUMNS, *_failures(rows)]
    return "\n".join(lines)


def _head(rows: Sequence[Row], days: dict[str, list[Row]], missing: int) -> list[str]:
    least = min(len(some) for some in days.values())
    seeds = sorted({r["seed"] for r in rows})
    hours = sum(r["hours"] for r in next(iter(days.values())))
    told = f"Measured on {least} simulated days a preset, seeds {ranges(seeds)}, {hours:.0f} h"
    told += f"; engine and simulator of state `{rows[0]['engine']}`. "
    told += f"**Days not measured yet: {missing}.** " if missing else "Every day is in. "
    failed = sum("failed" in r for r in rows)
    told += f"**Days that failed: {failed}.**" if failed else "No day failed."
    trial = f"> **A trial of {least} days a preset.** Too few to judge by: {ENOUGH} are wanted."
    return [*([trial, ""] if least < ENOUGH else []), *filled(f"{told} Made by:")]


def _failures(rows: Sequence[Row]) -> list[str]:
    said = [f"{r['seed']} at {r['preset']}: `{r['failed']}`" for r in rows if "failed" in r]
    return ["", *textwrap.wrap("Failed: " + "; ".join(said), 98)] if said else []
