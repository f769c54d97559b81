"""Engagement: how far pieces slide in each other's joints before they are clear."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Blocking, Tie
from assembly.directions import lines
from assembly.motion import Bodies
from assembly.seams import is_seam

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

ALONG = 0.2
"""A joint whose axis leans less than this (cosine) along a move is not slid by it."""
PLAY = 3.0
"""A piece that can shift less than this to both sides is still held between two faces, mm."""
HALVINGS = 10
"""How often the distance at which a piece comes clear is narrowed down: to a thousandth of the way."""


def ties_between(held: Blocking, leaving: Sequence[int], staying: Collection[int]) -> list[Tie]:
    """Return the joints between units that leave and units that stay."""
    return [t for u in leaving for t in held.ties_of[u] if (t.b if t.a == u else t.a) in staying]


def engagement(held: Blocking, leaving: Sequence[int], staying: Collection[int], out: Array) -> float:
    """Return how far the leaving units slide along `out` before they are clear of those that stay, mm.

    Along joints that is the longest joint's own travel. Where none is declared (what touches
    may share a seam) it is how far they slide until nothing holds them from two sides any more, found by halving.
    """
    ties = [t for t in ties_between(held, leaving, staying) if not is_seam(t.joint)]
    if ties:
        leans = [(abs(float(t.axis @ out)), t.joint.travel) for t in ties]
        return max((travel / lean for lean, travel in leans if lean > ALONG), default=0.0)
    return _until_clear(held, leaving, staying, out)


def _until_clear(held: Blocking, leaving: Sequence[int], staying: Collection[int], out: Array) -> float:
    movers = np.concatenate([held.members[u] for u in leaving])
    rest = np.concatenate([held.members[v] for v in sorted(staying)])
    low, high = held.bodies.extent(out)
    near, far = 0.0, float(high[rest, 2].max() - low[movers, 2].min())
    sides = _sideways(held, int(movers[0]), out)
    if far <= 0 or not _held_between(held.bodies, movers, rest, sides):
        return 0.0
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        caught = _held_between(held.bodies.shifted(movers, out * middle), movers, rest, sides)
        near, far = (middle, far) if caught else (near, middle)
    return far


def _sideways(held: Blocking, mover: int, out: Array) -> Array:
    """Return the lines square to the motion along which the mover may be held: its own edges, and its contacts."""
    own = np.concatenate([held.bodies.frames[mover, :3, :3].T, held.normals[held.patches_of[int(held.unit_of[mover])]]])
    square = own - (own @ out)[:, None] * out
    size = np.linalg.norm(square, axis=1)
    return lines(square[size > 0.1] / size[size > 0.1, None])


def _held_between(bodies: Bodies, movers: Indices, rest: Indices, sides: Array) -> bool:
    """Return whether the movers can shift by less than PLAY both ways along some line."""
    return any(all(bodies.travel(movers.tolist(), rest, way).mm < PLAY for way in (side, -side)) for side in sides)
