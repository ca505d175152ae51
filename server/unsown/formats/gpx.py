"""GPX 1.0 and 1.1 <-> Log, through gpxpy.

Whether the tool is in the ground comes from waypoints named or typed ``down`` or ``up`` with a
time, or from our own extension on track points (``NAMESPACE``): ``lever`` (``down`` or ``up``,
the state at that point), ``acc_m``, ``speed_m_s``, ``course_deg``; on a track: ``phone``. Speed
is also taken from GPX 1.0's ``speed`` and from any extension element of that local name.
``hdop`` is a geometry factor, not metres: it is not read as an accuracy.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from typing import Any
from xml.sax.saxutils import escape

import numpy as np
from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint

from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Log, Mark
from unsown.formats import guard
from unsown.formats.gpxtree import NAMESPACE, OURS, Told, document
from unsown.formats.moments import to_moment, to_ms
from unsown.formats.rows import Rows

_NOT_XML = re.compile("[^\\t\\n\\r\\x20-\\ud7ff\\ue000-\\ufffd\\U00010000-\\U0010ffff]")
_LEVER = ("down", "up")


def read(data: bytes, where: str, phone: str | None = None) -> Log:
    """The track points of all tracks and segments, and the lever marks.

    Points without a time or with a position outside GPX's ranges (latitude -90 to 90, longitude
    -180 up to but not 180) are kept out and counted. ``segment`` numbers the segments that have
    points, in file order. Routes are not tracks: their points are only counted.

    Raises:
        TrackError: not XML, not GPX, cut off, or with a document type.
    """
    text = guard.xml(data, where, TrackError)
    doc, segments = document(text, where)
    rows = Rows(where, phone)
    marks = [*_waypoints(doc, rows)]
    number = 0
    states: dict[str, str] = {}
    points = iter(segments)
    for track in doc.tracks:
        label = next((e.text or "" for e in track.extensions if e.tag == OURS + "phone"), "")
        for _ in track.segments:
            before = len(rows)
            marks.extend(_points(next(points), rows, number, label, states))
            number += len(rows) > before
    routes = sum(len(route.points) for route in doc.routes)
    if routes:
        rows.skip("route point: a route is a plan, not a track", routes)
    return rows.log(marks)


def _waypoints(doc: GPX, rows: Rows) -> Iterator[Mark]:
    for point in doc.waypoints:
        word = next(
            (w for w in (_word(point.name), _word(point.type)) if w in _LEVER),
            None,
        )
        if word is None:
            rows.skip("waypoint that is not named or typed down or up")
        elif point.time is None:
            rows.skip(f"waypoint {word} without a time")
        else:
            says = {"lever": word}
            how = _ours(point.extensions).get("how")
            if how:
                says["how"] = how
            label = _ours(point.extensions).get("phone") or rows.phone
            yield Mark(to_ms(point.time), "lever", label, says=says)


def _word(value: str | None) -> str:
    return (value or "").strip().lower()


def _ours(extensions: Iterable[Any]) -> dict[str, str]:
    return {
        e.tag.removeprefix(OURS): (e.text or "").strip()
        for e in extensions
        if isinstance(e.tag, str) and e.tag.startswith(OURS)
    }


def _points(
    points: Iterable[Told], rows: Rows, segment: int, label: str, states: dict[str, str]
) -> Iterator[Mark]:
    """Adds the points of one segment; yields a mark at its first lever state and each change.

    ``states`` holds the last state of each phone and is carried from segment to segment.
    """
    who = label or rows.phone
    for t_ms, lat, lon, acc, speed, course, lever in points:
        if t_ms is None:
            rows.skip("track point without a time")
        elif lon == 180.0:
            rows.skip("longitude 180: GPX runs from -180 up to but not 180")
        elif (
            rows.add(t_ms, lat, lon, acc, speed, course, segment, label)
            and lever
            and lever != states.get(who)
        ):
            states[who] = lever
            yield Mark(t_ms, "lever", who, says={"lever": lever, "how": "track"})


def write(log: Log) -> str:
    """GPX 1.1 text of the fixes and lever marks; reads back the same.

    One track a phone, one segment a segment; lever marks are waypoints with a time, placed
    between the two nearest fixes. Other marks have no place in GPX and are left out.
    """
    doc = GPX()
    doc.creator = "unsown"
    doc.nsmap["u"] = NAMESPACE
    fixes = log.fixes
    for who, label in enumerate(fixes.phones):
        of = np.flatnonzero(fixes.phone == who)
        if not len(of):
            continue
        track = GPXTrack(name=_clean(label))
        track.extensions.append(_element("phone", label))
        cuts = np.flatnonzero(np.diff(fixes.segment[of])) + 1
        for part in np.split(of, cuts):
            segment = GPXTrackSegment()
            segment.points = [_point(fixes, int(i)) for i in part]
            track.segments.append(segment)
        doc.tracks.append(track)
    for mark in log.marks:
        if mark.kind == "lever" and mark.says.get("lever") in _LEVER:
            doc.waypoints.append(_waypoint(log, mark))
    return str(doc.to_xml(version="1.1"))


def _point(fixes: Fixes, i: int) -> GPXTrackPoint:
    point = GPXTrackPoint(
        float(fixes.lat_deg[i]), _lon(float(fixes.lon_deg[i])), time=to_moment(int(fixes.t_ms[i]))
    )
    for name in ("acc_m", "speed_m_s", "course_deg"):
        value = float(getattr(fixes, name)[i])
        if math.isfinite(value):
            point.extensions.append(_element(name, repr(value)))
    return point


def _waypoint(log: Log, mark: Mark) -> GPXWaypoint:
    fixes = log.fixes
    word = str(mark.says["lever"])
    of = (
        np.flatnonzero(fixes.phone == fixes.phones.index(mark.phone))
        if (mark.phone in fixes.phones)
        else np.arange(len(fixes))
    )
    lat = lon = 0.0
    if len(of):
        of = of[np.argsort(fixes.t_ms[of], kind="stable")]
        turned = np.unwrap(fixes.lon_deg[of], period=360.0)
        lat = float(np.interp(mark.t_ms, fixes.t_ms[of], fixes.lat_deg[of]))
        lon = _lon(float(np.interp(mark.t_ms, fixes.t_ms[of], turned)))
    point = GPXWaypoint(lat, lon, time=to_moment(mark.t_ms), name=word, type=word)
    point.extensions.append(_element("phone", mark.phone))
    if "how" in mark.says:
        point.extensions.append(_element("how", str(mark.says["how"])))
    return point


def _lon(lon_deg: float) -> float:
    return lon_deg if -180.0 <= lon_deg < 180.0 else (lon_deg + 180.0) % 360.0 - 180.0


def _element(name: str, value: str) -> ET.Element:
    element = ET.Element(OURS + name)
    element.text = escape(_clean(value))
    return element


def _clean(value: str) -> str:
    """Without the characters XML 1.0 cannot hold."""
    return _NOT_XML.sub("", value)
