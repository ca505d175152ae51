"""How far sideways a turning tool drags its tines: the job paper's 3.21.

The tool turns at w rad/s (left is positive) while its axle rolls at v m/s. A tine x m ahead of the
axle and y m to the left then moves at (v - w y) along the tool and w x across it, so its angle is

    beta = atan2(|w x|, v - w y)

(velocity of a point of a rigid body). Where v - w y is not above zero the tine is pushed backwards.
"""

from __future__ import annotations

from math import atan2, degrees

from unsown.core.words import Tool

#: A tine pushed backwards has at least this angle, degrees.
BACKWARDS_DEG = 90.0


def tine_deg(turn_rad_s: float, speed_m_s: float, ahead_m: float, left_m: float) -> float:
    """Sideways angle of one tine, degrees from 0 to 180; 90 and more: pushed backwards.

    Args:
        turn_rad_s: how fast the tool turns, left positive.
        speed_m_s: speed of its axle, forward.
        ahead_m: tine ahead of the axle (behind is negative).
        left_m: tine left of the tool's middle.
    """
    return degrees(atan2(abs(turn_rad_s * ahead_m), speed_m_s - turn_rad_s * left_m))


def worst_deg(tool: Tool, turn_rad_s: float, speed_m_s: float) -> float:
    """The largest sideways angle of all tines of a tool, degrees.

    It is found at the bar's end inside the turn. A tool that does not turn strains nothing.
    """
    if turn_rad_s == 0.0:
        return 0.0
    inner = tool.offset_left_m + (tool.width_m if turn_rad_s > 0 else -tool.width_m) / 2
    ranks = (tool.front_rank_m, tool.rear_rank_m)
    return max(tine_deg(turn_rad_s, speed_m_s, rank, inner) for rank in ranks)
