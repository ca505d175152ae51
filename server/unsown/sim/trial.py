"""The days on which accuracy is reported: drawn from one stated range of habits and mishaps."""

from __future__ import annotations

from typing import Any

import numpy as np

from unsown.sim.day import SimDay, day

RIGS = ("six", "demo", "mounted", "cart", "twelve", "eighteen")


def trial(seed: int, *, preset: str = "typical", **options: Any) -> SimDay:
    """A drawn day: 28 to 80 ha, tools of 6 to 18 m, one to four laps.

    Overlaps 0.1 to 0.8 m, steering spread 0.1 to 0.35 m, zero to four halts, creeping, backing,
    late drops and early lifts, wanders; a lost furrow on a quarter of the days. The widest
    paddocks go to the wider tools (a 6 m tool gets at most 40 ha). ``options`` overrule what is
    drawn, and take anything that ``day`` takes.
    """
    rng = np.random.default_rng([seed, 9])
    rig = str(rng.choice(RIGS))
    most = {"six": 40.0, "demo": 60.0, "mounted": 65.0, "cart": 70.0}.get(rig, 80.0)
    width = 6.0 if rig == "six" else 8.0
    drawn: dict[str, Any] = {
        "rig": rig,
        "area_ha": float(rng.uniform(28, most)),
        "keep_outs": int(rng.choice([0, 0, 1, 1, 2])),
        "laps": int(rng.integers(1, 5)),
        "corners": str(rng.choice(["keep", "mixed", "mixed" if rig == "eighteen" else "lift"])),
        "overlap_m": float(rng.uniform(0.1, 0.8)),
        "steer_m": float(rng.uniform(0.1, 0.35)),
        "steer_s": float(rng.uniform(20, 40)),
        "speed_m_s": float(rng.uniform(6.5, 9.0) / 3.6),
        "turn_pace": float(rng.uniform(0.6, 1.0)),
        "lever_m": float(rng.uniform(0.6, 1.5)),
        "gross": int(rng.integers(2, 7)),
        "wanders": int(rng.integers(1, 6)),
        "halts": int(rng.integers(0, 5)),
        "halt_max_s": 2700.0,
        "creeps": int(rng.integers(0, 3)),
        "backs": int(rng.integers(0, 3)),
        "truck_trips": int(rng.integers(0, 3)),
    }
    lost = float(rng.uniform(0.6, 1.5 * width))
    drawn["lost_furrow_m"] = lost if rng.random() < 0.25 else 0.0
    return day(seed, preset=preset, **{**drawn, **options})


def hard_taps(seed: int, *, preset: str = "typical", **options: Any) -> SimDay:
    """A trial day whose speed does not give the lever away, with a tenth of the taps gone.

    Turns at working speed, halts, truck trips, backing turns, creeping, corners sown through, a
    run or two driven with the tool up; the taps that are left come 0 to 4 s late.
    """
    hard: dict[str, Any] = {
        "turn_pace": 1.0,
        "halts": 4,
        "creeps": 4,
        "backs": 2,
        "truck_trips": 2,
        "backing_turns": 0.15,
        "corners": "mixed",
        "up_runs": int(np.random.default_rng([seed, 10]).integers(1, 3)),
        "late_s": 4.0,
        "missing": 0.1,
    }
    return trial(seed, preset=preset, **{**hard, **options})
