"""Imports point one way: rigs <- words, errors <- core <- day; core <- formats <- commands, cli.

The home service: formats <- store <- service <- papers <- routes <- commands; yard needs core only.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[1] / "server" / "unsown"
FILES = sorted(path.relative_to(HOUSE).as_posix() for path in HOUSE.rglob("*.py"))
GROUND = {"core.rigs": -1, "core.words": 0, "core.errors": 0}
LAYERS = {
    **{"sim": 3, "formats": 3, "demo": 4, "store": 4, "service": 5},
    **{"routes": 6, "papers": 6, "yard": 6, "commands": 7, "cli": 8},
}
# What core may never touch: files, sockets, clocks, databases, chance of its own.
IMPURE = {
    *("os", "io", "sys", "pathlib", "shutil", "tempfile", "socket", "ssl", "urllib", "http"),
    *("subprocess", "threading", "asyncio", "sqlite3", "flask", "time", "datetime", "random"),
    *("secrets", "logging", "gpxpy", "geojson", "pyogrio", "tomllib", "csv"),
}


def imported(name: str) -> Iterator[str]:
    """Every module a file imports, ours without the leading ``unsown.``."""
    for node in ast.walk(ast.parse((HOUSE / name).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name.removeprefix("unsown.") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name}: relative import"
            module = (node.module or "").removeprefix("unsown").removeprefix(".")
            parts = [f"{module}.{alias.name}".strip(".") for alias in node.names]
            yield from (
                p if (HOUSE / f"{p.replace('.', '/')}.py").exists() else module for p in parts
            )


def layer(module: str) -> int:
    """How far out a module of ours lives; an import may only go inwards."""
    if module in GROUND or module == "":
        return GROUND.get(module, 0)
    if module.startswith("core"):
        return 2 if module == "core.day" else 1
    return {
        **{"sim": 3, "formats": 3, "demo": 4, "store": 4, "yard": 4, "service": 5},
        **{"papers": 6, "routes": 7, "commands": 8, "cli": 9},
    }.get(module.partition(".")[0], 10)


@pytest.mark.parametrize("name", FILES)
def test_a_file_imports_only_what_lives_further_in(name: str) -> None:
    me = name.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    mine = 0 if me in ("core", "__init__", *LAYERS) and me != "cli" else layer(me)
    for module in imported(name):
        outside = module.split(".")[0]
        if not (HOUSE / outside).exists() and not (HOUSE / f"{outside}.py").exists():
            assert not (me.startswith("core") and outside in IMPURE), f"{name} imports {module}"
            continue
        same_folder = "." in me and module.split(".")[0] == me.split(".")[0] and mine not in (0, 2)
        inward = layer(module) < mine or (same_folder and layer(module) == mine)
        package = me == module.split(".")[0]  # a package's own __init__
        assert inward or package, f"{name} imports {module}, which lives further out"


def test_the_simulator_and_the_engine_share_only_words_errors_and_the_plane() -> None:
    for name in FILES:
        if name.startswith("sim/"):
            core = {m for m in imported(name) if m.startswith("core")}
            assert core <= {"core.words", "core.errors", "core.plane"}, f"{name}: {core}"


def test_the_middle_of_core_has_no_ring_of_imports() -> None:
    needs = {
        n.removesuffix(".py").replace("/", "."): {m for m in imported(n) if m.startswith("core.")}
        for n in FILES
        if n.startswith("core/")
    }
    while needs:
        free = {name for name, wants in needs.items() if not wants & needs.keys()}
        assert free, f"these import each other in a ring: {sorted(needs)}"
        needs = {name: wants for name, wants in needs.items() if name not in free}
