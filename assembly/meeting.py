"""Two shapes in one position towards each other: what everything that is worked out per pair hangs on."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from model.solids import Solid

Floats = NDArray[np.float64]

REMEMBERED = 20_000
"""How many meetings of two shapes are remembered, for each question asked of them."""


class Meeting:
    """Two shapes in one position towards each other: equal when shapes and position (to 1e-6) are equal.

    `frame` (4, 4) carries b's own frame into a's. Made to be the key of a bounded cache.
    """

    __slots__ = ("a", "b", "frame", "key")

    def __init__(self, a: Solid, b: Solid, frame: Floats, key: bytes) -> None:
        self.a, self.b, self.frame, self.key = a, b, frame, key

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Meeting) and other.key == self.key


def meeting(a: Solid, b: Solid, frame: Floats) -> Meeting:
    """Return the meeting of two shapes, `frame` (4, 4) carrying b's own frame into a's."""
    return Meeting(a, b, frame, a.key + b.key + (np.round(frame[:3], 6) + 0.0).tobytes())


def larger_stays(a: Solid, b: Solid, a_in_b: Floats, b_in_a: Floats) -> Meeting:
    """Return the meeting of two shapes with the one of more triangles first: it stays put, the other is carried to it.

    `a_in_b`, `b_in_a` (4, 4) carry the one's own frame into the other's.
    """
    return meeting(b, a, a_in_b) if len(b.mesh[1]) > len(a.mesh[1]) else meeting(a, b, b_in_a)
