"""Any text -> text that an XML document can hold, also in an attribute."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

# XML 1.0 has no other characters, not even escaped (W3C XML 1.0, production 2).
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def quote(text: str) -> str:
    """The text with ``& < > "`` escaped and what XML cannot hold left out."""
    return escape(_NOT_XML.sub("", text), {'"': "&quot;"})
