"""How much a phone has to fetch before it can go to the paddock without signal."""

from __future__ import annotations

import gzip
import os
import re
import subprocess
import sys
from pathlib import Path

import cabs

MOST, STYLES = 150_000, 4_000
"""Bytes of the script, with all texts and all it computes with, and of the styles."""


def test_the_script_with_its_engine_travels_in_150_kilobytes(tmp_path: Path) -> None:
    out = tmp_path / "cab"
    build = [sys.executable, str(cabs.ROOT / "web" / "npm.py"), "run", "--silent", "cab"]
    ran = subprocess.run(
        build,
        env={**os.environ, "UNSOWN_CAB_OUT": str(out)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    files = {str(file.relative_to(out)): file for file in out.rglob("*") if file.is_file()}
    sizes = {name: file.stat().st_size for name, file in files.items() if file.suffix == ".gz"}
    assert sizes.keys() == {f"{n}.gz" for n, f in files.items() if f.suffix in (".js", ".css")} - {
        "sw.js.gz"
    }
    for name in sizes:
        assert gzip.decompress(files[name].read_bytes()) == files[name[:-3]].read_bytes()
    for kind, most in ((".js.gz", MOST), (".css.gz", STYLES)):
        assert 0 < sum(n for name, n in sizes.items() if name.endswith(kind)) < most, sizes
    # and nothing is fetched beside it: the list that is kept for no signal is all there is
    kept = re.findall(r"/cab/[^\"'`\],]*", (out / "sw.js").read_text())
    assert {name.removeprefix("/cab/") or "index.html" for name in kept} >= set(files) - set(
        sizes
    ) - {"sw.js"}
    scripts = "".join(f.read_text() for f in out.rglob("*.js"))
    for lacking in ("WebAssembly", "BigInt"):
        assert lacking not in scripts
    assert "not-positive" in scripts, "the engine is not in it"
