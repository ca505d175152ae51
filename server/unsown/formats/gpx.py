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

import gpxpy
import numpy as np
from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint

from unsown.core.errors import TrackError
from unsown.core.words import Fixes, Log, Mark
from unsown.formats import guard
from unsown.formats.moments import to_moment, to_ms
from unsown.formats.rows import NAN, Rows, number

NAMESPACE = "https://unsown.example/gpx/1"
_OURS = f"{{{NAMESPACE}}}"
_GPX = re.compile(r"\{http://www\.topografix\.com/GPX/[^}]*\}")
_TRKPT = re.compile(r"<(?:[\w.-]+:)?trkpt[\s/>]")
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
    doc = _document(text, where)
    rows = Rows(where, phone)
    marks = [*_waypoints(doc, rows)]
    segment, states = 0, {}
    for track in doc.tracks:
        label = next((e.text or "" for e in track.extensions if e.tag == _OURS + "phone"), "")
        for part in track.segments:
            before = len(rows)
            marks.extend(_points(part.points, rows, segment, label, states))
            segment += len(rows) > before
    routes = sum(len(route.points) for route in doc.routes)
    if routes:
        rows.skip("route point: a route is a plan, not a track", routes)
    return rows.log(marks)


def _document(text: str, where: str) -> GPX:
    """The file through gpxpy; mended first where it would otherwise lose points."""
    version = None
    if "<speed>" in text and "<extensions" not in text:
        version = "1.0"  # many files call themselves 1.1 and carry 1.0's <speed>
    try:
        doc = gpxpy.parse(text, version=version)
        if len(_TRKPT.findall(text)) == sum(len(s.points) for t in doc.tracks for s in t.segments):
            return doc
    except gpxpy.gpx.GPXXMLSyntaxException as error:
        raise _broken(error.original_exception, text, where) from error
    except Exception:  # one value it cannot read stops gpxpy: take that value out, not the file
        doc = None
    try:
        mended = _mended(text, where)
        return gpxpy.parse(mended, version=version or ("1.1" if "<extensions" in text else None))
    except TrackError:
        raise
    except Exception as error:
        raise TrackError(
            "gpx-bad", f"The file is XML but could not be read as GPX: {error}.", where=where
        ) from error


def _mended(text: str, where: str) -> str:
    """The document without GPX namespaces and without values that are not of their type."""
    try:
        root = ET.fromstring(text)
    except ET.ParseError as error:
        raise _broken(error, text, where) from error
    for element in root.iter():
        element.tag = _GPX.sub("", element.tag)
    if root.tag != "gpx":
        raise TrackError(
            "gpx-root", f"A <gpx> document was expected, <{root.tag}> came.", where=where
        )
    numeric = {"hdop", "vdop", "pdop", "ageofdgpsdata", "magvar", "geoidheight", "ele", "speed"}
    numeric |= {"course", "sat", "dgpsid", "number"}
    for element in root.iter():
        if element.tag in {"trkpt", "wpt", "rtept"}:
            for key in ("lat", "lon"):
                value = number(element.get(key))
                element.set(key, repr(value) if math.isfinite(value) else "nan")
        for child in [*element]:
            whole = child.tag in {"sat", "dgpsid", "number"}
            value = number(child.text)
            if (child.tag in numeric and (not math.isfinite(value) or (whole and value % 1))) or (
                child.tag == "fix" and child.text not in {"none", "2d", "3d", "dgps", "pps"}
            ):
                element.remove(child)
    return ET.tostring(root, encoding="unicode")


def _broken(error: object, text: str, where: str) -> TrackError:
    end = text.rstrip()[-40:].replace("\n", " ")
    cut = not text.rstrip().endswith(">") or "</gpx" not in text[-200:]
    return TrackError(
        "xml-bad",
        f"The file is not whole XML ({error})"
        + (f"; it breaks off after {end!r}." if cut else "."),
        where=where,
        hint="It seems cut off: copy or export it again." if cut else "Export it again.",
    )


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
        e.tag.removeprefix(_OURS): (e.text or "").strip()
        for e in extensions
        if isinstance(e.tag, str) and e.tag.startswith(_OURS)
    }


def _points(
    points: list[Any], rows: Rows, segment: int, label: str, states: dict[str, str]
) -> Iterator[Mark]:
    """Adds the points of one segment; yields a mark at its first lever state and each change.

    ``states`` holds the last state of each phone and is carried from segment to segment.
    """
    who = label or rows.phone
    for point in points:
        if point.time is None:
            rows.skip("track point without a time")
            continue
        values = {"speed": number(point.speed), "course": number(point.course)}
        for element in point.extensions:
            for e in element.iter():
                _extension(e, values)
        lon = NAN if point.longitude is None else point.longitude
        if lon == 180.0:
            rows.skip("longitude 180: GPX runs from -180 up to but not 180")
            continue
        t_ms = to_ms(point.time)
        acc, speed, course = values.get("acc_m", NAN), values["speed"], values["course"]
        if not rows.add(t_ms, point.latitude, lon, acc, speed, course, segment, label):
            continue
        lever = values.get("lever")
        if lever is not None and lever != states.get(who):
            states[who] = lever
            yield Mark(t_ms, "lever", who, says={"lever": lever, "how": "track"})


def _extension(element: Any, values: dict[str, Any]) -> None:
    """Takes from one extension element what we know: speed, course, and our own names."""
    tag = element.tag if isinstance(element.tag, str) else ""
    name = tag.rpartition("}")[2]
    ours = tag.startswith(_OURS)
    if name in ("speed", "course"):
        values[name] = number(element.text)
    elif ours and name in ("speed_m_s", "course_deg"):
        values[name.partition("_")[0]] = number(element.text)
    elif ours and name in ("acc_m", "accuracy"):
        values["acc_m"] = number(element.text)
    elif ours and name == "lever" and _word(element.text) in _LEVER:
        values["lever"] = _word(element.text)


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
    element = ET.Element(_OURS + name)
    element.text = escape(_clean(value))
    return element


def _clean(value: str) -> str:
    """Without the characters XML 1.0 cannot hold."""
    return _NOT_XML.sub("", value)
