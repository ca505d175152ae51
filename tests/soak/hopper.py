"""Bins of a simulated day: fills as a driver logs them, and where they would truly run empty.

The rate card is off by 5 % (one sigma), and each fill flows a per cent off that, as seed and ground
change; what is full is read to 40 kg, and what went in is weighed.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from unsown.core.balance import LEVEL_KG, Rate, closes, ran_out
from unsown.core.words import Floats, Way
from unsown.sim.day import SimDay

#: Card, kg/ha; how far off it is and how much a fill differs, one sigma; hectares of a full bin.
CARD_KG_HA, OFF, FLOW, FULL_HA = 118.0, 0.05, 0.01, 9.0
#: A bin is filled up when between these parts of it are gone.
_GONE = (0.5, 0.95)


def seeded_ha(ways: list[Way] | tuple[Way, ...]) -> tuple[Floats, Floats]:
    """Seeded hectares over time, as often as ground was: seconds and hectares."""
    t, ha = [0.0], [0.0]
    for way in sorted(ways, key=lambda w: float(w.t_s[0])):
        gone = np.r_[0.0, np.cumsum(np.hypot(np.diff(way.x_m), np.diff(way.y_m)))]
        gone *= way.length_m / max(float(gone[-1]), 1e-9)
        t += way.t_s.tolist()
        ha += (ha[-1] + gone * way.width_m / 1e4).tolist()
    return np.maximum.accumulate(np.asarray(t)), np.asarray(ha)


def fills(day: SimDay, said: tuple[Way, ...], true: list[Way]) -> dict[str, Any]:
    """Every fill's foretold run-out beside the true one, and how the day's balance closes."""
    rng = np.random.default_rng([day.seed, 77])
    said_t, said_ha = seeded_ha(said)
    true_t, true_ha = seeded_ha(true)
    card, full = CARD_KG_HA, CARD_KG_HA * FULL_HA
    mean = card * (1 + OFF * rng.standard_normal())
    rate, told, used_kg, put_kg = Rate.calibrated(card), [], 0.0, []
    at_ha, level, total = 0.0, full + LEVEL_KG * rng.standard_normal(), float(true_ha[-1])
    first_kg = full
    while True:
        flow = mean * (1 + FLOW * rng.standard_normal())
        here = float(np.interp(at_ha, true_ha, said_ha_at(true_t, said_t, said_ha)))
        empty_ha = at_ha + level / flow
        seen = float(np.interp(min(empty_ha, total), true_ha, said_ha_at(true_t, said_t, said_ha)))
        # beyond the day's end the way goes on as well told as it was
        seen += max(empty_ha - total, 0.0) * (said_ha[-1] / total)
        out = ran_out(full, rate)
        told.append({"said_ha": out.at_ha, "from_ha": out.from_ha, "to_ha": out.to_ha,
                     "true_ha": seen - here})  # fmt: skip
        next_ha = at_ha + float(rng.uniform(*_GONE)) * level / flow
        if next_ha >= total:
            used_kg += flow * (total - at_ha)
            left_kg = level - flow * (total - at_ha) + LEVEL_KG * rng.standard_normal()
            break
        gone = flow * (next_ha - at_ha)
        used_kg += gone
        new = full + LEVEL_KG * rng.standard_normal()
        put = new - (level - gone)
        put_kg.append(put)
        there = float(np.interp(next_ha, true_ha, said_ha_at(true_t, said_t, said_ha)))
        rate = rate.after(put, there - here)
        at_ha, level = next_ha, new
    real = closes(put_kg, first_kg, left_kg, float(said_ha[-1]))
    return {"fills": told, "closes": real / (used_kg / total) - 1, "rate": rate.kg_ha / mean - 1}


def said_ha_at(true_t: Floats, said_t: Floats, said_ha: Floats) -> Floats:
    """What was said to be seeded at each true moment, ha."""
    return np.interp(true_t, said_t, said_ha)
