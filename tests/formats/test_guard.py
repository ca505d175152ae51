"""What is refused before anything is parsed."""

from __future__ import annotations

import io
import struct
import zipfile

import pytest

from formats.made import GPX_HEAD, gpx, square, trkpt
from unsown.core.errors import PaddockError, RigError, TrackError
from unsown.formats import guard
from unsown.formats.boundary import read_paddock
from unsown.formats.rig import read_rig
from unsown.formats.track import read_track


def zipped(**members: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as box:
        for name, body in members.items():
            box.writestr(name.replace("__", "."), body)
    return out.getvalue()


READERS = [
    (read_track, TrackError),
    (read_paddock, PaddockError),
    (read_rig, RigError),
]


@pytest.mark.parametrize(("read", "error"), READERS)
@pytest.mark.parametrize("data", [b"", b"\n \n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_called_empty(read, error, data):
    with pytest.raises(error, match="empty") as told:
        read(data, "day.gpx")
    assert told.value.where == "day.gpx"


@pytest.mark.parametrize(("read", "error"), READERS)
@pytest.mark.parametrize("data", [bytes(range(256)) * 9, b"name\x00 = 3", b"\x7fELF\x02\x01\x00"])
def test_a_binary_file_is_refused_as_binary(read, error, data):
    with pytest.raises(error) as told:
        read(data, "x")
    assert "binary" in told.value.code


@pytest.mark.parametrize(
    ("read", "error", "most"),
    [
        (read_track, TrackError, "TRACK_BYTES"),
        (read_paddock, PaddockError, "PADDOCK_BYTES"),
        (read_rig, RigError, "RIG_BYTES"),
    ],
)
def test_a_file_above_its_limit_is_refused_before_parsing(read, error, most, monkeypatch):
    monkeypatch.setattr(guard, most, 2_000_000)
    with pytest.raises(error, match="larger than 2 MB") as told:
        read(b"\xff" * 2_000_001, "x")  # not parseable: only the size can be the reason
    assert told.value.code == "file-large"


def test_a_large_file_on_disk_is_not_read_into_memory(tmp_path):
    path = tmp_path / "big"
    with path.open("wb") as handle:
        handle.truncate(10**12)  # sparse: reading it whole would not end
    with pytest.raises(TrackError) as told:
        guard.take(path, 1_000_000, TrackError)
    assert told.value.code == "file-large"


def test_a_missing_file_and_a_folder_are_named(tmp_path):
    with pytest.raises(TrackError, match="does not exist"):
        guard.take(tmp_path / "no", 10, TrackError)
    with pytest.raises(TrackError, match="is not a file"):
        guard.take(tmp_path, 10, TrackError)


@pytest.mark.parametrize("code", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig", "utf-8"])
def test_unicode_with_its_mark_is_read(code):
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(code, b"")
    text = gpx(trkpt(0), trkpt(1)).decode().replace("UTF-8", "UTF-16" if mark else "UTF-8")
    assert len(read_track(mark + text.encode(code), "x").fixes) == 2
    table = "time,lat,lon\n2026-05-01T12:00:00Z,49.7,-106.2\n"
    assert len(read_track(mark + table.encode(code), "x").fixes) == 1


def test_utf16_without_its_mark_is_refused_with_what_to_do():
    with pytest.raises(PaddockError, match="UTF-16 without its byte order mark") as told:
        read_paddock('{"type": "Polygon"}'.encode("utf-16-le"), "x")
    assert "UTF-8" in told.value.hint


@pytest.mark.parametrize(
    "prolog",
    [
        '<!DOCTYPE gpx [<!ENTITY a "x"><!ENTITY b "&a;&a;&a;">]>',
        '<!DOCTYPE gpx SYSTEM "file:///etc/passwd">',
        '<!-- a comment --> <?style x?>\n <!DOCTYPE gpx [<!ENTITY % p SYSTEM "http://x/"> %p;]>',
        " " * 10_000 + "<!DOCTYPE gpx []>",
        '<!ENTITY a "x">',
    ],
)
def test_a_document_type_is_refused_before_parsing(prolog):
    body = GPX_HEAD.replace("?>", "?>" + prolog) + "<trk><trkseg/></trk></gpx>"
    with pytest.raises(TrackError) as told:
        read_track(body.encode(), "x")
    assert told.value.code == "xml-doctype"
    kml = f"{prolog}<kml><Document/></kml>"
    with pytest.raises(PaddockError) as told:
        read_paddock(kml.encode("utf-16"), "x")
    assert told.value.code == "xml-doctype"


def test_a_document_type_named_in_a_comment_or_text_is_no_document_type():
    more = "<cmt><![CDATA[<!DOCTYPE html>]]></cmt>"
    data = gpx(trkpt(0, more=more)).replace(b"?><gpx", b"?><!-- <!DOCTYPE x> --><gpx")
    assert len(read_track(data, "x").fixes) == 1


def test_an_encoding_that_could_hide_a_document_type_is_refused():
    data = b'<?xml version="1.0" encoding="UTF-7"?><gpx></gpx>'
    with pytest.raises(TrackError) as told:
        read_track(data, "x")
    assert told.value.code == "file-encoding"


def test_latin_1_is_read_where_the_file_says_so():
    data = gpx(trkpt(0, more="<name>caf\u00e9</name>")).decode().replace("UTF-8", "ISO-8859-1")
    assert len(read_track(data.encode("latin-1"), "x").fixes) == 1
    with pytest.raises(TrackError, match="not UTF-8"):
        read_track(data.replace("ISO-8859-1", "UTF-8").encode("latin-1"), "x")


@pytest.mark.parametrize("cut", [30, 200, -20, -3])
def test_a_cut_off_gpx_file_is_refused_as_cut_off(cut):
    with pytest.raises(TrackError) as told:
        read_track(gpx(trkpt(0), trkpt(1))[:cut], "x")
    assert told.value.code in ("xml-bad", "track-kind")
    if cut not in (30,):
        assert "cut off" in told.value.hint


def test_a_cut_off_boundary_is_refused_as_cut_off():
    data = str({"type": "Polygon", "coordinates": [square()]}).replace("'", '"').encode()
    with pytest.raises(PaddockError, match="not whole JSON") as told:
        read_paddock(data[:-8], "x")
    assert "cut off" in told.value.hint


@pytest.mark.parametrize("deep", [b"[" * 200_000, b'{"a":' * 100_000])
def test_deep_nesting_is_refused_without_a_crash(deep):
    for read, error in READERS[:2]:
        with pytest.raises(error):
            read(deep, "x")


def test_too_many_brackets_are_refused_before_parsing(monkeypatch):
    monkeypatch.setattr(guard, "MOST_BRACKETS", 1000)
    with pytest.raises(PaddockError, match="brackets"):
        read_paddock(b'{"type":"Polygon","coordinates":[' + b"[]," * 1001 + b"]}", "x")


def test_a_zip_bomb_is_refused_by_what_it_declares():
    with pytest.raises(PaddockError) as told:
        read_paddock(zipped(doc__kml=bytes(5_000_000)), "x")
    assert told.value.code == "zip-bomb"


def test_a_zip_bomb_that_lies_about_its_size_is_stopped_while_it_inflates():
    data = bytearray(zipped(doc__kml=b" " * 40_000_000))
    for sign, offset in ((b"PK\x03\x04", 22), (b"PK\x01\x02", 24)):
        at = data.index(sign) + offset
        data[at : at + 4] = struct.pack("<I", 90_000)
    with pytest.raises(PaddockError) as told:
        read_paddock(bytes(data), "x")
    assert told.value.code in ("zip-bomb", "zip-bad")


def test_a_zip_in_a_zip_is_refused():
    with pytest.raises(PaddockError) as told:
        read_paddock(zipped(inner__zip=zipped(a__kml=b"<kml/>")), "x")
    assert told.value.code == "zip-nested"


def test_a_zip_with_too_many_files_is_refused(monkeypatch):
    monkeypatch.setattr(guard, "ZIP_MEMBERS", 5)
    with pytest.raises(PaddockError, match="more than 5 files"):
        read_paddock(zipped(**{f"a{i}__txt": b"x" for i in range(6)}), "x")


def test_a_broken_zip_is_refused():
    data = zipped(doc__kml=b"<kml>" + bytes(range(200)) * 50 + b"</kml>")
    with pytest.raises(PaddockError) as told:
        read_paddock(data[: len(data) // 2], "x")
    assert told.value.code == "zip-bad"


def test_the_sum_of_many_members_counts_too():
    noise = bytes((i * 7919) % 251 for i in range(60_000))
    data = zipped(a__kml=noise, b__kml=noise)
    with pytest.raises(PaddockError) as told:
        guard.unzip(data, "x", {".kml"}, 100_000, PaddockError)
    assert told.value.code == "zip-bomb"


@pytest.mark.parametrize(
    ("data", "word"), [(zipped(a__gpx=b"x"), "zip"), (b"\x1f\x8b\x08", "gzip")]
)
def test_a_packed_track_is_refused_with_unpack_it(data, word):
    with pytest.raises(TrackError, match=word) as told:
        read_track(data, "x")
    assert "Unpack" in told.value.hint
