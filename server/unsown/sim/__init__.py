"""The simulator: drives a rig over an invented paddock with known truth.

Its kinematics, delays and polygons are its own; of the engine it knows only the words, the
errors and the plane.
"""

from unsown.sim.day import SimDay, day
from unsown.sim.trial import hard_taps, trial

__all__ = ["SimDay", "day", "hard_taps", "trial"]
