"""What the joints measure on a blank before they cut: its section at a seat, the wood ahead of it.

Everything is measured in a seat's frame: x the long way of the section, y the short way, z
the way part a slides home.
"""

from __future__ import annotations

import math

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


def slope(blank: Blank, seat: Frame) -> NDArray[np.float64]:
    """Return how far a piece runs along its grain for 1 mm of a seat's z, in the seat's frame (3,), z = 1.

    A piece that meets the seat with its side has no such way: straight along z then.
    """
    grain = directions(inverse(seat), blank.grain)
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


def height(blank: Blank, seat: Frame) -> tuple[float, float]:
    """Return from where to where a whole piece reaches along a seat's z, mm."""
    along = points(inverse(seat), blank.solid.mesh[0])[:, 2]
    return float(along.min()), float(along.max())
