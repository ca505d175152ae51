"""The farm pack: what a phone carries to the paddock, as the engine's own words, ready to use.

A phone has no reader for boundary files and none for rig cards: both are read here, strictly, and
carried as what they came to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import KeepOut, Paddock, Rig
from unsown.service import board, rigcards, settings, things
from unsown.store import things as kept
from unsown.store.store import Store


def pack(store: Store, season: int) -> dict[str, Any]:
    """Paddocks, rig cards, settings, and the ground of a season by paddock, where there is any."""
    carried = paddocks(store)
    found = {row["id"]: board.ground(store, (row["id"], season)) for row in carried}
    return {
        "season": season,
        "settings": settings.settings(store),
        "paddocks": carried,
        "rigs": rigs(store),
        "ground": {id_: made for id_, made in found.items() if made is not None},
    }


def paddocks(store: Store) -> list[dict[str, Any]]:
    """Every paddock in use: what pages get of it, and ``land``, the paddock as it was read."""
    with store.read() as conn:
        rows = [t for t in kept.newest(conn, "paddock") if t.away_ms is None]
    return [
        {**things.paddock_json(t), "land": land_of(things.to_paddock(t.body, t.name))} for t in rows
    ]


def rigs(store: Store) -> list[dict[str, Any]]:
    """Every rig card in use: what pages get of it, when it was saved, and ``chain``.

    ``chain`` holds its versions that hold at any time, the earliest first, each from its
    ``from_ms`` on.
    """
    out = []
    with store.read() as conn:
        for thing in kept.newest(conn, "rig"):
            if thing.away_ms is None:
                chain, _, _ = rigcards.rigs_for(conn, [(0, thing.id)])
                said = {**things.rig_json(thing), "made_ms": thing.made_ms}
                out.append({**said, "chain": [_rig(rig) for rig in chain]})
    return out


def land_of(paddock: Paddock) -> dict[str, Any]:
    """A paddock's words; areas are polygons of open rings of ``[lon, lat]`` in degrees."""
    assert paddock.area is not None  # only a driven lap comes without, and is saved with one
    return {
        "name": paddock.name,
        "boundary": paddock.boundary,
        "area": _polygons(paddock.area),
        "keep_outs": [_keep_out(out) for out in paddock.keep_outs],
        "notes": list(paddock.notes),
        "gates": [asdict(gate) for gate in paddock.gates],
    }


def _keep_out(out: KeepOut) -> dict[str, Any]:
    return {
        "kind": out.kind,
        "name": out.name,
        "hazard": out.hazard,
        "from_ms": out.from_ms,
        "until_ms": out.until_ms,
        "area": _polygons(out.area),
    }


def _rig(rig: Rig) -> Mapping[str, Any]:
    return {**asdict(rig), "notes": list(rig.notes)}


def _polygons(area: BaseGeometry) -> list[list[list[list[float]]]]:
    parts = [p for p in getattr(area, "geoms", [area]) if isinstance(p, Polygon)]
    return [[_ring(ring.coords) for ring in (part.exterior, *part.interiors)] for part in parts]


def _ring(coordinates: Any) -> list[list[float]]:
    return [[float(lon), float(lat)] for lon, lat, *_ in coordinates][:-1]
