"""A tenon that leans in its shoulder: it runs along the grain of its piece, not square to the face it enters."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from model.errors import JointError
from model.frames import Frame, Z, directions, identity, inverse, turn
from model.joint import Joint
from model.joints.measures import STEEPEST
from model.joints.tenons import Section
from model.part import Blank

STRAIGHT = 1e-8
"""A tenon that leans less than this stands square, rad."""


@dataclass(frozen=True, eq=False)
class Lean:
    """The turn that carries a seat's z from square to the shoulder onto the way the tenon runs."""

    turn: Frame

    def height(self, x: float, y: float) -> float:
        """Return how high the shoulder stands over a point of the turned seat, mm."""
        if self is UPRIGHT:
            return 0.0
        across_x, across_y, along, _ = (float(v) for v in self.turn[2])
        return -(across_x * x + across_y * y) / along

    def highest(self, of: Section) -> float:
        """Return the shoulder's highest point round a section, mm."""
        if self is UPRIGHT:
            return 0.0
        return max(self.height(x, y) for x, y in of.corners.tolist())

    def lowest(self, of: Section) -> float:
        """Return the shoulder's lowest point round a section, mm."""
        if self is UPRIGHT:
            return 0.0
        return min(self.height(x, y) for x, y in of.corners.tolist())

    def most(self, a: Blank) -> float:
        """Return how high it can stand anywhere on a piece, mm."""
        return math.hypot(float(self.turn[2, 0]), float(self.turn[2, 1])) / float(self.turn[2, 2]) * math.hypot(
            a.width, a.thickness) / 2


UPRIGHT = Lean(identity())
"""No lean: the tenon stands square to its shoulder."""


def lean_of(joint: Joint, a: Blank) -> Lean:
    """Return how a joint's tenon leans: not at all, or along a's grain where `run` asks for it.

    Raises JointError when the grain is more than 60 degrees from square to the shoulder.
    """
    if joint.sizes.get("run", "square") != "grain":
        return UPRIGHT
    grain = directions(inverse(joint.seat_a), a.grain)
    grain = grain if grain[2] > 0 else -grain
    angle = math.atan2(math.hypot(grain[0], grain[1]), float(grain[2]))
    if angle > STEEPEST:
        raise JointError(joint.name, "run", "grain", f"square: the grain of {joint.a} leans {math.degrees(angle):.1f} "
                                                     f"degrees from the way into {joint.b}, 60 at most")
    return UPRIGHT if angle < STRAIGHT else Lean(turn(np.cross(Z, grain), angle))
