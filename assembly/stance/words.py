"""Words: how work lies, as a person would say it who looks at the finished work from the front."""

from __future__ import annotations

import math

import numpy as np

from assembly.stance.attitudes import SAME_FACE
from assembly.stance.body import Floats

SIDES = (((-1.0, 0.0), "left side"), ((1.0, 0.0), "right side"), ((0.0, -1.0), "front"), ((0.0, 1.0), "back"))
"""Left is -x in the world, the front -y."""
LEVEL = math.sin(math.radians(20.0))
"""A side looks sideways within 20 degrees of level."""
SQUARE = math.cos(math.radians(30.0))
"""A side is named alone within 30 degrees of it, with its neighbour beyond."""
FLAT = 0.6
"""Work lies flat when it is no higher than this share of the shorter way across."""


def lies(up: Floats, size: Floats) -> str:
    """Return how work lies whose direction `up` (3,) looks up; `size` (3,): long, across and high as it lies, mm."""
    if up[2] >= SAME_FACE:
        return "as it will stand"
    if up[2] <= -SAME_FACE:
        return "upside down"
    side = _side(up)
    if abs(up[2]) > LEVEL:
        return f"tipped over, its {side} up" if up[2] > 0 else f"nearly upside down, its {side} up"
    flat = size[2] <= FLAT * min(size[0], size[1])
    return f"flat, its {side} up" if flat else f"on its {_side(-up)}"


def _side(way: Floats) -> str:
    level = way[:2] / np.linalg.norm(way[:2])
    by_far = sorted(((round(float(level @ np.array(at)), 6), name) for at, name in SIDES), key=lambda s: -s[0])
    if by_far[0][0] >= SQUARE:
        return by_far[0][1]
    return " and ".join(name for _, name in _in_order(by_far[:2]))


def _in_order(two: list[tuple[float, str]]) -> list[tuple[float, str]]:
    """Return two sides with left or right first, whichever is nearer."""
    return sorted(two, key=lambda s: s[1] in ("front", "back"))
