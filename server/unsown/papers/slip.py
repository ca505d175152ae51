"""The day slip: one page of what the day came to, paddock by paddock, and what is next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.formats.when import clock, day, printed, zone
from unsown.papers.advice import advice, left_over
from unsown.papers.again import line, money, panel
from unsown.papers.drawing import map_of
from unsown.papers.furniture import asked, document, ends, legend, listed, short
from unsown.papers.going import going_of
from unsown.papers.lines import blank, filled, ground, sentences
from unsown.papers.scene import Scene, scene_of

CAUTION = (
    "The picture can be metres wrong and knows no slopes, wires or holes. Look. You decide. Keep "
    "at least 3 m (10 ft) from any line, more for high voltage: your utility's figure rules. Bare "
    "is what a phone can find: not a 30 cm (1 ft) miss between two runs, nor a blocked opener."
)


@dataclass(frozen=True)
class _Room:
    """What one paddock of the page has room for: its map, mm, rows of its lists, letters."""

    wide_mm: float
    tall_mm: float
    ends: int
    asked: int
    then: int


_ROOMS = {
    1: _Room(190, 124, 16, 3, 400),
    2: _Room(80, 74, 5, 1, 130),
    3: _Room(62, 56, 3, 0, 110),
}
#: So tall is a map with the picture of what was sown again below it, mm.
_BESIDE_PANEL_MM = 92.0
#: So many loose ends fewer are listed then.
_FEWER = 4
_MAPLESS = _Room(0, 0, 0, 0, 130)
_BLOCKS, _ROWS = 5, 20
#: Letters of a name that fit a line in the size of a heading.
_LONG = 45


def page(slip: Mapping[str, Any], settings: Mapping[str, Any], made_ms: int) -> str:
    """The slip as a whole HTML document of one A4 page.

    Args:
        slip: the day's numbers (see the package).
        settings: the farm's.
        made_ms: when it is printed, UTC ms.

    Raises:
        UnsownError: a paddock's boundary cannot be read.
    """
    units, where = Units(settings.get("units") == "ac"), zone(settings)
    given = list(slip.get("paddocks") or ())
    farm = settings.get("farm")
    about = ", ".join([*([str(farm)[:40]] if farm else []), printed(made_ms, where)])
    room = _ROOMS.get(len(given), _MAPLESS)
    if not given:
        body = (
            '<p class="big">Nothing was logged on this day.</p><p>If there was work, carry the '
            "phone's log in, or type in what was written on the back of the sheet; then print "
            "again.</p>"
        )
    elif len(given) <= _BLOCKS:
        body = "".join(_block(each, room, units, where, made_ms) for each in given)
    else:
        body = _table(given, units, where, made_ms)
    title = f"Day slip: {slip['day']}"
    return document(
        title,
        f'<section class="page slip n{min(len(given), 4)}">'
        f"<header><h1>{quote(day(str(slip['day'])))}</h1><p>{quote(about)}</p></header>"
        f'{_total(given, units)}{body}{_by_pen()}<p class="caution">{CAUTION}</p></section>',
    )


def _total(given: Sequence[Mapping[str, Any]], units: Units) -> str:
    """All paddocks together, where each of them was computed."""
    if len(given) < 2:
        return ""
    days = [each.get("today") or {} for each in given]
    said = []
    for key, word in (("sown_ha", "sown"), ("twice_ha", "sown twice on the map")):
        values = [d.get(key) for d in days]
        known = [v for v in values if v is not None]
        least = "at least " if len(known) < len(values) else ""
        said.append(f"{word} {least}<b>{units.area(sum(known))}</b>" if known else "")
    wasted = [each["waste"] for each in given if each.get("waste")]
    if wasted:
        area = units.area(sum(w["again_ha"] for w in wasted))
        spent = money(sum(w["cost"]["again"]["money"] for w in wasted), wasted[0])
        said.append(f"by width times way <b>{area}</b>, {spent}")
    text = ", ".join(x for x in said if x)
    return f'<p class="big">{len(given)} paddocks this day: {text}</p>' if text else ""


def _block(each: Mapping[str, Any], room: _Room, units: Units, where: tzinfo, made_ms: int) -> str:
    scene = _scene(each, made_ms, room)
    said = _advice(each, scene, units)
    tally = each.get("tally")
    waste, whole = each.get("waste"), room.wide_mm > 150
    again_ = (
        f"<div><dt>Again</dt><dd>{line(waste, units)}</dd></div>" if waste and not whole else ""
    )
    words = (
        f'<dl class="lines"><div><dt>Day</dt><dd>{_today(each, units, where)}</dd></div>'
        f"<div><dt>So far</dt><dd>{ground(tally, scene, units)}</dd></div>{again_}"
        f'<div class="next"><dt>Next</dt><dd><b>{quote(said.first)}</b> '
        f"{quote(sentences(said.then, room.then))}</dd></div></dl>"
    )
    name = str(each["name"])
    long = ' class="long"' if len(name) > _LONG else ""
    head = f"<h2{long}>{quote(short(name, 80))}</h2>"
    if not room.wide_mm:
        return f'<section class="block">{head}{words}</section>'
    ident = f"map-{each['id']}"
    tall = _BESIDE_PANEL_MM if whole and waste else room.tall_mm
    questions = (tally or {}).get("questions", ())[: room.asked]
    more_at = "" if whole else "numbered on its sheet"
    going = going_of(each.get("worth"))
    rows = room.ends - _FEWER * bool(whole and waste)
    # a small map shows the numbers that the words beside it name, and no others
    named = {p.number for p in (*listed(scene, going)[:rows], *left_over(scene))}
    only = None if whole else named
    drawn = map_of(scene, units, room.wide_mm, tall, ident=ident, only=only)
    lists = ends(scene, units, rows, more_at=more_at, level=3, going=going) + "".join(
        asked(q, where) for q in questions
    )
    if whole:
        return (
            f'<section class="block">{head}{words}<figure>{drawn}</figure>{legend(scene, ident)}'
            f'{_panel(waste, units, tally)}<div class="lists">{lists}</div></section>'
        )
    return (
        f'<section class="block">{head}<div class="beside"><figure>{drawn}</figure>'
        f"<div>{words}{lists}</div></div></section>"
    )


def _panel(waste: Mapping[str, Any] | None, units: Units, tally: Mapping[str, Any] | None) -> str:
    return panel(waste, units, tally["twice_ha"] if tally else None) if waste else ""


def _table(given: Sequence[Mapping[str, Any]], units: Units, where: tzinfo, made_ms: int) -> str:
    rows = []
    for each in given[:_ROWS]:
        said = _advice(each, _scene(each, made_ms, _MAPLESS), units)
        today, tally = each.get("today") or {}, each.get("tally")
        bare = units.area(tally["bare_ha"]) if tally else blank(11)
        doubt = units.area(tally["doubt_ha"]) if tally else blank(11)
        rows.append(
            f"<tr><th>{quote(short(str(each['name']), 44))}</th><td>{_ha(today, 'sown_ha', units)}"
            f"</td><td>{_ha(today, 'twice_ha', units)}</td><td>{bare}</td><td>{doubt}</td>"
            f"<td>{quote(short(said.first.partition('. ')[0], 90))}</td></tr>"
        )
    more = len(given) - _ROWS
    tail = f"<p>and {more} more paddocks: print their sheets</p>" if more > 0 else ""
    heads = "".join(
        f"<th>{h}</th>" for h in ("Paddock", "Sown", "Twice", "Bare so far", "Doubt so far", "Next")
    )
    return f'<table class="rows"><tr>{heads}</tr>{"".join(rows)}</table>{tail}'


def _scene(each: Mapping[str, Any], made_ms: int, room: _Room) -> Scene:
    """The paddock; a small map shows only the questions that stand beside it."""
    tally = each.get("tally")
    questions = (tally or {}).get("questions", ())
    return scene_of(
        str(each["name"]),
        each["geojson"],
        each.get("ground") if tally else None,
        at_ms=made_ms,
        questions=questions if room.wide_mm > 150 else questions[: room.asked],
        rigs=(tally or {}).get("rigs", ()),
    )


def _advice(each: Mapping[str, Any], scene: Scene, units: Units) -> Any:
    why = str((each.get("reason") or {}).get("message") or "")
    going = going_of(each.get("worth"))
    return advice(str(each.get("state")), each.get("tally"), scene, units, why=why, going=going)


def _today(each: Mapping[str, Any], units: Units, where: tzinfo) -> str:
    today = each.get("today") or {}
    parts = [
        f"sown <b>{_ha(today, 'sown_ha', units)}</b>",
        f"sown twice <b>{_ha(today, 'twice_ha', units)}</b>",
    ]
    if today.get("from_ms") is not None and today.get("to_ms") is not None:
        hours = (today["to_ms"] - today["from_ms"]) / 3.6e6
        begin, end = clock(today["from_ms"], where), clock(today["to_ms"], where)
        parts.append(f"{begin} to {end} ({hours:.1f} h)")
    if today.get("down_km") is not None:
        parts.append(f"{units.road(today['down_km'])} down")
    if today.get("runs") is not None:
        parts.append(f"{today['runs']} run{'' if today['runs'] == 1 else 's'}")
    named = [str(p)[:16] for p in today.get("phones") or () if p != "phone"]
    phones = ", ".join(named[:2]) + (f" and {len(named) - 2} more" if len(named) > 2 else "")
    parts += [f"by {quote(phones)}"] if phones else []
    fills = _together(today.get("fills") or ())
    parts += [f"filled {', '.join(filled(f) for f in fills[:2])}"] if fills else []
    return "; ".join(parts) + "."


def _together(fills: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """All fills of one product as one."""
    sums: dict[str, dict[str, Any]] = {}
    for fill in fills:
        total = sums.setdefault(str(fill.get("product")), {"product": fill.get("product")})
        for unit in ("kg", "l"):
            if fill.get(unit) is not None:
                total[unit] = total.get(unit, 0) + fill[unit]
    return list(sums.values())


def _ha(today: Mapping[str, Any], key: str, units: Units) -> str:
    value = today.get(key)
    return blank(14) if value is None else units.area(value)


def _by_pen() -> str:
    names = ("Used: seed", "fertiliser", "fuel")
    used = "; ".join(
        f"{name} {blank(14)} {unit}" for name, unit in zip(names, ("kg", "kg", "L"), strict=True)
    )
    return f'<p class="pen">{used}; driver {blank(20)}</p>'
