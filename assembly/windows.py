"""Windows: the part of a large shape that another shape comes near to.

A long beam meets a thousand rails, each with a hand's breadth of it: what is asked about a
pair is asked of the beam's stretch around the rail. A large shape is halved across its
longest side, its halves again, each half a little over the middle, so that many pairs share
a stretch and every stretch is cut out of one not much larger, once a shape.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from model.solids import Solid

Floats = NDArray[np.float64]

MANY = 2000
"""A shape with fewer triangles than this is looked at whole."""
OVER = 1.0 / 32.0
"""A half reaches over the middle by this share of the whole, so that what lies on the middle is in a half too."""
BESIDE = 1.0
"""A window reaches this much farther than was asked, mm, so that the faces it is cut out by play no part."""


def near(solid: Solid, other: Solid, frame: Floats, reach: float = 0.0) -> Solid:
    """Return a shape, or a window of it that holds all of it within `reach` mm of another carried by a frame.

    `frame` (4, 4) carries the other's own frame into the shape's. Inside the other's box and
    `reach` mm around it the two are the same wood, with the same faces; elsewhere the window
    may be cut off. A shape that is small, or that the other runs all along, is returned whole.
    """
    if solid.manifold.num_tri() < MANY:
        return solid
    low, high = _carried_box(other, frame)
    low, high = low - reach - BESIDE, high + reach + BESIDE
    while solid.manifold.num_tri() >= MANY:
        axis, first, last = _halves(solid)
        if high[axis] <= last:
            solid = _half(solid, -1.0)
        elif low[axis] >= first:
            solid = _half(solid, 1.0)
        else:
            break
    return solid


def _carried_box(solid: Solid, frame: Floats) -> tuple[Floats, Floats]:
    """Return a box around a shape's own box, carried by a frame."""
    middle, half = solid.bounds.mean(axis=0), np.ptp(solid.bounds, axis=0) / 2.0
    at, around = frame[:3, :3] @ middle + frame[:3, 3], np.abs(frame[:3, :3]) @ half
    return at - around, at + around


@lru_cache(maxsize=4096)
def _halves(solid: Solid) -> tuple[int, float, float]:
    """Return the axis a shape is halved across, where its second half begins and where its first one ends, mm."""
    size = np.ptp(solid.bounds, axis=0)
    axis = int(np.argmax(size))
    middle, over = float(solid.bounds[:, axis].mean()), OVER * float(size[axis])
    return axis, middle - over, middle + over


@lru_cache(maxsize=4096)
def _half(solid: Solid, side: float) -> Solid:
    """Return the half of a shape before (-1) or behind (1) its middle."""
    axis, first, last = _halves(solid)
    normal = np.zeros(3)
    normal[axis] = side
    return solid.split_at(normal * side * (last if side < 0 else first), normal)
