"""The service's JSON -> shapes on the paddock's plane, for drawing and for saying where."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, shape
from shapely.geometry.base import BaseGeometry

from unsown.core.place import place_of
from unsown.core.plane import Plane
from unsown.core.words import KeepOut, Patch
from unsown.formats.boundary import read_paddock
from unsown.formats.marks import Lettered, lettered

STATES = ("sown", "part", "twice", "doubt", "unreachable")
_CAN_TELL = 0.6


@dataclass(frozen=True)
class Way:
    """One unbroken stretch of a run: the tool's path on the plane, from when until when.

    ``up_ms`` is when the run's lever went up. ``length_m`` is by speed, where it is known.
    ``phone`` logged it, and it is ``wide_m`` wide; nought where that is not told.
    """

    number: int
    line: LineString
    from_ms: int
    to_ms: int
    up_ms: int
    length_m: float
    phone: str = ""
    wide_m: float = 0.0


@dataclass(frozen=True)
class Scene:
    """One paddock on its plane, with what was found in it.

    ``asked`` are the places of open questions, by number.
    ``shown`` is False where the ground was not computed: then nothing is drawn as sown or bare.
    ``notes`` are those of the keep-outs by what they are. ``rigs`` are the names of several rigs
    that worked here, and ``theirs`` is the ground that others than the first of them sowed.
    """

    name: str
    plane: Plane
    whole: BaseGeometry
    net: BaseGeometry
    keep_out: BaseGeometry
    names: tuple[Lettered, ...]
    states: Mapping[str, BaseGeometry] = field(default_factory=dict)
    patches: tuple[Patch, ...] = ()
    ways: tuple[Way, ...] = ()
    pegs: tuple[tuple[str, Point], ...] = ()
    gates: tuple[Point, ...] = ()
    asked: tuple[tuple[int, Point], ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)
    shown: bool = False
    rigs: tuple[str, ...] = ()
    theirs: BaseGeometry = field(default_factory=MultiPolygon)

    @property
    def last(self) -> Way | None:
        """The stretch that was sown last."""
        return max(self.ways, key=lambda way: way.to_ms, default=None)


def scene_of(
    name: str,
    geojson: Mapping[str, Any],
    ground: Mapping[str, Any] | None,
    *,
    at_ms: int,
    pegs: Sequence[Mapping[str, Any]] = (),
    questions: Sequence[Mapping[str, Any]] = (),
    rigs: Sequence[Mapping[str, Any]] = (),
) -> Scene:
    """The paddock and, where it was computed, its ground.

    Args:
        name: the paddock's.
        geojson: its boundary and keep-outs.
        ground: the computed states, patches and runs, or None.
        at_ms: which seasonal keep-outs hold, where there is no ground that says it.
        pegs: ``name``, ``lat_deg``, ``lon_deg``, ``t_ms``.
        questions: ``number``, ``lon``, ``lat``.
        rigs: ``name`` and ``phones`` of each rig that worked here.

    Raises:
        PaddockError: the boundary cannot be read.
    """
    paddock = read_paddock(json.dumps(geojson).encode(), name)
    corners = shapely.get_coordinates(paddock.area)
    plane = Plane.around(corners[:, 0], corners[:, 1])
    whole = plane.shape_to_xy(paddock.area)
    kept = [*_features(ground, "keep-out")]
    outs = (
        [plane.shape_to_xy(_polygons(g)) for g, _ in kept]
        if ground is not None
        else [plane.shape_to_xy(k.area) for k in paddock.keep_outs if _holds(k, at_ms)]
    )
    keep_out = shapely.intersection(shapely.union_all(np.asarray(outs, dtype=object)), whole)
    empty = MultiPolygon()
    keep_out = keep_out if outs else empty
    states = {
        state: shapely.union_all(
            np.asarray([plane.shape_to_xy(_polygons(g)) for g, _ in _features(ground, state)])
        )
        for state in STATES
    }
    ways = tuple(_ways(ground, plane))
    several = rigs if len(rigs) > 1 else ()
    return Scene(
        name=name,
        plane=plane,
        whole=whole,
        net=whole.difference(keep_out),
        keep_out=keep_out,
        names=tuple(lettered(paddock.keep_outs, keep_out, plane)),
        states=states,
        patches=tuple(sorted(_patches(ground, plane), key=lambda p: p.number)),
        ways=ways,
        pegs=tuple(_pegs(pegs, plane)),
        gates=tuple(point_of(g.lon_deg, g.lat_deg, plane) for g in paddock.gates),
        asked=tuple((int(q["number"]), point_of(q["lon"], q["lat"], plane)) for q in questions),
        notes=dict(_notes(geojson)),
        shown=ground is not None,
        rigs=tuple(str(rig["name"]) for rig in several),
        theirs=_of_others(ways, several, states["sown"]),
    )


def _of_others(
    ways: Sequence[Way], rigs: Sequence[Mapping[str, Any]], sown: BaseGeometry
) -> BaseGeometry:
    """What others than the first rig sowed: their runs as wide as they are, of the sown ground."""
    phones = {phone for rig in rigs[1:] for phone in rig.get("phones", ())}
    strips = [w.line.buffer(w.wide_m / 2, cap_style="flat") for w in ways if w.phone in phones]
    return shapely.union_all(np.asarray(strips, dtype=object)).intersection(sown)


def _features(
    ground: Mapping[str, Any] | None, state: str
) -> Iterator[tuple[BaseGeometry, Mapping[str, Any]]]:
    for feature in (ground or {}).get("features", ()):
        about = feature.get("properties") or {}
        if about.get("state") == state and feature.get("geometry"):
            yield shape(feature["geometry"]), about


def _polygons(geometry: BaseGeometry) -> BaseGeometry:
    return geometry if geometry.is_valid else shapely.make_valid(geometry)


def _holds(keep_out: KeepOut, at_ms: int) -> bool:
    begun = keep_out.from_ms is None or keep_out.from_ms <= at_ms
    return (
        begun
        and keep_out.kind != "unreachable"
        and (keep_out.until_ms is None or at_ms <= keep_out.until_ms)
    )


def _patches(ground: Mapping[str, Any] | None, plane: Plane) -> Iterator[Patch]:
    for geometry, about in _features(ground, "bare"):
        outline = plane.shape_to_xy(_polygons(geometry))
        chance = float(about.get("chance") or 0.0)
        area_m2 = float(about.get("area_m2") or outline.area)
        half = outline.length / 2
        # the sides of the rectangle with the same area and outline length
        length = (half + max(half**2 - 4 * outline.area, 0.0) ** 0.5) / 2
        yield Patch(
            number=int(about.get("number") or 0),
            outline=outline,
            area_m2=area_m2,
            width_m=outline.area / max(length, 1e-6),
            length_m=length,
            kind=about.get("kind", "pocket"),
            chance=chance,
            call=about.get("call", "likely" if chance >= _CAN_TELL else "can't tell"),
            place=geometry.representative_point(),
            asks=tuple(about.get("asks") or ()),
        )


def _ways(ground: Mapping[str, Any] | None, plane: Plane) -> Iterator[Way]:
    for geometry, about in _features(ground, "run"):
        lines = [part for part in shapely.get_parts(geometry) if isinstance(part, LineString)]
        if not lines or about.get("up_ms") is None:
            continue
        points = np.concatenate([shapely.get_coordinates(line) for line in lines])
        way = LineString(np.column_stack(plane.to_xy(points[:, 0], points[:, 1])))
        up = int(about["up_ms"])
        begin = int(about.get("from_ms") or about.get("down_ms") or 0)
        end = int(about.get("to_ms") or up)
        length = float(about.get("length_m") or way.length)
        number, wide = int(about.get("number") or 0), float(about.get("width_m") or 0.0)
        yield Way(number, way, begin, end, up, length, str(about.get("phone") or ""), wide)


def _pegs(pegs: Sequence[Mapping[str, Any]], plane: Plane) -> Iterator[tuple[str, Point]]:
    """Each peg once, where it was seen last."""
    latest = {str(p.get("name") or "peg"): p for p in sorted(pegs, key=lambda p: p["t_ms"])}
    for name, peg in latest.items():
        yield name, point_of(peg["lon_deg"], peg["lat_deg"], plane)


def point_of(lon_deg: float, lat_deg: float, plane: Plane) -> Point:
    """A place in degrees as a point of the plane."""
    x, y = plane.to_xy(np.asarray([lon_deg]), np.asarray([lat_deg]))
    return Point(float(x[0]), float(y[0]))


def _notes(geojson: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for feature in geojson.get("features", ()):
        about = feature.get("properties") or {}
        if about.get("note"):
            yield str(about.get("name") or about.get("kind") or ""), str(about["note"])


def side_of(scene: Scene, geometry: BaseGeometry) -> str:
    """The side of the paddock that something lies at, in a word or two, such as ``north-west``."""
    return place_of(geometry, scene.net).side
