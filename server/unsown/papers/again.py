"""Sown again on paper: the headline with its band, the causes as bars, and what it cost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.papers.hatch import own, patterns

#: Less than this is not worth a bar, ha.
_LEAST_HA = 0.005
_ROW, _NAME, _BAR, _WIDE = 21.0, 152.0, 300.0, 760.0
OWN = "your own choice"
UNEXPLAINED = "not explained"


def panel(waste: Mapping[str, Any], units: Units, map_ha: float | None = None) -> str:
    """The waste of one paddock or day as HTML: words, bars, what it cost.

    ``map_ha`` is what the map shows as sown twice: two figures for one thing, and why.
    """
    return (
        '<section class="again"><h3>Sown again, by width times way</h3>'
        f'<p class="big">{headline(waste, units)}</p>'
        f"<p>{spent(waste['cost']['again'], waste)}.</p>"
        f"{bars(waste, units)}{_small(waste, units, map_ha)}</section>"
    )


def headline(waste: Mapping[str, Any], units: Units) -> str:
    """``3.22 ha (3.08 to 3.38 ha), 5.4 % of the sown ground``, as HTML."""
    low, high = units.area(waste["low_ha"]), units.area(waste["high_ha"])
    share = waste.get("share")
    part = f", {100 * share:.1f} % of the sown ground" if share is not None else ""
    found = f"<b>{units.area(waste['again_ha'])}</b> ({low.split()[0]} to {high}){part}"
    return found.replace("-", "&minus;")


def spent(cost: Mapping[str, float], waste: Mapping[str, Any]) -> str:
    """``380 kg seed, 338 kg fertiliser, 17 L fuel, 43 min: C$ 537``, as HTML."""
    used = (
        f"{cost['seed_kg']:.0f} kg seed, {cost['fert_kg']:.0f} kg fertiliser, "
        f"{cost['fuel_l']:.0f} L fuel, {_long(cost['hours'])}"
    )
    return f"{used}: <b>{money(cost['money'], waste)}</b>"


def _long(hours: float) -> str:
    """``2 min``, from an hour on ``1.4 h``."""
    return f"{hours:.1f} h" if hours >= 1.0 else f"{max(round(60 * hours), 1)} min"


def money(value: float, waste: Mapping[str, Any]) -> str:
    """An amount to whole units of the farm's currency, as HTML; small ones say so."""
    currency = str(waste.get("currency") or "")[:12]
    sign = "&minus;" if value <= -0.5 else ""
    return f"{sign}{quote(currency)} {abs(value):.0f}".strip() if currency else f"{value:.0f}"


def bars(waste: Mapping[str, Any], units: Units) -> str:
    """The causes as bars, the largest first, ``not explained`` last, as an SVG.

    What the driver wished himself is drawn in plain lines, all else cross-hatched: a copier keeps
    them apart.
    """
    causes = sorted(waste["causes"].items(), key=lambda item: -item[1])
    rows = [(name, ha) for name, ha in causes if ha >= _LEAST_HA]
    left, off = float(waste["unexplained_ha"]), waste.get("spread_ha") or {}
    most = max([ha for _, ha in rows] + [abs(left), _LEAST_HA])
    drawn, y = [patterns()], 0.0
    for name, ha in rows:
        wished = min(waste["wished_ha"], ha) if name == "between runs" else 0.0
        text = f"{_banded(ha, off.get(name), units)}  "
        text += money(waste["cause_cost"][name]["money"], waste)
        drawn.append(_row(y, name, ha / most, wished / most, text))
        y += _ROW
    ha = units.area(left).replace("-", "&minus;")
    text = f"{ha}  {money(waste['cost']['unexplained']['money'], waste)}"
    drawn.append(_row(y, UNEXPLAINED, max(left, 0.0) / most, 0.0, text, fill="doubt"))
    tall = y + _ROW
    said = "Causes of what was sown again, as bars"
    return own(
        f'<svg xmlns="http://www.w3.org/2000/svg" class="bars" role="img" aria-label="{said}" '
        f'width="{_WIDE / 4:.1f}mm" height="{tall / 4:.1f}mm" viewBox="0 0 {_WIDE:.0f} {tall:.0f}" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" font-size="13.4">{"".join(drawn)}</svg>',
        "again-",
    )


def _banded(ha: float, off_ha: float | None, units: Units) -> str:
    """An area with how far it may be off to either side, where that is known."""
    said = units.area(ha)
    return said if off_ha is None else f"{said.split()[0]} ± {units.area(off_ha)}"


def _row(y: float, name: str, part: float, own_part: float, text: str, fill: str = "twice") -> str:
    frame = 'stroke="#000000" stroke-width="1"'
    whole, mine = _BAR * part, _BAR * own_part
    bar = ""
    if mine > 0.5:
        bar += (
            f'<rect x="{_NAME}" y="{y + 3:.1f}" width="{mine:.1f}" height="14" '
            f'fill="url(#fill-sown)" {frame}/>'
        )
    if whole - mine > 0.5:
        bar += (
            f'<rect x="{_NAME + mine:.1f}" y="{y + 3:.1f}" width="{whole - mine:.1f}" '
            f'height="14" fill="url(#fill-{fill})" {frame}/>'
        )
    return (
        f'<text x="{_NAME - 8}" y="{y + 15:.1f}" text-anchor="end">{quote(name)}</text>{bar}'
        f'<text x="{_NAME + whole + 8:.1f}" y="{y + 15:.1f}">{text}</text>'
    )


def _small(waste: Mapping[str, Any], units: Units, map_ha: float | None) -> str:
    said = []
    if waste["wished_ha"] >= _LEAST_HA:
        cost = money(waste["cost"]["wished"]["money"], waste)
        said.append(
            f"Plain lines: {units.area(waste['wished_ha'])} ({cost}) is {OWN}, the overlap wished "
            "on the rig card."
        )
    if map_ha is not None:
        said.append(f"The map, drawn from places that wander, shows {units.area(map_ha)}.")
    if not waste["finished"]:
        said.append("The paddock is not finished: much of this may change.")
    if not waste.get("currency"):
        said.append("The last number is the cost: the settings name no currency.")
    said += examples(waste)
    return f'<p class="small">{" ".join(said)}</p>' if said else ""


def line(waste: Mapping[str, Any], units: Units) -> str:
    """The same in one line, where there is no room for a picture, as HTML."""
    name, ha = max(waste["causes"].items(), key=lambda item: item[1])
    most = f"; most of it {quote(name)} {units.area(ha)}" if ha >= _LEAST_HA else ""
    cost = money(waste["cost"]["again"]["money"], waste)
    return f"{headline(waste, units)}: {cost}{most}."


def examples(waste: Mapping[str, Any]) -> list[str]:
    """Says that prices of an invented farm stand in, where they do."""
    used = set(waste["examples"]) & {
        *("seed_kg_ha", "seed_price_kg", "fert_kg_ha", "fert_price_kg"),
        *("fuel_l_ha", "fuel_price_l", "tractor_h"),
    }
    if not used:
        return []
    return [f"{len(used)} of 7 prices are those of an invented farm: set your own."]
