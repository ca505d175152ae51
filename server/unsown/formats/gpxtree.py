"""GPX text -> gpxpy's document, and the track points of its segments.

gpxpy reads the document. It asks every point for some twenty fields, which costs about 30 µs a
point; of a file with more than ``MANY`` points the points are therefore taken out of the tree
first and read here, by the same rules (a test holds the two to each other).
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any, NamedTuple

import gpxpy
from gpxpy.gpx import GPX

from unsown.core.errors import TrackError
from unsown.formats import guard
from unsown.formats.moments import parse, to_ms
from unsown.formats.rows import NAN, number

NAMESPACE = "https://unsown.example/gpx/1"
OURS = f"{{{NAMESPACE}}}"
MANY = 5_000
MOST_POINTS = 1_000_000
_GPX = re.compile(r"\{http://www\.topografix\.com/GPX/[^}]*\}")
_TRKPT = re.compile(r"<(?:[\w.-]+:)?trkpt[\s/>]")
_LOOSE = re.compile(r"\sxmlns(?![\w:.-]{0,80}\s{0,8}=)")
_NUMERIC = {"hdop", "vdop", "pdop", "ageofdgpsdata", "magvar", "geoidheight", "ele", "speed"}
_WHOLE = {"sat", "dgpsid", "number"}
_FIXES = {"none", "2d", "3d", "dgps", "pps"}


class Told(NamedTuple):
    """What one track point says; ``t_ms`` None and numbers NaN where it does not."""

    t_ms: int | None
    lat_deg: float
    lon_deg: float
    acc_m: float = NAN
    speed_m_s: float = NAN
    course_deg: float = NAN
    lever: str = ""


def document(text: str, where: str) -> tuple[GPX, list[Iterator[Told]]]:
    """The document, and for each of its track segments in order the points.

    Raises:
        TrackError: not whole XML, not GPX, or more than ``MOST_POINTS`` points.
    """
    if guard.root(text) not in ("gpx", ""):
        raise TrackError(
            "gpx-root", f"A <gpx> document was expected, <{guard.root(text)}> came.", where=where
        )
    count = len(_TRKPT.findall(text))
    if count > MOST_POINTS:
        raise TrackError(
            "gpx-large",
            f"The file has more than {MOST_POINTS:,} points.",
            where=where,
            hint="Cut it into parts, one day a file.",
        )
    if len(_LOOSE.findall(text)) > 100:
        raise TrackError(
            "gpx-bad",
            "The file has the word xmlns in places where it declares nothing.",
            where=where,
            hint="Export it again.",
        )  # gpxpy would look for the end of each through the whole file
    # Many files call themselves 1.1 and carry 1.0's <speed>: then they are read as 1.0.
    plain = "<extensions" not in text
    version = "1.0" if plain and "<speed>" in text else None
    if count > MANY:
        root = _tree(text, where)
        direct = plain or root.get("version") != "1.1"
        segments = [_taken(segment, direct=direct) for segment in root.iterfind("trk/trkseg")]
        return _parsed(ET.tostring(root, encoding="unicode"), version, where), segments
    doc = None
    try:
        doc = gpxpy.parse(text, version=version)
    except gpxpy.gpx.GPXXMLSyntaxException as error:
        raise _broken(error, text, where) from error
    except Exception:  # one value that gpxpy cannot read stops it: below that value goes, not all
        doc = None
    if doc is None or count != sum(len(s.points) for t in doc.tracks for s in t.segments):
        root = _tree(text, where)
        _mend(root)
        doc = _parsed(ET.tostring(root, encoding="unicode"), version, where)
    return doc, [_told(segment.points) for track in doc.tracks for segment in track.segments]


def _parsed(text: str, version: str | None, where: str) -> GPX:
    try:
        return gpxpy.parse(text, version=version)
    except Exception as error:
        raise TrackError(
            "gpx-bad", f"The file is XML but could not be read as GPX: {error}.", where=where
        ) from error


def _tree(text: str, where: str) -> ET.Element:
    """The element tree with the GPX namespace taken off every name."""
    try:
        # guard.xml has refused every document type, and with it every entity
        root = ET.fromstring(text)  # nosec B314
    except ET.ParseError as error:
        raise _broken(error, text, where) from error
    for element in root.iter():
        if isinstance(element.tag, str) and "/GPX/" in element.tag:
            element.tag = _GPX.sub("", element.tag)
    return root


def _mend(root: ET.Element) -> None:
    """Takes out the values that are not of their type; a place that is none becomes NaN."""
    for element in root.iter():
        if element.tag in {"trkpt", "wpt", "rtept"}:
            for key in ("lat", "lon"):
                element.set(key, repr(_float(element.get(key))))
        for child in [*element]:
            value = number(child.text)
            bad = child.tag in _NUMERIC | _WHOLE | {"course"} and not math.isfinite(value)
            bad |= child.tag in _WHOLE and not bad and value % 1 != 0
            bad |= child.tag == "fix" and (child.text or "").strip() not in _FIXES
            if bad:
                element.remove(child)


def _float(value: str | None) -> float:
    degrees = number(value)
    return degrees if math.isfinite(degrees) else NAN


def _broken(error: object, text: str, where: str) -> TrackError:
    end = text.rstrip()[-40:].replace("\n", " ")
    cut = "</gpx" not in text[-200:] and "gpx>" not in text[-200:]
    return TrackError(
        "xml-bad",
        f"The file is not whole XML ({error})" + (f"; it ends with {end!r}." if cut else "."),
        where=where,
        hint="It seems cut off: copy or export it again." if cut else "Export it again.",
    )


def _told(points: list[Any]) -> Iterator[Told]:
    """The points of one segment as gpxpy read them."""
    for point in points:
        values = {"speed": number(point.speed), "course": number(point.course)}
        for element in point.extensions:
            _extension(element, values)
        t_ms = None if point.time is None else to_ms(point.time)
        lon = NAN if point.longitude is None else point.longitude
        yield _one(t_ms, point.latitude, lon, values)


def _taken(segment: ET.Element, *, direct: bool) -> Iterator[Told]:
    """The points of one segment, taken out of the tree; ``direct``: with GPX 1.0's speed."""
    points = [element for element in segment if element.tag == "trkpt"]
    segment[:] = [element for element in segment if element.tag != "trkpt"]

    def each() -> Iterator[Told]:
        for point in points:
            values: dict[str, Any] = {}
            time = None
            extended = False
            for child in point:
                tag = child.tag
                if tag == "time" and time is None:
                    time = parse(child.text or "")
                elif direct and tag in ("speed", "course"):
                    values.setdefault(tag, number(child.text))
                elif not direct and tag == "extensions" and not extended:
                    extended = True
                    for element in child:
                        _extension(element, values)
            yield _one(time, number(point.get("lat")), number(point.get("lon")), values)

    return each()


def _one(t_ms: int | None, lat: float, lon: float, values: dict[str, Any]) -> Told:
    get = values.get
    return Told(
        t_ms, lat, lon, get("acc_m", NAN), get("speed", NAN), get("course", NAN), get("lever", "")
    )


def _extension(top: ET.Element, values: dict[str, Any]) -> None:
    """Takes what we know from an extension: speed, course by local name, and our own names."""
    for element in top.iter() if len(top) else (top,):
        tag = element.tag if isinstance(element.tag, str) else ""
        name = tag.rpartition("}")[2]
        if name in ("speed", "course"):
            values[name] = number(element.text)
        elif not tag.startswith(OURS):
            continue
        elif name in ("speed_m_s", "course_deg"):
            values[name.partition("_")[0]] = number(element.text)
        elif name in ("acc_m", "accuracy"):
            values["acc_m"] = number(element.text)
        elif name == "lever":
            word = (element.text or "").strip().lower()
            if word in ("down", "up"):
                values["lever"] = word
