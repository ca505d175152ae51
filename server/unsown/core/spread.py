"""How far each cause of ground sown again may be off: half of its 5 to 95 % band.

What is finishing hangs on two shares, how much was left and how much of a run went over sown
ground: both are moved by what they may be off by, and what finishing gains or loses is its band.
The other causes are off as the settled picture is. *Between runs* has what the rest leaves of the
headline, so it is off by all that they and the headline are.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from unsown.core.causes import BETWEEN, CAUSES, FINISHING

#: How much of a late run went over sown ground is off by this part of drift over width, one
#: sigma. Measured on late runs of simulated days kept for tuning.
OVER = 0.42
#: What was left is off by this part of the whole band of bare ground, one sigma. Measured there.
LEFT = 0.38
#: Half the band of any other cause is so many 1/m, times drift, times the root of its area (so much
#: of a hectare at least) and the net one. Measured there; cells and ways add the least drift, m.
_EACH, _LEAST_HA, _LEAST_M = 0.011, 0.005, 0.05


def spread_ha(
    causes: Mapping[str, float],
    *,
    net_ha: float,
    drift_m: float,
    headline_ha: float,
    swing_ha: float,
) -> dict[str, float]:
    """Half the 5 to 95 % band of each cause, ha.

    Args:
        causes: hectares by cause.
        net_ha: net ground, ha.
        drift_m: what settling says of the phone, 0 where nothing was settled, m.
        headline_ha: half the band of the headline, ha.
        swing_ha: half the band of finishing, ha.
    """
    rough = _EACH * float(np.hypot(drift_m, _LEAST_M))
    each = {
        name: rough * float(np.sqrt(max(causes[name], _LEAST_HA) * net_ha))
        for name in CAUSES
        if name not in (BETWEEN, FINISHING)
    }
    each[FINISHING] = swing_ha
    each[BETWEEN] = float(np.sqrt(headline_ha**2 + sum(ha**2 for ha in each.values())))
    return {name: each[name] for name in CAUSES}
