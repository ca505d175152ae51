"""GIS files -> GeoJSON-like features, through a child process with limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from unsown.core.errors import PaddockError
from unsown.formats import guard


@dataclass(frozen=True)
class Layer:
    """What the child read: a FeatureCollection in WGS84, and what there is to say."""

    document: Any
    notes: tuple[str, ...] = ()


def kind(data: bytes) -> str:
    """``zip``, ``sqlite``, ``shape`` or ``kml`` where the file is one of these; else ''."""
    name = guard.sign(data)
    if name:
        return name
    return "kml" if data.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"<" else ""


def read(data: bytes, where: str, name: str) -> Layer:
    """Refuses for now: only GeoJSON is read."""
    raise PaddockError("boundary-kind", f"A {name} file is not read yet.", where=where)
