"""What kind of day it is: the driver's habits and everything that goes wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Story:
    """Habits and mishaps of one day.

    Attributes:
        laps: headland laps driven first; those still wanting for turning room come last.
        style: ``up-and-back`` runs inside the headland, or ``round`` and round to the middle.
        corners: on laps the tool is lifted (``lift``), kept in the ground (``keep``) or either.
        overlap_m: wanted overlap of neighbouring runs.
        steer_m: spread of steering by the last furrow; ``steer_s`` its correlation, seconds.
        clearance_m: mean gap left between the fence and the tool's outer end.
        speed_m_s: working speed; ``turn_pace`` that of turns as a share of it.
        lever_m: spread of where the lever is moved at ends; ``gross`` how many late drops and
            early lifts of 4 to 15 m.
        wanders: sideways bumps 20 to 60 s long of 0.5 to 2.5 m.
        lost_furrow_m: one run displaced by this much (0: none); ``missed_runs`` whole widths
            left out; ``up_runs`` runs driven with the tool up.
        halts, creeps, backs: standing 30 s to 45 min, slow stretches, reversing mid-run.
        backing_turns: share of turns made with a reverse.
        truck_trips: drives to the truck and back; ``halt_max_s`` longest standing.
    """

    laps: int = 2
    style: Literal["up-and-back", "round"] = "up-and-back"
    corners: Literal["lift", "keep", "mixed"] = "mixed"
    overlap_m: float = 0.3
    steer_m: float = 0.2
    steer_s: float = 30.0
    clearance_m: float = 0.15
    speed_m_s: float = 2.08
    turn_pace: float = 0.8
    lever_m: float = 1.0
    gross: int = 3
    wanders: int = 3
    lost_furrow_m: float = 0.0
    missed_runs: int = 0
    up_runs: int = 0
    halts: int = 2
    halt_max_s: float = 900.0
    creeps: int = 1
    backs: int = 1
    backing_turns: float = 0.0
    truck_trips: int = 0
