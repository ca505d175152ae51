"""The A4 sheet of one paddock: the map and eight lines in front, a grid for the hand behind."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import tzinfo
from typing import Any

from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.formats.when import printed, zone
from unsown.papers.advice import advice
from unsown.papers.count import rig_of, sticker
from unsown.papers.drawing import grid_of, map_of, tall_of
from unsown.papers.fills import COLUMNS
from unsown.papers.furniture import asked, document, ends, heading, legend
from unsown.papers.going import going_of
from unsown.papers.lines import blank, lines
from unsown.papers.scene import Scene, scene_of

WIDE_MM = 190.0
MAP_TALL_MM = 138.0
_EMPTY_TALL_MM = 168.0  # where there is little to say below
_ROW_MM = 4.2
_GRID_TALL_MM = 140.0
_ENDS = 6
_ASKED = 2
_FILL_ROWS = 6
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
        rigs=(work.get("tally") or {}).get("rigs", ()),
    )
    state, why = str(work.get("state")), str((work.get("reason") or {}).get("message") or "")
    going = going_of(work.get("worth"))
    said = advice(state, work.get("tally"), scene, units, why=why, going=going)
    eight = lines(work, scene, said, rig_of(rig), units, where)
    tall = MAP_TALL_MM if scene.shown else _EMPTY_TALL_MM
    spare = int(max(0.0, tall - tall_of(scene, WIDE_MM, tall)) / _ROW_MM)
    top = "".join(_line(line.name, line.html) for line in eight[:2])
    rest = "".join(_line(line.name, line.html) for line in eight[2:])
    body = (
        f'<section class="page front">{_head(name, work, settings, made_ms)}'
        f'<dl class="lines top">{top}</dl>'
        f"<figure>{map_of(scene, units, WIDE_MM, tall)}</figure>{legend(scene)}"
        f'<div class="halves"><div>{_loose_ends(work, scene, units, where, spare)}</div>'
        f'<dl class="lines">{rest}</dl></div>'
        f"<footer>{sticker(rig, scene.ways, settings, units)}"
        f'<p class="caution">{CAUTION}</p></footer>'
        f"</section>{_back(name, scene, units, settings)}"
    )
    return document(f"Sheet: {name}", body)


def _head(name: str, work: Mapping[str, Any], settings: Mapping[str, Any], made_ms: int) -> str:
    farm = settings.get("farm")
    parts = [str(farm)[:40]] if farm else []
    parts += [f"season {work['season']}"] if work.get("season") else []
    parts.append(printed(made_ms, zone(settings)))
    return f"<header>{heading(name)}<p>{quote(', '.join(parts))}</p></header>"


def _line(name: str, html: str) -> str:
    return f"<div><dt>{name}</dt><dd>{html}</dd></div>"


def _loose_ends(
    work: Mapping[str, Any], scene: Scene, units: Units, where: tzinfo, spare: int
) -> str:
    questions = (work.get("tally") or {}).get("questions", ()) if scene.shown else ()
    left = len(questions) - _ASKED
    more = f'<p class="small">and {left} more questions at home</p>' if left > 0 else ""
    rows = _ENDS + spare + 2 * (_ASKED - min(len(questions), _ASKED))
    going = going_of(work.get("worth"))
    return (
        ends(scene, units, rows, going=going)
        + "".join(asked(q, where) for q in questions[:_ASKED])
        + more
    )


def _back(name: str, scene: Scene, units: Units, settings: Mapping[str, Any]) -> str:
    grid, square = grid_of(scene, units, WIDE_MM, _GRID_TALL_MM)
    return (
        f'<section class="page back"><header>{heading(f"By hand: {name}")}'
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
