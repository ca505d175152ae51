"""Days for the phone's engine: written as JSON, computed under Node, read back.

The engine is bundled once by the same tool that builds the pages, so that it runs without one.
"""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from unsown.core.words import Fixes, Ground, Log, Paddock, Rig, Settings

HERE = Path(__file__).resolve().parent
WEB = HERE.parents[1] / "web"

sys.path.insert(0, str(WEB))
from npm import of_the_wheel, of_this_machine  # noqa: E402

Row = dict[str, Any]

#: Every state of ground, by the name it has in both engines.
STATES = tuple(f.name for f in fields(Ground))


def node() -> str:
    """The Node that builds the pages."""
    command = of_this_machine() or of_the_wheel()
    assert command is not None, "make test installs Node where there is none"
    beside = Path(command[0]).parent / "node"
    return str(beside if beside.exists() else command[0])


def bundle(folder: Path, runner: str = "engine") -> Path:
    """The engine with a runner as one file for Node, its clipping library as phones have it."""
    out = folder / f"{runner}.mjs"
    settings = {
        "input": str(HERE / "core" / f"{runner}.ts"),
        "platform": "node",
        "output": {"file": str(out), "format": "esm"},
    }
    config = folder / "rolldown.config.ts"
    config.write_text(
        f"import {{ plain }} from {json.dumps(str(WEB / 'plain.ts'))};\n"
        f"export default {{ ...{json.dumps(settings)}, plugins: [plain()] }};\n",
        encoding="utf-8",
    )
    rolldown = WEB / "node_modules" / "rolldown" / "bin" / "cli.mjs"
    command = [node(), str(rolldown), "--config", str(config)]
    ran = subprocess.run(command, cwd=WEB, check=False, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return out


def _column(values: np.ndarray) -> list[Any]:
    gone = np.isnan(values) if values.dtype.kind == "f" else np.zeros(len(values), dtype=bool)
    return [None if lost else v for v, lost in zip(values.tolist(), gone, strict=True)]


def _rings(shape: BaseGeometry) -> list[list[list[tuple[float, float]]]]:
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    return [[list(r.coords)[:-1] for r in (p.exterior, *p.interiors)] for p in parts]


def written(log: Log, paddock: Paddock, *rigs: Rig) -> Row:
    """A day as JSON: what tests/web/core/given.ts reads."""
    columns = {
        f.name: _column(getattr(log.fixes, f.name)) for f in fields(Fixes) if f.name != "phones"
    }
    return {
        "fixes": {**columns, "phones": log.fixes.phones},
        "marks": [asdict(m) for m in log.marks],
        "notes": log.notes,
        "paddock": {
            "name": paddock.name,
            "boundary": paddock.boundary,
            "notes": paddock.notes,
            "area": None if paddock.area is None else _rings(paddock.area),
            "keep_outs": [
                {**{f.name: getattr(k, f.name) for f in fields(k)}, "area": _rings(k.area)}
                for k in paddock.keep_outs
            ],
        },
        "rigs": [asdict(rig) for rig in rigs],
    }


def computed(engine: Path, days: list[Row], settings: Settings) -> list[Row]:
    """What the phone's engine makes of days, one row each."""
    folder = engine.parent
    chosen = folder / "settings.json"
    chosen.write_text(json.dumps(asdict(settings)))
    names = []
    for i, day in enumerate(days):
        name = folder / f"day{i}.json"
        name.write_text(json.dumps(day))
        names.append(str(name))
    command = [node(), str(engine), str(chosen), *names]
    ran = subprocess.run(command, check=False, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr[-2000:]
    return [json.loads(line) for line in ran.stdout.splitlines()]
