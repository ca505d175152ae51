"""The A4 sheet of one paddock: the map and eight lines in front, a grid for the hand behind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from unsown.core.words import Patch
from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.papers import STYLE_PATH
from unsown.papers.advice import advice, left_over
from unsown.papers.count import rig_of, sticker
from unsown.papers.drawing import grid_of, map_of, swatch
from unsown.papers.fills import COLUMNS
from unsown.papers.lines import blank, lines
from unsown.papers.scene import Scene, scene_of, side_of
from unsown.papers.when import moment, span, zone

WIDE_MM = 190.0
MAP_TALL_MM = 138.0
_GRID_TALL_MM = 140.0
_ENDS = 7
_ASKED = 2
_FILL_ROWS = 6
#: What a question is about, shorter than its own text.
_ABOUT = {
    "blind": "no position",
    "forgotten-down": "looks sown, no down tapped",
    "forgotten-up": "looks lifted, no up tapped",
    "run-without-tap": "looks like a run, nothing tapped",
    "inverted": "down and up look swapped",
}
CAUTION = (
    "Look where you drive. This picture is late, can be metres wrong, and knows no slopes, wires, "
    "holes or people. It steers and stops nothing. Keep at least 3 m (10 ft) from any line, more "
    "for high voltage: your utility's figure rules."
)


def page(
    work: Mapping[str, Any],
    paddock: Mapping[str, Any],
    rig: Mapping[str, Any] | None,
    settings: Mapping[str, Any],
    made_ms: int,
) -> str:
    """The sheet as a whole HTML document of two A4 pages.

    Args:
        work: what the paddock came to, with ``ground`` (see the package).
        paddock: the paddock with its ``geojson``.
        rig: the rig card in use, or None.
        settings: the farm's.
        made_ms: when it is printed, UTC ms.

    Raises:
        UnsownError: the paddock's boundary or the rig card cannot be read.
    """
    units, where = Units(settings.get("units") == "ac"), zone(settings)
    name = str(paddock["name"])
    ground = work.get("ground") if work.get("tally") else None
    scene = scene_of(
        name,
        paddock["geojson"],
        ground,
        at_ms=made_ms,
        pegs=work.get("pegs") or (),
        questions=(work.get("tally") or {}).get("questions", ()),
    )
    state, why = str(work.get("state")), str(work.get("why") or "")
    said = advice(state, work.get("tally"), scene, units, why=why)
    eight = lines(work, scene, said, rig_of(rig), units, where)
    top = "".join(_line(line.name, line.html) for line in eight[:2])
    rest = "".join(_line(line.name, line.html) for line in eight[2:])
    runs = work.get("runs") or ()
    body = (
        f'<section class="page front">{_head(name, work, settings, made_ms)}'
        f'<dl class="lines top">{top}</dl>'
        f"<figure>{map_of(scene, units, WIDE_MM, MAP_TALL_MM)}</figure>{_legend(scene)}"
        f'<div class="halves"><div>{_loose_ends(work, scene, units, settings)}</div>'
        f'<dl class="lines">{rest}</dl></div>'
        f'<footer>{sticker(rig, runs, settings, units)}<p class="caution">{CAUTION}</p></footer>'
        f"</section>{_back(name, scene, units, settings)}"
    )
    return document(f"Sheet: {name}", body)


def document(title: str, body: str) -> str:
    """A whole HTML document for print."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{quote(title)}</title>\n"
        f'<link rel="stylesheet" href="{STYLE_PATH}">\n</head>\n<body>\n'
        '<nav class="screen"><a href="/desk/">Back to the desk</a> Print this page on A4, both '
        "sides of the sheet.</nav>\n"
        f"<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def short(text: str, most: int) -> str:
    """The text, cut with an ellipsis where it is longer than ``most`` letters."""
    return text if len(text) <= most else text[: most - 1] + "…"


def _head(name: str, work: Mapping[str, Any], settings: Mapping[str, Any], made_ms: int) -> str:
    farm = settings.get("farm")
    parts = [str(farm)[:40]] if farm else []
    parts += [f"season {work['season']}"] if work.get("season") else []
    parts.append(f"printed {moment(made_ms, zone(settings))}")
    return f"<header><h1>{quote(short(name, 34))}</h1><p>{quote(', '.join(parts))}</p></header>"


def _line(name: str, html: str) -> str:
    return f"<div><dt>{name}</dt><dd>{html}</dd></div>"


