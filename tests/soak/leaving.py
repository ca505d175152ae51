"""The section on what is decided when a day is done: figures of many days beside what is wanted."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from soak import sums
from soak.figures import Figure, median, percent, pooled, share
from soak.measure import Row
from soak.page import filled, ranges
from soak.tables import table
from soak.wanted import WANTED

PRESETS = tuple(WANTED)
#: With fewer days a preset the section calls itself a trial.
ENOUGH = 30
#: Causes: within this part of the truth, or this part of the paddock.
_PART, _PADDOCK = 0.25, 0.003
#: What a cause may be off by is told no finer than this, ha.
_FINEST_HA = 0.01


def in_band(days: Sequence[Row]) -> Figure:
    """Share of days on which the ground truly sown again lies in the band."""
    return share(sum(d["low_ha"] <= d["true_again_ha"] <= d["high_ha"] for d in days), len(days))


def off(days: Sequence[Row]) -> Figure:
    """How far the headline is off, as a part of the paddock: median day."""
    return median([abs(d["again_ha"] - d["true_again_ha"]) / d["net_ha"] for d in days])


def unexplained(days: Sequence[Row]) -> Figure:
    """What the causes leave of the headline, as a part of it: median day."""
    return median([abs(d["again_ha"] - sum(d["causes_ha"].values())) / d["again_ha"] for d in days])


def right_causes(days: Sequence[Row]) -> Figure:
    """Share of all causes of all days that came near enough to the truth."""
    return pooled([_right(d) for d in days])


def _right(d: Row) -> tuple[int, int]:
    near = [
        abs(d["causes_ha"][name] - true) <= max(_PART * true, _PADDOCK * d["net_ha"])
        for name, true in d["true_causes_ha"].items()
    ]
    return sum(near), len(near)


def told_off(days: Sequence[Row]) -> Figure:
    """Share of all causes of all days that are off by no more than was said, to a hundredth ha."""
    return pooled([_held(d) for d in days])


def _held(d: Row) -> tuple[int, int]:
    off = {name: abs(d["causes_ha"][name] - true) for name, true in d["true_causes_ha"].items()}
    held = [ha <= max(d["spread_ha"][name], _FINEST_HA) for name, ha in off.items()]
    return sum(held), len(held)


def labels(days: Sequence[Row]) -> Figure:
    """Share of sure patches whose label is that of the true patch."""
    return pooled(
        [(sum(x["said"] == x["true"] for x in d["labels"]), len(d["labels"])) for d in days]
    )


def drivable(days: Sequence[Row]) -> Figure:
    """Share of ways that leave under 3 % of what they list bare and hit no keep-out."""
    gone = [d for d in days if d["listed_m2"] > 0]
    good = sum(d["missed_m2"] < 0.03 * d["listed_m2"] and d["hit_m2"] < 1.0 for d in gone)
    return share(good, len(gone))


def unblocked(days: Sequence[Row]) -> Figure:
    """Share of ways that stay in the room where one may drive."""
    gone = [d for d in days if d["listed_m2"] > 0]
    return share(sum(not d["blocked"] for d in gone), len(gone))


def foretold(days: Sequence[Row]) -> Figure:
    """Share of fills that truly run out within the band."""
    return pooled(
        [
            (sum(f["from_ha"] <= f["true_ha"] <= f["to_ha"] for f in d["fills"]), len(d["fills"]))
            for d in days
        ]
    )


def closes(days: Sequence[Row]) -> Figure:
    """How far the real rate of the whole day is off: median day."""
    return median([abs(d["closes"]) for d in days])


#: What a sure patch may be called.
LABELS = ("worth it", "your call", "leave")


@dataclass(frozen=True)
class Line:
    """A figure, how it is written, what is wanted, and at which presets."""

    what: str
    of: Callable[[Sequence[Row]], Figure]
    least: float
    most: float
    wanted: str
    at: tuple[str, ...] = PRESETS
    digits: int = 0

    def cell(self, preset: str, days: Sequence[Row]) -> str:
        f = self.of(days)
        if f.count == 0:
            return "none"
        text = percent(f, False) if self.digits == 0 else _fine(f)
        if preset not in self.at:
            return text
        return text if self.least <= f.value <= self.most else f"**{text} ✗**"


def _fine(f: Figure) -> str:
    return f"{100 * f.value:.1f} % [{100 * f.low:.1f} to {100 * f.high:.1f}]"


_TYPICAL = ("rtk", "good", "typical")
LINES = (
    Line("sown twice: truth within the band", in_band, 0.80, 0.97, "80 to 97 % of days"),
    Line("sown twice: off by, of the paddock", off, 0.0, 1.0, "", (), 1),
    Line("causes: not explained, of the headline", unexplained, 0.0, 0.02, "up to 2 %",
         _TYPICAL, 1),
    Line("causes: near the truth", right_causes, 1.0, 1.0, "all, up to typical", _TYPICAL),
    Line("causes: off by no more than said", told_off, 0.0, 1.0, "about 90 %", ()),
    Line("worth: sure patches with the true label", labels, 0.90, 1.0, "at least 90 %"),
    Line("way back: leaves under 3 %, hits nothing", drivable, 1.0, 1.0, "all"),
    Line("way back: keeps to free ground", unblocked, 0.0, 1.0, "", ()),
    Line("bins: truth within the band foretold", foretold, 0.88, 0.97, "90 % of fills"),
    Line("bins: the day's balance off by", closes, 0.0, 0.01, "up to 1 %", PRESETS, 1),
)  # fmt: skip

COLUMNS = """\
- **sown twice**: `again_ha` with its band, beside what the simulator's polygons say.
- **causes**: the same rules on where the simulator's tool truly was while seed landed. *Near* is
  within a quarter of the truth or 0.3 % of the paddock, counted over all causes of all days; *off
  by no more than said* holds each against its own ±, told to a hundredth of a hectare. *Not
  explained* is the headline less all causes, of the median day.
