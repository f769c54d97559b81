"""How the base part stands in the world: z up, the ground at z = 0."""

from __future__ import annotations

import math

from model.frames import Frame, X, Y, Z, move, points, snapped, turn
from model.part import Blank
from model.reader.schema import Stand

_TIPPED = {"level": 0.0, "up": math.pi / 2, "down": -math.pi / 2}


def standing(stand: Stand, blank: Blank) -> Frame:
    """Return the base part's frame: its grain level along x, or upright, turned and tipped as asked, then lifted.

    The blank's lowest corner comes to lie `lift` above the ground.
    """
    way = turn(Z, stand.turn_angle) @ turn(Y, -(_TIPPED[stand.grain] + stand.tip_angle)) @ turn(X, stand.roll_angle)
    lowest = float(points(way, blank.solid.mesh[0])[:, 2].min())
    return snapped(move(z=stand.lift - lowest) @ way)
