"""What every file goes through before it is parsed: size, kind, text, and what is inside a zip.

Limits are stated here and nowhere else. All checks cost at most one pass over the bytes.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from io import BytesIO
from pathlib import Path, PurePosixPath

from unsown.core.errors import UnsownError

TRACK_BYTES = 200_000_000
PADDOCK_BYTES = 50_000_000
RIG_BYTES = 256_000
MOST_TAGS = 12_000_000
"""Most `<` in one XML file: bounds what a tree of it can take (about 1.5 GB)."""
MOST_BRACKETS = 6_000_000
"""Most `[` and `{` in one JSON file."""
ZIP_MEMBERS = 2_000
ZIP_RATIO = 200
"""A member may inflate to at most this many times its packed size (shapes reach about 20)."""

_SIGNS: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", "zip"),
    (b"PK\x05\x06", "zip"),
    (b"\x1f\x8b", "gzip"),
    (b"7z\xbc\xaf", "7z archive"),
    (b"Rar!", "rar archive"),
    (b"SQLite format 3\x00", "sqlite"),
    (b"\x00\x00\x27\x0a", "shape"),
    (b"%PDF", "PDF"),
    (b"\x89PNG", "PNG picture"),
    (b"\xff\xd8\xff", "JPEG picture"),
    (b"II*\x00", "TIFF picture"),
    (b"MM\x00*", "TIFF picture"),
    (b"\x7fELF", "program"),
)
_BOMS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_DECLARED = re.compile(r"\A\s*<\?xml[^>]*?encoding\s*=\s*[\"']([A-Za-z0-9._-]+)[\"'][^>]*\?>")
_BLANKS = re.compile(r"\s*")
_ROOT = re.compile(r"<(?:[\w.-]+:)?([A-Za-z_][\w.-]*)")
_PLAIN = {"utf-8", "utf8", "us-ascii", "ascii"}
_LATIN = {"iso-8859-1", "latin1", "latin-1", "windows-1252", "cp1252", "iso-8859-15"}


def take(path: Path, most_bytes: int, refuse: type[UnsownError]) -> bytes:
    """The file's bytes; a file larger than ``most_bytes`` is refused without reading it.

    Raises:
        refuse: no such file, not a plain file, not readable, or too large.
    """
    try:
        if not path.is_file():
            reason = "is not a file" if path.exists() else "does not exist"
            raise refuse("file-missing", f"The path {reason}.", where=str(path))
        with path.open("rb") as handle:
            data = handle.read(most_bytes + 1)
    except OSError as error:
        message = f"The file could not be read: {error.strerror or error}."
        raise refuse("file-unreadable", message, where=str(path)) from error
    sized(data, str(path), most_bytes, refuse)
    return data


def sized(data: bytes, where: str, most_bytes: int, refuse: type[UnsownError]) -> None:
    """Refuses an empty file and one above the limit.

    Raises:
        refuse: ``file-empty`` or ``file-large``.
    """
    if len(data) > most_bytes:
        raise refuse(
            "file-large",
            f"The file is larger than {_size(most_bytes)}, the most that is read.",
            where=where,
            hint="Cut it into parts, one day or one paddock a file.",
        )
    if not data.strip(b" \t\r\n\x00\xef\xbb\xbf\xff\xfe"):
        raise refuse(
            "file-empty", "The file is empty.", where=where,
            hint="It may not have been written to the end: save or copy it again.",
        )  # fmt: skip


def sign(data: bytes) -> str:
    """What the first bytes say the file is: ``zip``, ``gzip``, ``sqlite``, ``shape``, or ''."""
    return next((name for start, name in _SIGNS if data.startswith(start)), "")


def text(data: bytes, where: str, refuse: type[UnsownError], *, latin: bool = False) -> str:
    """The file as text: UTF-8, or UTF-16 where it begins with its byte order mark.

    ``latin`` True reads bytes that are not UTF-8 as Latin-1 instead of refusing them.

    Raises:
        refuse: ``file-binary`` or ``file-encoding``.
    """
    name = sign(data)
    if name:
        raise refuse("file-binary", f"Text was expected, but this is a {name} file.", where=where)
    encoding = next((code for mark, code in _BOMS if data.startswith(mark)), "utf-8")
    if encoding != "utf-16" and b"\x00" in data:
        wide = data[:400].count(b"\x00") > len(data[:400]) // 3
        raise refuse(
            "file-binary",
            f"Text was expected, but byte {data.index(0)} is NUL: the file is binary"
            + (" or UTF-16 without its byte order mark." if wide else "."),
            where=where,
            hint="Save or export it again as text in UTF-8.",
        )
    try:
        out = data.decode(encoding)
    except UnicodeDecodeError as error:
        if latin and encoding == "utf-8":
            return data.decode("latin-1")
        raise refuse(
            "file-encoding",
            f"The text is not {encoding.upper().removesuffix('-SIG')}: byte {error.start}.",
            where=where,
            hint="Save it again as UTF-8.",
        ) from error
    return out.removeprefix("\ufeff")


def xml(data: bytes, where: str, refuse: type[UnsownError]) -> str:
    """The text of an XML file, its encoding declaration taken off.

    A document type (and with it every entity of its own and every outside reference) is refused
    before anything is parsed; so is a file with more than ``MOST_TAGS`` tags.

    Raises:
        refuse: ``xml-doctype``, ``xml-large``, ``file-binary`` or ``file-encoding``.
    """
    head = data[:400].decode("latin-1").removeprefix("\xef\xbb\xbf")
    declared = _DECLARED.match(head)
    name = declared.group(1).lower() if declared else "utf-8"
    out = text(data, where, refuse, latin=name in _LATIN)
    if name not in _PLAIN and name not in _LATIN and not name.startswith("utf-16"):
        raise refuse(
            "file-encoding",
            f"The file says its encoding is {name}; UTF-8, UTF-16 and Latin-1 are read.",
            where=where,
            hint="Save it again as UTF-8.",
        )
    out = re.sub(r"\A\s*<\?xml.*?\?>", "", out, count=1, flags=re.DOTALL)
    if out.startswith("<!", _after_prolog(out)):
        raise refuse(
            "xml-doctype",
            "The file has a document type (<!DOCTYPE ...>), which can carry entities; "
            "tracks and boundaries need none.",
            where=where,
            hint="Take the <!DOCTYPE ...> part out if you trust the file.",
        )
    if out.count("<") > MOST_TAGS:
        raise refuse(
            "xml-large",
            f"The file has more than {MOST_TAGS:,} tags.",
            where=where,
            hint="Cut it into parts, one day a file.",
        )
    return out


def _after_prolog(text_: str) -> int:
    """Where the root element begins, or a declaration: past blanks, comments, instructions."""
    at = 0
    while True:
        at = _BLANKS.match(text_, at).end()  # type: ignore[union-attr]
        end = "-->" if text_.startswith("<!--", at) else "?>" if text_.startswith("<?", at) else ""
        after = text_.find(end, at + 2) if end else -1
        if after < 0:
            return at
        at = after + len(end)


def root(text_: str) -> str:
    """The root element's name in lower case, without a prefix; '' if there is none."""
    found = _ROOT.match(text_, _after_prolog(text_))
    return found.group(1).lower() if found else ""


