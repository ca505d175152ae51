"""Several rigs in one paddock, in words: what each sowed, and how the seams between them lie."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from unsown.core.between import word_of
from unsown.core.handover import Unclosed
from unsown.core.place import place_of
from unsown.formats.eight import seam as in_words
from unsown.formats.units import Units
from unsown.papers.scene import Scene, point_of

#: Letters of a rig's name, and how many rigs are named.
_NAME, _NAMED = 24, 4


def shares(tally: Mapping[str, Any], units: Units) -> str:
    """``big 3.23 ha, small 2.27 ha``: what each of several rigs sowed; empty where one did."""
    rigs = tally.get("rigs") or ()
    if len(rigs) < 2:
        return ""
    told = [f"{_name(rig)} {units.area(rig['sown_ha'])}" for rig in rigs[:_NAMED]]
    more = [f"{len(rigs) - _NAMED} more"] if len(rigs) > _NAMED else []
    return ", ".join(told + more)


def to_look_at(tally: Mapping[str, Any], scene: Scene, units: Units) -> list[str]:
    """What is to be done about the seams that are not known to be closed, longest first."""
    seams = sorted(tally.get("between") or (), key=lambda seam: -seam["length_m"])
    told = (_told(seam, tally["rigs"], scene, units) for seam in seams)
    return [sentence for sentence in told if sentence]


def _told(seam: Mapping[str, Any], rigs: Any, scene: Scene, units: Units) -> str:
    word = word_of(seam["chance"], seam["sigma_m"])
    if word == "closed":
        return ""
    one, other = (str(rigs[k]["name"]) for k in seam["rigs"])
    side = place_of(point_of(seam["lon"], seam["lat"], scene.plane), scene.net).side
    lies = {key: seam[key] for key in ("length_m", "gap_m", "sigma_m")}
    told = in_words(Unclosed((one, other), side, word=word, **lies), units)
    return f"{told[0].upper()}{told[1:]}."


def _name(rig: Mapping[str, Any]) -> str:
    return str(rig["name"])[:_NAME]
