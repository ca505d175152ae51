"""Puts what the programs really say into the documents: ``make docs``.

What the demo prints goes into README.md and the tutorial, the API's description into reference.

Between ``<!-- demo -->`` (or ``<!-- rig -->``) and the next ``<!-- end -->`` stands output of the
program, never typed by hand.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
import tempfile
import time
from pathlib import Path

from unsown.cli import main
from unsown.routes.app import create_app
from unsown.routes.door import Door
from unsown.routes.openapi import text_of
from unsown.service.farm import open_farm

ROOT = Path(__file__).resolve().parents[1]
API = ROOT / "docs" / "reference" / "openapi.json"
PAGES = (ROOT / "README.md", ROOT / "docs" / "tutorial" / "first-find.md")


def printed(*words: str) -> str:
    """What a command prints; it has to succeed."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = main(words)
    if code:
        raise SystemExit(f"unsown {' '.join(words)} ended with {code}")
    return out.getvalue().rstrip()


def blocks() -> dict[str, str]:
    """The outputs by the name of their place."""
    with tempfile.TemporaryDirectory() as name, contextlib.chdir(name):
        table = printed("demo", "--out", "demo-out").partition("\n\nThis farm")[0]
        return {"demo": table, "rig": printed("rig", "demo-out/rig.toml")}


def description() -> str:
    """The OpenAPI description, as the service gives it."""
    with tempfile.TemporaryDirectory() as name, open_farm(Path(name), compute=False) as farm:
        return text_of(create_app(farm, Door()))


def refreshed(text: str, found: dict[str, str]) -> str:
    """The page with its outputs put in."""
    for name, output in found.items():
        place = re.compile(rf"<!-- {name} -->\n.*?<!-- end -->", re.S)
        block = f"<!-- {name} -->\n```\n{output}\n```\n<!-- end -->"
        text = place.sub(lambda _, block=block: block, text)
    return text


if __name__ == "__main__":
    os.environ["TZ"] = "UTC"
    time.tzset()
    API.write_text(description(), encoding="utf-8")
    outputs = blocks()
    for page in PAGES:
        page.write_text(refreshed(page.read_text("utf-8"), outputs), encoding="utf-8")
    sys.exit(0)
