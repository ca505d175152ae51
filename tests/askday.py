"""The small day with one tap forgotten beside a strip that is only likely bare.

Everything is seen through a picture that wanders slowly, as a phone's does; the fourth run was
driven 4 m too far to one side; and no down was tapped for the fifth, which lies beside both.
"""

from __future__ import annotations

from random import Random
from typing import Any

import smallday

#: The fifth run's down is the one forgotten; the fourth was driven aside, m.
FORGOTTEN, ASIDE, ASIDE_M = 4, 3, 4.0
#: From one run's first position to the next one's, ms.
_RUN_MS = 121_000
_STEP_M, _SEED = 0.16, 2


def entries() -> list[dict[str, Any]]:
    """The log of that day."""
    chance, plane = Random(_SEED), smallday.PLANE
    out: list[dict[str, Any]] = []
    east = north = 0.0
    for given in smallday.entries():
        entry: dict[str, Any] = dict(given)
        run = (entry["t_ms"] - smallday.START_MS) // _RUN_MS
        if entry["kind"] == "fix":
            east, north = (off + chance.gauss(0, _STEP_M) for off in (east, north))
            (x,), (y,) = plane.to_xy([entry["lon_deg"]], [entry["lat_deg"]])
            aside = ASIDE_M if run == ASIDE else 0.0
            (lon,), (lat,) = plane.to_degrees([float(x) + east], [float(y) + north + aside])
            entry |= {"lon_deg": round(float(lon), 8), "lat_deg": round(float(lat), 8)}
            entry["acc_m"] = 3.0
        elif run == FORGOTTEN and entry["lever"] == "down":
            continue
        out.append(entry)
    return out
