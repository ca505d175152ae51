"""The handover on one page: what to do next, where, and a script to read out over the radio."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import tzinfo
from typing import Any

from shapely.geometry import LineString

from unsown.core.place import place_of
from unsown.formats.eight import BLANK, eight
from unsown.formats.going import lasts_in_words, which_gate
from unsown.formats.handed import from_json
from unsown.formats.place import in_words
from unsown.formats.quote import quote
from unsown.formats.script import script, spoken
from unsown.formats.units import Units
from unsown.formats.when import moment, printed, zone
from unsown.papers.advice import Advice, advice
from unsown.papers.drawing import map_of
from unsown.papers.furniture import asked, document, ends, heading, legend
from unsown.papers.going import ASK, going_of
from unsown.papers.lines import blank, cut, lines, others, sentences
from unsown.papers.rigs import shares
from unsown.papers.scene import Scene, scene_of

WIDE_MM, TALL_MM = 190.0, 104.0
_STOPS, _THEN, _LINE, _HAZARDS = 8, 330, 300, 130
#: A number before its unit.
_NUMBER = re.compile(r"(\d|____) (?=(?:m|m²|ha|ac|ft|kg|L|min|rounds?)\b)")
#: Lines that stand elsewhere on the page, larger.
_APART = ("Ground", "Next")
#: Questions and letters of later stops that there is room for.
_ASKED, _LATER = 3, 150
#: So many stops leave room below them.
_SHORT = 4
CAUTION = (
    "The way on the map is where patches lie, not where to steer: it knows no slopes, wires, holes "
    "or soft ground. Look. You decide. Keep at least 3 m (10 ft) from any line, more for high "
    "voltage: your utility's figure rules. Before leaving the seat: tool down or locked, engine "
    "off, key out. Never under a raised tool."
)


def page(
    work: Mapping[str, Any],
    paddock: Mapping[str, Any],
    settings: Mapping[str, Any],
    made_ms: int,
) -> str:
    """The handover as a whole HTML document of one A4 page.

    Args:
        work: what the paddock came to, with ``ground`` (see the package).
        paddock: the paddock with its ``geojson``.
        settings: the farm's.
        made_ms: when it is printed, UTC ms.

    Raises:
        UnsownError: the paddock's boundary cannot be read.
    """
    units, where = Units(settings.get("units") == "ac"), zone(settings)
    name = str(paddock["name"])
    tally = work.get("tally")
    scene = scene_of(
        name,
        paddock["geojson"],
        work.get("ground") if tally else None,
        at_ms=made_ms,
        pegs=work.get("pegs") or (),
        questions=(tally or {}).get("questions", ()),
        rigs=(tally or {}).get("rigs", ()),
    )
    way = ((work.get("worth") or {}).get("now") or {}).get("way") or ()
    drawn = map_of(scene, units, WIDE_MM, TALL_MM, way=_way(way, scene))
    farm = settings.get("farm")
    about = ", ".join([*([str(farm)[:40]] if farm else []), printed(made_ms, where)])
    return document(
        f"Handover: {name}",
        f'<section class="page handover"><header>{heading(f"Handover: {name}")}'
        f"<p>{quote(about)}</p></header>{_next(work, scene, units)}"
        f"<figure>{drawn}</figure>{legend(scene, way=bool(way))}"
        f"{_halves(work, scene, units, where)}{_script(work, units)}"
        f'<p class="pen">from {blank(40)} to {blank(40)} at {blank(24)}</p>'
        f'<p class="caution">{CAUTION}</p></section>',
    )


def _halves(work: Mapping[str, Any], scene: Scene, units: Units, where: tzinfo) -> str:
    """The way beside the lines; the questions below whichever of them is shorter."""
    left, right = _stops(work, scene, units), _lines(work, scene, units, where)
    questions = _asked(work, scene, where)
    if left.count("</tr>") > _SHORT and "way" in left:
        right += questions
    else:
        left += questions
    return f'<div class="halves"><div>{left}</div><div>{right}</div></div>'


def _next(work: Mapping[str, Any], scene: Scene, units: Units) -> str:
    state, why = str(work.get("state")), str((work.get("reason") or {}).get("message") or "")
    going = going_of(work.get("worth"))
    said = advice(state, work.get("tally"), scene, units, why=why, going=going)
    handed = work.get("handover")
    ground = "; ".join(x for x in _part(handed, "Ground", units)) if handed else ""
    by = shares(work.get("tally") or {}, units)
    ground += f"; by {by}" if ground and by else ""
    about = f"<p>{_held(ground)}</p>" if ground else ""
    return (
        f'<div class="first"><p class="do"><b>{_held(said.first)}</b></p>'
        f"<p>{_held(sentences(said.then, _THEN))}</p>{about}</div>"
    )


def _part(handed: Mapping[str, Any], name: str, units: Units) -> list[str]:
    lines = dict(eight(from_json(handed), units, str))
    return [lines[name]]


def _lines(work: Mapping[str, Any], scene: Scene, units: Units, where: tzinfo) -> str:
    """The rest of the eight lines; those of the sheet, for the pen, where nothing is computed."""
    handed = work.get("handover")
    if not handed:
        said = lines(work, scene, Advice(""), None, units, where)
        rows = [(line.name, line.html) for line in said]
    else:
        told = eight(from_json(handed), units, lambda t_ms: moment(t_ms, where))
        known = [(n, f"{_known(scene)}{x}" if n == "Hazards" else x) for n, x in told]
        known = [(n, f"{x}{others(work)}" if n == "Machine" else x) for n, x in known]
        rows = [(n, _held(cut(x, _LINE)).replace(BLANK, blank(14))) for n, x in known]
    body = "".join(f"<div><dt>{n}</dt><dd>{x}</dd></div>" for n, x in rows if n not in _APART)
    return f'<dl class="lines">{body}</dl>'


def _asked(work: Mapping[str, Any], scene: Scene, where: tzinfo) -> str:
    """What only the driver who goes can answer, with boxes to tick before he has gone."""
    questions = (work.get("tally") or {}).get("questions", ()) if scene.shown else ()
    if not questions:
        return ""
    more = len(questions) - _ASKED
    tail = f'<p class="small">and {more} more questions at home</p>' if more > 0 else ""
    told = "".join(asked(q, where) for q in questions[:_ASKED])
    return f"<h2>Ask who drove</h2>{told}{tail}"


def _known(scene: Scene) -> str:
    """The hazards on the map by their letters, before what is new."""
    known = {n.letter: n.what.removesuffix(" (hazard)") for n in scene.names if n.hazard}
    many = ", ".join(f"{letter} {what}" for letter, what in known.items())
    return f"on the map: {cut(many, _HAZARDS)}; " if many else ""


def _held(text: str) -> str:
    """As HTML, with every number on the same line as its unit."""
    return _NUMBER.sub("\\1&nbsp;", quote(text))


def _stops(work: Mapping[str, Any], scene: Scene, units: Units) -> str:
    """The way in order, with a box to tick; the plain list where nothing is worth the way."""
    worth = work.get("worth") or {}
    rows = stops(worth.get("now"), scene, units)
    if not rows:
        return ends(scene, units, _STOPS, going=going_of(worth or None))
    later = cut(", ".join(numbers.replace(", ", "+") for numbers, _ in rows[_STOPS:]), _LATER)
    listed = "".join(
        f'<tr><td class="box"></td><th>{quote(numbers)}</th><td>{_held(text)}</td></tr>'
        for numbers, text in rows[:_STOPS]
    )
    tail = f'<p class="small">Then {quote(later)}, then the gate.</p>' if later else ""
    tail += f'<p class="small">{quote(which_gate(worth))}</p>'
    seed = "".join(
        f'<p class="small">{_held(lasts_in_words(each, units))}</p>'
        for each in worth["now"].get("lasting", ())
    )
    return f'<h2>The way: tick when done</h2><table class="ends way">{listed}</table>{tail}{seed}'


def stops(now: Mapping[str, Any] | None, scene: Scene, units: Units) -> list[tuple[str, str]]:
    """The stops in driving order: patch numbers, and where, from which side, how far."""
    if now is None:
        return []
    by = {p.number: p for p in scene.patches}
    out = []
    for block in now["blocks"]:
        runs = [now["stops"][at]["run"] for at in block]
        numbers = sorted({int(n) for run in runs for n in run["covers"]})
        first = by.get(numbers[0])
        where = in_words(place_of(first.outline, scene.net), units) if first else ""
        long = units.distance(sum(run["length_m"] for run in runs))
        many = f" in {len(runs)} runs" if len(runs) > 1 else ""
        out.append(
            (
                ", ".join(map(str, numbers)),
                f"{where}; from the {runs[0]['from_side']}, {long}{many}"
                + _ask_first([now["groups"][now["stops"][at]["group"]] for at in block]),
            )
        )
    return out


def _ask_first(groups: Sequence[Mapping[str, Any]]) -> str:
    """What of a stop is to be asked about first, and which questions those are on the page."""
    mine = [g for g in groups if g["label"] == ASK]
    if not mine:
        return ""
    some = len(mine) < len(groups)
    about = f" about {', '.join(str(n) for g in mine for n in g['patches'])}" if some else ""
    marks = ", ".join(f"?{q}" for q in sorted({q for g in mine for q in g["asks"]}))
    return f"; {ASK}{about} ({marks})"


def _script(work: Mapping[str, Any], units: Units) -> str:
    handed = work.get("handover")
    if not handed:
        return ""
    said = script(from_json(handed), units)
    return (
        f'<section class="radio"><h2>Read out over the radio ({spoken(said)} words)</h2>'
        f"<p>{quote(said)}</p></section>"
    )


def _way(pieces: Sequence[Mapping[str, Any]], scene: Scene) -> list[tuple[Any, bool]]:
    """The pieces of the way on the plane, with whether the tool is down."""
    return [
        (scene.plane.shape_to_xy(LineString(each["line"])), bool(each["tool_down"]))
        for each in pieces
    ]