def json_size(text_: str, where: str, refuse: type[UnsownError]) -> None:
    """Refuses JSON with more brackets than memory is set aside for.

    Raises:
        refuse: ``json-large``.
    """
    if text_.count("[") + text_.count("{") > MOST_BRACKETS:
        raise refuse(
            "json-large",
            f"The file has more than {MOST_BRACKETS:,} brackets.",
            where=where,
            hint="Cut it into parts, one paddock or one day a file.",
        )


def unzip(
    data: bytes, where: str, suffixes: set[str], most_bytes: int, refuse: type[UnsownError]
) -> dict[str, bytes]:
    """The members with one of ``suffixes`` (such as ``.shp``), by name, inflated under limits.

    Names are only labels here: no path of the zip is ever used to write a file. Resource forks
    of other systems (``__MACOSX``, names that begin with a dot) and folders are passed over.

    Raises:
        refuse: a broken zip, a locked one, one inside another, one with too many members, or
            one that inflates to more than ``most_bytes`` or ``ZIP_RATIO`` times its size, by
            what it declares or by what really comes out.
    """
    try:
        with zipfile.ZipFile(BytesIO(data)) as box:
            members = box.infolist()
            _fits(members, where, most_bytes, refuse)
            out: dict[str, bytes] = {}
            left = most_bytes
            for member in members:
                path = PurePosixPath(member.filename.replace("\\", "/"))
                if member.is_dir() or "__MACOSX" in path.parts or path.name.startswith("."):
                    continue
                if path.suffix.lower() not in suffixes:
                    continue
                with box.open(member) as stream:
                    out[str(path)] = stream.read(left + 1)
                left -= len(out[str(path)])
                if left < 0:
                    raise _bomb(where, most_bytes, refuse)
            return out
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, ValueError) as error:
        raise refuse(
            "zip-bad",
            f"The zip could not be opened: {error}.",
            where=where,
            hint="Pack it again, without a password.",
        ) from error
    except NotImplementedError as error:
        raise refuse(
            "zip-bad", f"The zip is packed in an unknown way: {error}.", where=where
        ) from (error)


def _fits(
    members: list[zipfile.ZipInfo], where: str, most_bytes: int, refuse: type[UnsownError]
) -> None:
    if len(members) > ZIP_MEMBERS:
        raise refuse("zip-bomb", f"The zip holds more than {ZIP_MEMBERS} files.", where=where)
    total = sum(member.file_size for member in members)
    if total > most_bytes:
        raise _bomb(where, most_bytes, refuse)
    for member in members:
        if member.file_size > 1_000_000 and member.file_size > ZIP_RATIO * member.compress_size:
            raise _bomb(where, most_bytes, refuse)
        if PurePosixPath(member.filename).suffix.lower() in {".zip", ".kmz", ".gz", ".7z", ".rar"}:
            raise refuse(
                "zip-nested",
                f"The zip holds another packed file ({PurePosixPath(member.filename).name!r}).",
                where=where,
                hint="Unpack the inner file and give that.",
            )


def _bomb(where: str, most_bytes: int, refuse: type[UnsownError]) -> UnsownError:
    return refuse(
        "zip-bomb",
        f"The zip inflates to more than {_size(most_bytes)} or more than {ZIP_RATIO} times "
        "its size; it was not unpacked.",
        where=where,
        hint="Give the boundary file itself.",
    )


def _size(count: int) -> str:
    return f"{count // 1_000_000} MB" if count >= 1_000_000 else f"{count // 1000} kB"
