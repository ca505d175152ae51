"""Tables of the page: rows of days in, lines of markdown out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from soak import sums
from soak.figures import median, percent, ratio, share, span
from soak.measure import Row
from soak.wanted import WANTED

Days = dict[str, list[Row]]


def table(head: Sequence[str], body: Sequence[Sequence[str]]) -> list[str]:
    """A markdown table."""
    rule = "|" + "---|" * len(head)
    return [f"| {' | '.join(head)} |", rule, *(f"| {' | '.join(line)} |" for line in body), ""]


def main(days: Days) -> list[str]:
    """The table that matters, each preset followed by what is wanted of it."""
    body = []
    for preset, rows in days.items():
        missed = {c.what for c in sums.checks(preset, rows) if not c.reached}
        ratios = sums.bare(rows)

        def cell(text: str, what: str, missed: set[str] = missed) -> str:
            return f"**{text} ✗**" if what in missed else text

        body.append(
            [
                f"**{preset}**",
                str(len(rows)),
                cell(ratio(median(ratios)), "bare said / true, median"),
                cell(span(ratios), "bare said / true, middle 80 % of days"),
                cell(ratio(median(sums.listed(rows))), "listed / true, median"),
                cell(percent(sums.found(rows)), "patches found"),
                cell(percent(sums.real(rows)), "sure patches that are real"),
                cell(percent(sums.holds(rows), False), "days whose band holds the truth"),
                cell(ratio(sums.band(rows)), "width of the band / true, median"),
            ]
        )
        w = WANTED[preset]
        body.append(
            [
                "*wanted*",
                "",
                f"*{w.bare[0]:g} to {w.bare[1]:g}*",
                f"*{w.middle[0]:g} to {w.middle[1]:g}*",
                f"*{w.listed[0]:g} to {w.listed[1]:g}*",
                f"*{100 * w.found:.0f} %*",
                f"*{100 * w.real:.0f} %*",
                f"*{100 * w.holds[0]:.0f} to {100 * w.holds[1]:.0f} %*",
                f"*up to {w.band_width:g}*" if w.band_width else "",
            ]
        )
    head = "preset|days|bare said / true, median|middle 80 % of days|listed / true, median"
    head += "|true patches found|sure patches that are real|band holds the truth"
    return table([*head.split("|"), "width of the band / true"], body)


def shortfalls(days: Days) -> list[str]:
    """Every figure that is not what was wanted."""
    all_of = [c for preset, rows in days.items() for c in sums.checks(preset, rows)]
    body = [
        [c.preset, c.what, c.said, c.wanted, "yes" if c.near else "no"]
        for c in all_of
        if not c.reached
    ]
    if not body:
        return ["Every figure is what was wanted.", ""]
    head = ["preset", "figure", "came to", "wanted", "could be chance"]
    return [f"{len(body)} of {len(all_of)} figures are not:", "", *table(head, body)]


def plain(days: Days) -> list[str]:
    """Unsown beside the plain way and beside towing alone (the last on every fourth day)."""
    body = []
    for preset, rows in days.items():
        line = [preset]
        for way in ("plain", "tow"):
            ratios, real = sums.beside(rows, way)
            line += [f"{np.nanmedian(ratios):.2f}; {span(ratios)}", percent(real)]
        ratios = sums.bare(rows)
        real = sums.real(rows, 0.6)
        body.append([*line, f"{np.nanmedian(ratios):.2f}; {span(ratios)}", percent(real)])
    head = ["preset"]
    for way in ("plain way", "tow only (every fourth day)", "Unsown"):
        head += [f"{way}: bare said / true", f"{way}: listed patches that are real"]
    return table(head, body)


def chances(days: Days) -> list[str]:
    """Ten bins of chance: said against true."""
    phones = [row for preset, rows in days.items() if preset != "rtk" for row in rows]
    edges = [*(k / 10 for k in range(10)), 1.001]
    body = []
    for low, high in pairwise(edges):
        said = sums.chance(phones, low, high)
        name = f"{low:.1f} to {min(high, 1):.1f}"
        line = [name, "" if np.isnan(said) else f"{said:.2f}"]
        line.append(percent(sums.real(phones, low, high)))
        for rows in days.values():
            one = sums.real(rows, low, high)
            line.append(f"{100 * one.value:.0f} % of {one.count}" if one.count else "none")
        body.append(line)
    return table(["chance", "mean said, all phones", "real, all phones", *days], body)


def split(days: Days, parts: dict[str, Callable[[Row], bool]]) -> list[str]:
    """The main figures on parts of the days."""
    body = []
    for preset, rows in days.items():
        for name, belongs in parts.items():
            some = [r for r in rows if belongs(r)]
            if not some:
                body.append([preset, name, "0", "", "", "", "", ""])
                continue
            ratios = sums.bare(some)
            body.append(
                [
                    preset,
                    name,
                    str(len(some)),
                    f"{np.nanmedian(ratios):.2f}; {span(ratios)}",
                    percent(sums.found(some)),
                    percent(sums.real(some)),
                    percent(sums.holds(some), False)
                    + "; {} below, {} above".format(*sums.outside(some)),
                    ratio(sums.band(some)),
                ]
            )
    head = "preset|days with|days|bare said / true|found|sure and real|band holds"
    return table([*head.split("|"), "band / true"], body)


def variants(days: Days) -> list[str]:
    """Finding and being real under other rules."""
    body = [
        [
            preset,
            percent(sums.found(rows)),
            percent(sums.found(rows, "found_moved")),
            percent(sums.found(rows, width="widest_m")),
            percent(sums.real(rows)),
            percent(sums.real(rows, key="real_moved")),
            f"{np.median([np.hypot(*r['error_m']) for r in rows]):.1f} m",
        ]
        for preset, rows in days.items()
    ]
    head = "preset|found|found, picture shifted|found, by greatest width|sure and real"
    return table([*head.split("|"), "sure and real, picture shifted", "constant error"], body)


def reasons(days: Days) -> list[str]:
    """Found, by why the ground is bare."""
    names = sums.reasons(row for rows in days.values() for row in rows)
    body = []
    for why in names:
        line = [why or "other"]
        for rows in days.values():
            f = sums.found(rows, why=why)
            line.append(f"{100 * f.value:.0f} % of {f.count}" if f.count else "none")
        body.append(line)
    return table(["bare because of", *days], body)


def missed(days: Days) -> list[str]:
    """A whole missed run: listed, likely and its chance."""
    body = []
    for preset, rows in days.items():
        runs = [r["run"] for r in rows if r["run"]]
        listed = share(sum(r["listed"] >= 0.5 for r in runs), len(runs))
        beside = share(sum(r["beside"] >= 0.5 for r in runs), len(runs))
        likely = share(sum(r["likely"] >= 0.5 for r in runs), len(runs))
        sure = share(sum(r["chance"] >= 0.9 for r in runs), len(runs))
        said = [r["chance"] for r in runs]
        middle80 = f"{np.median(said):.2f}; {span(said)}" if said else ""
        line = [preset, str(len(runs)), str(len(rows) - len(runs))]
        body.append([*line, *(percent(f, False) for f in (listed, beside, likely, sure)), middle80])
    head = "preset|days|days without room for one|listed|listed within a width of its place"
    return table(
        [
            *head.split("|"),
            "listed as likely or sure",
            "its chance at least 0.9",
            "its chance: median; middle 80 %",
        ],
        body,
    )


def times(days: Days) -> list[str]:
    """Seconds of processor a day."""
    body = []
    for preset, rows in days.items():
        cpu = [r["cpu_s"] for r in rows]
        per_hour = [r["cpu_s"] / r["hours"] for r in rows]
        line = [np.median(cpu), np.quantile(cpu, 0.9), max(cpu), np.median(per_hour)]
        body.append([preset, *(f"{v:.1f}" for v in line)])
    head = "preset|median, s|nine days in ten under, s|longest, s|per hour of work, s"
    return table(head.split("|"), body)
