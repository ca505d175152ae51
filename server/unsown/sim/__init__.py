"""The simulator: drives a rig over an invented paddock with known truth.

Its kinematics, delays and polygons are its own; of the engine it knows only the words.
"""

from unsown.sim.day import SimDay, day

__all__ = ["SimDay", "day"]
