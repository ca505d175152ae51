"""Puts the built pages into the package while a wheel is made; see web/README.md."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).resolve().parent
sys.path.insert(0, str(ROOT / "web"))

import npm  # noqa: E402


class Pages(BuildHookInterface):
    """Builds ``web`` into ``server/unsown/static`` for a wheel that is not an editable one."""

    PLUGIN_NAME = "custom"

    def _built_already(self) -> bool:
        # an unpacked sdist carries the built pages: no Node is needed then
        return (ROOT / "PKG-INFO").exists() and (
            ROOT / "server" / "unsown" / "static" / "desk.html"
        ).exists()

    def dependencies(self) -> list[str]:
        """Node as a wheel, where this machine has none and the pages have to be built."""
        if self._built_already():
            return []
        return [] if npm.of_this_machine() else [npm.WHEEL]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Builds before the files are gathered; make builds for an editable install."""
        if version == "editable" or self._built_already():
            return
        for arguments in (["ci"], ["run", "build"]):
            if npm.run(*arguments):
                raise RuntimeError(f"web: npm {' '.join(arguments)} failed; its words are above")
