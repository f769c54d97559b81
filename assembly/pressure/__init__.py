"""Pressure: where clamps press each joint, how many there are, how far they open, and whether they have room.

`clamped` gives a stage its clamps; `demand` says what a joint takes before it is known in which stage.
"""

from assembly.pressure.clamps import Demand, clamped, demand

__all__ = ["Demand", "clamped", "demand"]
