"""Rows on disk, a file of JSON lines a drive, so that a run broken off goes on where it was."""

from __future__ import annotations

import ast
import hashlib
import json
import sys
from collections import Counter
from pathlib import Path

from soak.measure import Row

#: Packages whose code a row depends on.
DEPENDS = ("unsown.core", "unsown.sim", "soak.judge", "soak.measure", "soak.plain")


def engine(depends: tuple[str, ...] = DEPENDS) -> str:
    """A short sum over the loaded code that rows depend on; comments and docstrings apart."""
    total = hashlib.sha256()
    for name, module in sorted(sys.modules.items()):
        file = getattr(module, "__file__", None)
        if name.startswith(depends) and file:
            total.update(_code(Path(file).read_text(encoding="utf-8")).encode())
    return total.hexdigest()[:10]


def _code(text: str) -> str:
    tree = ast.parse(text)
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list):
            node.body = [  # type: ignore[attr-defined]
                x
                for x in body
                if not (isinstance(x, ast.Expr) and isinstance(x.value, ast.Constant))
            ]
    return ast.dump(tree)


def add(folder: Path, row: Row) -> None:
    """Write one row down, on a line of its own even after a line that was cut off."""
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / f"{row['seed']}.jsonl").open("a", encoding="utf-8") as file:
        file.write("\n" + json.dumps(row))


def read(folder: Path) -> tuple[list[Row], int]:
    """All rows, the latest of each day, and how many lines were cut off in the writing."""
    found: dict[tuple[str, int, str, str], Row] = {}
    torn = 0
    for path in sorted(folder.glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").split("\n"):
            try:
                row = json.loads(line or "{}")
            except json.JSONDecodeError:
                torn += 1  # its day is measured again
                continue
            if row:
                found[row["engine"], row["seed"], row["preset"], row["kind"]] = row
    return list(found.values()), torn


def by_engine(found: list[Row]) -> Counter[str]:
    """How many rows each state of the code has."""
    return Counter(row["engine"] for row in found)
