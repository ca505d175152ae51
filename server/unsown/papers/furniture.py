"""The furniture of a page: the document around it, the legend, the lists of loose ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import tzinfo
from typing import Any

from unsown.core.words import Patch
from unsown.formats.quote import quote
from unsown.formats.units import Units
from unsown.formats.when import span
from unsown.papers import STYLE_PATH
from unsown.papers.advice import left_over
from unsown.papers.drawing import swatch
from unsown.papers.going import ASK, Going
from unsown.papers.lines import cut
from unsown.papers.scene import Scene, side_of

#: What a question is about, shorter than its own text.
_ABOUT = {
    "blind": "no position",
    "forgotten-down": "looks sown, no down tapped",
    "forgotten-up": "looks lifted, no up tapped",
    "run-without-tap": "looks like a run, nothing tapped",
    "inverted": "down and up look swapped",
}
_STATES = {
    "sown": "sown",
    "twice": "sown twice",
    "part": "some rows",
    "doubt": "doubt",
    "unreachable": "can't reach",
}


_HAZARD = " (hazard)"
#: Letters that the numbers of patches not listed may take.
_MOST_OTHERS = 90


def document(title: str, body: str) -> str:
    """A whole HTML document for print."""
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{quote(title)}</title>\n"
        f'<link rel="stylesheet" href="{STYLE_PATH}">\n</head>\n<body>\n'
        '<nav class="screen"><a href="/desk/">Back to the desk</a> Print this page on A4; where it '
        "has two pages, on both sides of one sheet.</nav>\n"
        f"<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def heading(text: str) -> str:
    """The page's first heading; a long one is set smaller."""
    size = "" if len(text) <= 20 else "long" if len(text) <= 32 else "longest"
    said = f' class="{size}"' if size else ""
    return f"<h1{said}>{quote(short(text, 80))}</h1>"


def short(text: str, most: int) -> str:
    """The text, cut with an ellipsis where it is longer than ``most`` letters."""
    return text if len(text) <= most else text[: most - 1] + "…"


def legend(scene: Scene, ident: str = "map", *, way: bool = False) -> str:
    """What the patterns and signs of the map ``ident`` mean, of those that occur on it.

    ``way`` says whether the way through the patches is drawn on it.
    """
    rest = left_over(scene)
    rows = [
        (swatch(state, ident), text)
        for state, text in _STATES.items()
        if state in scene.states and not scene.states[state].is_empty
    ]
    if rows and not scene.theirs.is_empty:
        first, *others = (short(name, 22) for name in scene.rigs)
        rows[:1] = [
            (swatch("sown", ident), f"sown by {quote(first)}"),
            (swatch("theirs", ident), f"sown by {quote(', '.join(others))}"),
        ]
    if any(p.call != "can't tell" for p in scene.patches):
        rows.append((swatch("bare"), "bare, or not sown yet" if rest else "bare"))
    if any(p.call == "can't tell" for p in scene.patches):
        rows.append((swatch("can't tell"), "can't tell: look"))
    if not scene.shown:
        rows.append((swatch("ground"), "not sown"))
    if not scene.keep_out.is_empty:
        rows.append((swatch("keep-out", ident), "keep-out"))
    if scene.last is not None:
        rows.append((swatch("last run"), "last run"))
    if way:
        rows.append((swatch("way"), "the way: tool up, down"))
    if scene.asked:
        rows.append((swatch("asked"), "question"))
    if scene.pegs:
        rows.append((swatch("peg"), "peg"))
    if scene.gates:
        rows.append((swatch("gate"), "gate"))
    letters = dict.fromkeys((name.letter, name.what) for name in scene.names)
    rows += [(f'<b class="letter">{a}</b>', quote(_named(what))) for a, what in letters]
    items = "".join(f"<li>{sign} {text}</li>" for sign, text in rows)
    return f'<ul class="legend" aria-label="Legend">{items}</ul>'


def _named(what: str) -> str:
    """A keep-out's name for the legend: cut where it is long, never that it is a hazard."""
    name = what.removesuffix(_HAZARD)
    return short(name, 22) + what[len(name) :]


def listed(scene: Scene, going: Going | None) -> list[Patch]:
    """The loose ends as they are listed: in driving order where weighed, else the largest first."""
    rest = left_over(scene)
    found = sorted((p for p in scene.patches if p not in rest), key=lambda p: -p.area_m2)
    if going is not None:
        place = {number: k for k, number in enumerate(going.order)}
        found.sort(key=lambda patch: place.get(patch.number, len(place)))
    return found


def ends(
    scene: Scene,
    units: Units,
    most: int,
    *,
    more_at: str = "",
    level: int = 2,
    going: Going | None = None,
) -> str:
    """The loose ends with a box to tick, at most ``most`` of them.

    In driving order with what each is worth where that was weighed (``going``), else the largest
    first. The others are told by number, or ``more_at`` says where they are; ``level`` is that of
    the heading.
    """
    head = f"<h{level}>Loose ends{{}}</h{level}>"
    if not scene.shown:
        return head.format("") + '<p class="small">Nothing is known here yet.</p>'
    found = listed(scene, going)
    if not found:
        return head.format("") + "<p>no bare patch that a phone can find</p>"
    labels = {p.number: ASK for p in found if p.asks and p.call != "can't tell"}
    labels = dict(going.labels) if going is not None else labels
    rows = "".join(_end(p, scene, units, labels.get(p.number)) for p in found[:most])
    more = len(found) - most
    left = "more" if going is not None else "smaller"
    told = f", {more_at}" if more_at else f" on the map: {_others(found[most:], labels)}"
    tail = f'<p class="small">and {more} {left}{quote(told)}</p>' if more > 0 else ""
    how = ": in driving order" if going is not None else ": tick when done"
    return f'{head.format(how)}<table class="ends">{rows}</table>{tail}'


def _others(rest: Sequence[Patch], labels: Mapping[int, str]) -> str:
    """The numbers of what is not listed, in its order: ``worth it 9, 8; your call 19 to 31``."""
    by: dict[str, list[int]] = {}
    for patch in rest:
        by.setdefault(labels.get(patch.number, ""), []).append(patch.number)
    said = (f"{label} {numbers(mine)}".strip() for label, mine in by.items())
    return cut("; ".join(said), _MOST_OTHERS)


def numbers(given: Sequence[int]) -> str:
    """Numbers in the order given, three or more in a row as ``19 to 31``."""
    runs: list[list[int]] = []
    for number in given:
        if runs and runs[-1][-1] + 1 == number:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
    )


def _end(patch: Patch, scene: Scene, units: Units, label: str | None) -> str:
    """A row; what the patch is worth stands in place of its kind where that is known."""
    side = side_of(scene, patch.outline)
    return (
        f'<tr><td class="box"></td><th>{patch.number}</th><td>{units.size(patch.area_m2)}</td>'
        f"<td>{quote(patch.call)}</td><td>{quote(label or patch.kind)}</td><td>{side}</td></tr>"
    )


def asked(question: Mapping[str, Any], where: tzinfo) -> str:
    """A question with a box for each answer."""
    when = span(question["from_ms"], question["to_ms"], where)
    ticks = " ".join(
        f'<span class="box"></span>&nbsp;{quote(word)}' for word in question["answers"]
    )
    about = _ABOUT.get(question["kind"]) or short(question["text"], 60)
    tool = "the tool was " if {"down", "up"} <= set(question["answers"]) else ""
    return (
        f'<p class="asked"><b>?{question["number"]}</b> {when}: {quote(about)}<br>{tool}{ticks}</p>'
    )
