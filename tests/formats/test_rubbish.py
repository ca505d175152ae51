"""Damaged and random files: read or refused, never anything else."""

from __future__ import annotations

import contextlib
import json

from hypothesis import example, given, settings
from hypothesis import strategies as st

from formats.made import CARD, collection, feature, fix_line, gpx, line, square, trkpt
from unsown.core.errors import UnsownError
from unsown.formats import gis, gpxtree
from unsown.formats.boundary import read_paddock
from unsown.formats.nmea import checksum
from unsown.formats.rig import read_rig
from unsown.formats.track import join, read_track

RMC = b"GPRMC,120000,A,4942.000,N,10612.000,W,4.0,0.0,010526,,,A"
GEO = {
    "type": "Feature",
    "properties": {"times": ["2026-05-01T12:00:00Z", 1777636801000], "kind": "down", "time": 5},
    "geometry": {"type": "LineString", "coordinates": [[-106.2, 49.7], [-106.2, 49.8]]},
}
LOG = fix_line(0, 1) + line(seq=2, kind="lever", lever="down") + line(seq=3, kind="undo", of=2)
TRACKS = [
    gpx(
        trkpt(0, more="<extensions><u:lever>down</u:lever></extensions>"),
        trkpt(1),
        extra='<wpt lat="1" lon="2"><time>2026-05-01T12:00:00Z</time><name>up</name></wpt>',
    ),
    LOG.encode(),
    b"$" + RMC + f"*{checksum(RMC):02X}\r\n".encode(),
    b"time;lat;lon;speed;state\n2026-05-01T12:00:00Z;49,7;-106,2;2,1;down\n",
    json.dumps(GEO).encode(),
]
BOUNDARIES = [
    collection(
        feature([square(), square(-106.199, 49.701, 0.001)]),
        feature([square()], kind="x", until="2026-05-01"),
    ),
    json.dumps({"type": "MultiPolygon", "coordinates": [[square()]]}).encode(),
    collection(feature([square()]), crs={"type": "name", "properties": {"name": "EPSG:4326"}}),
]
PIECES = st.sampled_from([
    b"", b"\x00", b"\xff", b"[", b"]", b"{", b"}", b'"', b"<", b">", b"<!", b"&x;", b",", b"-",
    b"9" * 30, b"1e999", b"NaN", b"null", b"-Infinity", b"true", b"[]", b"{}",
    b"\xed\xa0\x80", b"\n", b"nan",
    b"2026-02-30T25:61Z", b"\xef\xbb\xbf", b"--", b"0",
])  # fmt: skip
CUTS = st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 12), PIECES), max_size=4)


def damaged(data: bytes, cuts: list[tuple[int, int, bytes]]) -> bytes:
    """The file with some stretches replaced by something else."""
    for at, length, piece in cuts:
        where = at % (len(data) + 1)
        data = data[:where] + piece + data[where + length :]
    return data


@given(st.sampled_from(TRACKS), CUTS, st.booleans())
@settings(max_examples=300, deadline=None)
def test_a_damaged_track_is_read_or_refused(data, cuts, by_own):
    keep, gpxtree.MANY = gpxtree.MANY, 0 if by_own else gpxtree.MANY
    try:
        with contextlib.suppress(UnsownError):
            join([read_track(damaged(data, cuts), "x")])
    finally:
        gpxtree.MANY = keep


@given(st.sampled_from(BOUNDARIES), CUTS)
@settings(max_examples=300, deadline=None)
def test_a_damaged_boundary_is_read_or_refused(data, cuts):
    with contextlib.suppress(UnsownError):
        read_paddock(damaged(data, cuts), "x")


@given(CUTS)
@settings(max_examples=300, deadline=None)
def test_a_damaged_rig_card_is_read_or_refused(cuts):
    with contextlib.suppress(UnsownError):
        read_rig(damaged(CARD.encode() + b"\n[times]\nfill_s = 5\n", cuts), "x")


@given(st.binary(max_size=200))
@example(b"PK\x05\x06" + bytes(18))
@example(b"\xff\xfe<\x00")
@example(b"\xfe\xff\x00{")
@example(b"\xff\xfe")
@settings(max_examples=300, deadline=None)
def test_random_bytes_are_refused(data):
    readers = [read_track, read_rig]
    if gis.kind(data) not in ("xml", "sqlite"):  # these start a process each
        readers.append(read_paddock)
    for read in readers:
        with contextlib.suppress(UnsownError):
            read(data, "x")


@given(
    st.recursive(
        st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers(),
        lambda x: (
            st.lists(x, max_size=4)
            | st.dictionaries(
                st.sampled_from(
                    [
                        "type",
                        "features",
                        "geometry",
                        "properties",
                        "coordinates",
                        "geometries",
                        "crs",
                        "times",
                        "kind",
                        "name",
                    ]
                ),
                x,
            )
        ),
        max_leaves=12,
    )
)
@settings(max_examples=300, deadline=None)
def test_any_json_is_read_or_refused(value):
    shapes = [value]
    if isinstance(value, dict):
        for kind in ("Feature", "FeatureCollection", "Polygon", "MultiPolygon", "LineString"):
            shapes.append({**value, "type": kind})
    else:
        shapes += [
            {"type": "Polygon", "coordinates": value},
            feature([value]),
            {"type": "FeatureCollection", "features": value},
        ]
    for shape in shapes:
        data = json.dumps(shape).encode()
        for read in (read_track, read_paddock):
            with contextlib.suppress(UnsownError):
                read(data, "x")