def _legend(scene: Scene) -> str:
    words = {
        "sown": "sown",
        "twice": "sown twice",
        "part": "some rows",
        "doubt": "doubt",
        "unreachable": "can't reach",
    }
    rows = [
        (swatch(state), text)
        for state, text in words.items()
        if state in scene.states and not scene.states[state].is_empty
    ]
    if any(p.call != "can't tell" for p in scene.patches):
        rows.append((swatch("bare"), "bare"))
    if any(p.call == "can't tell" for p in scene.patches):
        rows.append((swatch("can't tell"), "can't tell: look"))
    if left_over(scene) or not scene.shown:
        rows.append((swatch("ground"), "not sown"))
    if not scene.keep_out.is_empty:
        rows.append((swatch("keep-out"), "keep-out"))
    if scene.last is not None:
        rows.append((swatch("last run"), "last run"))
    if scene.asked:
        rows.append((swatch("asked"), "question"))
    if scene.pegs:
        rows.append((swatch("peg"), "peg"))
    letters = dict.fromkeys((name.letter, name.what) for name in scene.names)
    rows += [(f'<b class="letter">{a}</b>', quote(short(what, 28))) for a, what in letters]
    items = "".join(f"<li>{sign} {text}</li>" for sign, text in rows)
    return f'<ul class="legend" aria-label="Legend">{items}</ul>'


def _loose_ends(
    work: Mapping[str, Any], scene: Scene, units: Units, settings: Mapping[str, Any]
) -> str:
    if not scene.shown:
        return '<h2>Loose ends</h2><p class="small">Not computed: nothing is known here.</p>'
    rest = left_over(scene)
    ends = [p for p in scene.patches if p not in rest]
    questions = (work.get("tally") or {}).get("questions", ())
    if not ends and not questions:
        return "<h2>Loose ends</h2><p>none that a phone can find</p>"
    rows = "".join(_end(p, scene, units) for p in ends[:_ENDS])
    more = len(ends) - _ENDS
    tail = f'<p class="small">and {more} smaller: see their numbers on the map</p>'
    asked = "".join(_asked(q, settings) for q in questions[:_ASKED])
    left = len(questions) - _ASKED
    asked += f'<p class="small">and {left} more questions at home</p>' if left > 0 else ""
    table = f'<table class="ends">{rows}</table>' if rows else ""
    return f"<h2>Loose ends: tick when done</h2>{table}{tail if more > 0 else ''}{asked}"


def _end(patch: Patch, scene: Scene, units: Units) -> str:
    side = side_of(scene, patch.outline)
    return (
        f'<tr><td class="box"></td><th>{patch.number}</th><td>{units.size(patch.area_m2)}</td>'
        f"<td>{quote(patch.call)}</td><td>{quote(patch.kind)}</td><td>{side}</td></tr>"
    )


def _asked(question: Mapping[str, Any], settings: Mapping[str, Any]) -> str:
    when = span(question["from_ms"], question["to_ms"], zone(settings))
    ticks = " ".join(
        f'<span class="box"></span>&nbsp;{quote(word)}' for word in question["answers"]
    )
    about = _ABOUT.get(question["kind"]) or short(question["text"], 60)
    return f'<p class="asked"><b>?{question["number"]}</b> {when}: {quote(about)}<br>{ticks}</p>'


def _back(name: str, scene: Scene, units: Units, settings: Mapping[str, Any]) -> str:
    grid, square = grid_of(scene, units, WIDE_MM, _GRID_TALL_MM)
    return (
        f'<section class="page back"><header><h1>{quote(short(name, 24))} by hand</h1>'
        "<p>for when the phone is dead</p></header>"
        f'<p class="by">Day {blank(24)} Driver {blank(24)} Began {blank(14)} Ended {blank(14)}</p>'
        f"<figure>{grid}</figure>"
        f'<p class="key">Draw on it: {square}. <b>Hatch</b> what you sowed; <b>ring</b> what is '
        "bare; <b>?</b> where you are not sure; <b>arrow</b> where you stopped.</p>"
        f'{_fills()}<p class="free small">Left free: the sticker is cut out of the front here.</p>'
        "</section>"
    )


def _fills() -> str:
    heads = "".join(f"<th>{c.head}{f', {c.unit}' if c.unit else ''}</th>" for c in COLUMNS)
    empty = "<tr>" + "<td></td>" * len(COLUMNS) + "</tr>"
    return (
        f'<h2>Fills, by pen</h2><table class="fills"><tr>{heads}</tr>{empty * _FILL_ROWS}</table>'
        '<p class="small">At home the entry form asks in the same order.</p>'
    )
