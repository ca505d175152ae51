"""Figures of many days: every function takes the rows of one preset (or of a part of it)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from soak.figures import Figure, median, middle, percent, pooled, ratio, share, span
from soak.judge import HALF
from soak.measure import LARGE_M2, WIDE_M, Row
from soak.wanted import WANTED, Check, within
from unsown.core.bare import LIKELY, SURE

INF = float("inf")
#: Patches narrower than this are left out of listed / true area, m.
BROAD_M = 1.5


def measured(rows: Sequence[Row], presets: Sequence[str]) -> dict[str, list[Row]]:
    """The rows that did not fail, by preset.

    Raises:
        ValueError: every one failed.
    """
    good = [r for r in rows if "failed" not in r]
    days = {p: some for p in presets if (some := [r for r in good if r["preset"] == p])}
    if not days:
        raise ValueError(f"expected at least one measured day, got {len(rows)} that failed")
    return days


def bare(days: Sequence[Row]) -> list[float]:
    """Bare said / true, each day."""
    return [d["bare_ha"] / d["true_ha"] if d["true_ha"] else np.nan for d in days]


def listed(days: Sequence[Row]) -> list[float]:
    """Listed / true area of patches over 1.5 m wide, each day."""
    out = []
    for d in days:
        true = sum(p["m2"] for p in d["true"] if p["width_m"] > BROAD_M)
        said = sum(p["m2"] for p in d["said"] if p["width_m"] > BROAD_M and p["chance"] >= LIKELY)
        out.append(said / true if true else np.nan)
    return out


def found(days: Sequence[Row], key: str = "found", width: str = "width_m", why: str = "") -> Figure:
    """Share of the true patches of 50 m² and 2 m on that were found."""
    counts = []
    for d in days:
        large = [p for p in d["true"] if p["m2"] >= LARGE_M2 and p[width] >= WIDE_M]
        large = [p for p in large if not why or p["why"] == why]
        counts.append((sum(p[key] >= HALF for p in large), len(large)))
    return pooled(counts)


def real(days: Sequence[Row], low: float = SURE, high: float = INF, key: str = "real") -> Figure:
    """Share of the said patches with a chance in [low, high) that are real."""
    counts = []
    for d in days:
        some = [p for p in d["said"] if low <= p["chance"] < high]
        counts.append((sum(p[key] >= HALF for p in some), len(some)))
    return pooled(counts)


def chance(days: Sequence[Row], low: float, high: float) -> float:
    """Mean chance said of the patches with a chance in [low, high)."""
    said = [p["chance"] for d in days for p in d["said"] if low <= p["chance"] < high]
    return float(np.mean(said)) if said else float("nan")


def holds(days: Sequence[Row]) -> Figure:
    """Share of days whose band holds the truth."""
    return share(sum(d["low_ha"] <= d["true_ha"] <= d["high_ha"] for d in days), len(days))


def outside(days: Sequence[Row]) -> tuple[int, int]:
    """Days whose truth lies below the band, and above it."""
    below = sum(d["true_ha"] < d["low_ha"] for d in days)
    return below, sum(d["true_ha"] > d["high_ha"] for d in days)


def band(days: Sequence[Row]) -> Figure:
    """Median width of the band over the truth."""
    return median([(d["high_ha"] - d["low_ha"]) / d["true_ha"] for d in days if d["true_ha"]])


def beside(days: Sequence[Row], way: str) -> tuple[list[float], Figure]:
    """Bare said / true of another way, and the share of its patches that are real."""
    days = [d for d in days if way in d]
    ratios = [d[way]["bare_ha"] / d["true_ha"] for d in days if d["true_ha"]]
    return ratios, pooled(
        [(sum(r >= HALF for r in d[way]["patches"]), len(d[way]["patches"])) for d in days]
    )


def reasons(days: Iterable[Row]) -> list[str]:
    """Why true patches are bare, the commonest first."""
    all_of = [
        p["why"] for d in days for p in d["true"] if p["m2"] >= LARGE_M2 and p["width_m"] >= WIDE_M
    ]
    return sorted(set(all_of), key=lambda why: (-all_of.count(why), why))


def checks(preset: str, days: Sequence[Row]) -> list[Check]:
    """The figures of a preset beside what is wanted of them."""
    want, ratios = WANTED[preset], bare(days)
    low, high = middle(ratios)
    least, most = want.middle
    spread = Check(
        preset,
        "bare said / true, middle 80 % of days",
        span(ratios),
        f"within {least:g} to {most:g}",
        least <= low.value and high.value <= most,
        low.high >= least and high.low <= most,
    )
    wide = [(-INF, want.band_width)] if want.band_width else []
    medians = [
        ("bare said / true, median", median(ratios), want.bare),
        ("listed / true, median", median(listed(days)), want.listed),
        *(("width of the band / true, median", band(days), w) for w in wide),
    ]
    parts = [
        ("patches found", found(days), (want.found, INF)),
        ("sure patches that are real", real(days), (want.real, INF)),
        ("days whose band holds the truth", holds(days), want.holds),
    ]
    some = [within(preset, *line, ratio(line[1]), 1.0, "") for line in medians]
    return [spread, *some, *(within(preset, *p, percent(p[1]), 100.0, " %") for p in parts)]
