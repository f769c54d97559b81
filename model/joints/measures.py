"""What the joints measure on a blank before they cut: its section at a seat, the wood ahead of it.

Everything is measured in a seat's frame: x the long way of the section, y the short way, z
the way part a slides home.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.errors import JointError
from model.frames import Frame, directions, inverse, points
from model.joint import Joint
from model.part import Blank
from model.solids import ROOT, SAGITTA

FIT_MOST = 3.0
"""Largest clearance a side that still counts as a joint, mm (gap-filling glue bridges 0.5 mm; common
practice, no source)."""
LEAST_WOOD = 1.0
"""Least wood left behind a blind cut, mm (common practice, no source)."""
STEEPEST = math.radians(60.0)
"""A piece whose grain is farther than this from a seat's z is met on its side, not on its end, rad."""
SKIN = 2.0 * SAGITTA
"""How far under a surface measuring starts, mm: a faceted curve lies that near its true place."""


def positive(joint: Joint, key: str, value: float) -> float:
    """Return a size; JointError unless it is more than 0 mm."""
    if not (value > 0 and math.isfinite(value)):
        raise JointError(joint.name, key, f"{value:.2f} mm", "more than 0 mm")
    return value


def refuse_fit(joint: Joint) -> None:
    """Raise JointError unless the joint's clearance a side can be one."""
    if not 0.0 <= joint.fit <= FIT_MOST:
        raise JointError(joint.name, "fit", f"{joint.fit:.2f} mm", f"0 to {FIT_MOST:g} mm a side")


def at_most(joint: Joint, key: str, value: float, most: float, name: str) -> float:
    """Return a size; JointError unless it is more than 0 mm and no more than a piece has."""
    if not 0 < value <= most + 1e-6:
        room = f"more than 0 mm and at most {most:.2f} mm, what {name} can give there"
        raise JointError(joint.name, key, f"{value:.2f} mm",
                         room if most > 0 else f"a place with wood of {name} around it: less shift or offset")
    return value


def slope(blank: Blank, seat: Frame) -> NDArray[np.float64]:
    """Return how far a piece runs along its grain for 1 mm of a seat's z, in the seat's frame (3,), z = 1.

    A piece that meets the seat with its side has no such way: straight along z then.
    """
    grain = blank.grain @ seat[:3, :3]
    if abs(float(grain[2])) < math.cos(STEEPEST):
        return np.array([0.0, 0.0, 1.0])
    way: NDArray[np.float64] = grain / grain[2]
    return way


def span(blank: Blank, seat: Frame, axis: int, below: float = ROOT) -> tuple[float, float]:
    """Return from where to where a piece reaches at a shoulder, mm along the seat's x (0) or y (1).

    Measured `below` mm under the shoulder and carried up along the grain; (0, 0) beside the wood.
    """
    under = points(seat, -below * slope(blank, seat))
    way = seat[:3, axis]
    return -blank.solid.chord(under, -way), blank.solid.chord(under, way)


def ahead(blank: Blank, seat: Frame, x: float = 0.0, y: float = 0.0, z: float = 0.0, *, back: bool = False) -> float:
    """Return how much wood lies ahead of a point of a seat along z (or -z), mm; 0 beside the wood."""
    way = -seat[:3, 2] if back else seat[:3, 2]
    wood = blank.solid.chord(points(seat, (x, y, z)) + way * SKIN, way)
    return wood + SKIN if wood > 0 else 0.0


def across(blank: Blank, seat: Frame, axis: int, z: float, x: float = 0.0, y: float = 0.0) -> tuple[float, float]:
    """Return from where to where a piece reaches through a point of a seat, mm along its x (0) or y (1)."""
    at, way = points(seat, (x, y, z)), seat[:3, axis]
    middle = (x, y)[axis]
    return middle - blank.solid.chord(at, -way), middle + blank.solid.chord(at, way)


@dataclass(frozen=True)
class FarSide:
    """The plane on which a piece ends ahead of a seat: its distance along z and its normal, in the seat (3,)."""

    height: float
    at: tuple[float, float]
    normal: NDArray[np.float64]

    @property
    def square(self) -> bool:
        """Whether it lies square to the seat's z."""
        return float(np.hypot(self.normal[0], self.normal[1])) < 1e-9

    def distance(self, x: float, y: float) -> float:
        """Return how far along z the plane lies over a point x, y of the seat, mm."""
        n = self.normal
        return float(self.height - (n[0] * (x - self.at[0]) + n[1] * (y - self.at[1])) / n[2])

    def plane(self, seat: Frame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return a point of the plane and its normal, out of the wood, in the frame that a seat stands in."""
        return points(seat, (*self.at, self.height)), directions(seat, self.normal)


def far_side(blank: Blank, seat: Frame, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> FarSide | None:
    """Return where a piece ends ahead of a point of a seat; None beside the wood."""
    way = seat[:3, 2]
    start = points(seat, (x, y, z + SKIN))
    out = blank.solid.way_out(start, way)
    if out is None:
        return None
    distance, normal = out
    return FarSide(distance + z + SKIN, (x, y), directions(inverse(seat), normal))


def height(blank: Blank, seat: Frame) -> tuple[float, float]:
    """Return from where to where a whole piece reaches along a seat's z, mm."""
    low, high = blank.solid.bounds_in(seat)[:, 2].tolist()
    return low, high