- **worth**: every patch called sure beside the true patch it shares most ground with, from where
  the day ended, with the prices of the invented farm. The true label is what the true ground is
  worth on the way that was told: by the runs told, with what they would really sow and sow again,
  or by those that the truth would have had, at the time told less or more what these runs
  themselves take; the better of the two, by the product's own rule. Where nothing is bare it is
  *leave*. The tables below show every label. Patches that an open answer may close are neither
  right nor wrong: they stand in a table of their own, with what of them is truly bare.
- **way back**: the route through all that is worth it, driven by the simulator's own tractor and
  tool; bare is what is left of the ground that the runs list.
- **bins**: seed for nine hectares, filled up at every 50 to 95 %. The card's rate is off by 5 %
  (one sigma), each fill flows 1 % off that, and what is full is read to 40 kg. *The band
  foretold* is where the bin will have run empty, told after each fill, in hectares that the phone
  counts.
  *The balance*: the real rate of the whole day beside the true one.

✗ marks a figure that is not what was wanted. In brackets stands the 95 % interval, as above."""


def section(rows: Sequence[Row], command: str, missing: int = 0) -> str:
    """The whole section, its heading first.

    Args:
        rows: all rows of one state of the code.
        command: what to give to make the section again.
        missing: how many of the asked days were not measured.
    """
    days = sums.measured(rows, PRESETS)
    body = [
        [line.what, *(line.cell(p, some) for p, some in days.items()), line.wanted]
        for line in LINES
    ]
    lines = ["## Leaving the paddock", "", *_head(rows, days, missing), "```", command, "```", ""]
    lines += [*table(["", *days, "wanted"], body), COLUMNS, "", *_confused(days), *_asked(days)]
    lines += [*_worst(days), *_failures(rows)]
    return "\n".join(lines).rstrip()


def _head(rows: Sequence[Row], days: dict[str, list[Row]], missing: int) -> list[str]:
    least = min(len(some) for some in days.values())
    seeds = ranges(sorted({r["seed"] for r in rows}))
    told = f"Measured on {least} simulated days a preset, seeds {seeds}"
    told += f"; engine and simulator of state `{rows[0]['engine']}`. "
    told += f"**Days not measured yet: {missing}.** " if missing else "Every day is in. "
    failed = sum("failed" in r for r in rows)
    told += f"**Days that failed: {failed}.**" if failed else "No day failed."
    trial = f"> **A trial of {least} days a preset.** Too few to judge by: {ENOUGH} are wanted."
    return [*([trial, ""] if least < ENOUGH else []), *filled(f"{told} Made by:")]


def _confused(days: dict[str, list[Row]]) -> list[str]:
    """How often each label is said and how often that is right; and what is said for what."""
    pairs = {p: [(x["said"], x["true"]) for d in some for x in d["labels"]]
             for p, some in days.items()}  # fmt: skip
    told = [
        [f"said *{a}*", *(f"{each.count((a, a))} of {sum(s == a for s, _ in each)}"
                          for each in pairs.values())]
        for a in LABELS
    ]  # fmt: skip
    phones = [pair for p, each in pairs.items() if p != "rtk" for pair in each]
    body = [[f"said *{a}*", *(str(phones.count((a, b))) for b in LABELS)] for a in LABELS]
    return [
        "Labels of sure patches, right of all said:", "",
        *table(["", *days], told),
        "The same patches on all phones, the survey-grade receiver left out:", "",
        *table(["", *(f"truly *{b}*" for b in LABELS)], body),
    ]  # fmt: skip


def _asked(days: dict[str, list[Row]]) -> list[str]:
    """How many patches hang on an answer, and what of them is bare; nothing of older rows."""
    if not all("asked" in d for some in days.values() for d in some):
        return []
    each = [[x for d in some for x in d["asked"]] for some in days.values()]
    counts = [f"{sum(x['bare'] for x in some)} of {len(some)}" for some in each]
    ground = [[sum(x[key] for x in some) / 1e4 for key in ("bare_m2", "m2")] for some in each]
    body = [
        ["truly bare, of all", *counts],
        ["bare of their ground, ha", *(f"{bare:.2f} of {all_:.2f}" for bare, all_ in ground)],
    ]
    return ["Patches that an open answer may close:", "", *table(["", *days], body)]


def _worst(days: dict[str, list[Row]]) -> list[str]:
    """Which labels and causes go wrong, over all presets."""
    wrong: dict[str, int] = {}
    for d in (d for some in days.values() for d in some):
        for x in d["labels"]:
            if x["said"] != x["true"]:
                key = f"{x['said']} for {x['true']}"
                wrong[key] = wrong.get(key, 0) + 1
        for name, true in d["true_causes_ha"].items():
            if abs(d["causes_ha"][name] - true) > max(_PART * true, _PADDOCK * d["net_ha"]):
                wrong[f"cause {name}"] = wrong.get(f"cause {name}", 0) + 1
    told = [f"{key} {n}" for key, n in sorted(wrong.items(), key=lambda item: -item[1])]
    return textwrap.wrap("What goes wrong, times: " + ", ".join(told) + ".", 98) if told else []


def _failures(rows: Sequence[Row]) -> list[str]:
    said = [f"{r['seed']} at {r['preset']}: `{r['failed']}`" for r in rows if "failed" in r]
    return ["", *textwrap.wrap("Failed: " + "; ".join(said), 98)] if said else []
