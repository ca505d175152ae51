"""Which bare patches may be none, should an open question be answered."""

from __future__ import annotations

import numpy as np
import shapely

from unsown.core.words import Patch
from unsown.papers.scene import Scene

#: About a working width, m: a run that is in doubt is neighbour to what lies so near.
NEAR_M = 10.0
ASK = "ask first"


def hanging(scene: Scene) -> list[Patch]:
    """Patches that are not sure and lie beside ground in doubt while questions are open.

    Runs are settled against their neighbours, but not against one that is in doubt: its answer
    moves them, and may close the gap. A sure patch stays whatever the answer is.
    """
    doubt = scene.states.get("doubt")
    if not scene.asked or doubt is None or doubt.is_empty:
        return []
    open_ = [p for p in scene.patches if p.call != "sure"]
    near = shapely.dwithin(np.asarray([p.outline for p in open_], dtype=object), doubt, NEAR_M)
    return [p for p, beside in zip(open_, near, strict=True) if beside]
