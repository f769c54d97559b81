"""Hulls: what counts of some parts when they are carried through an opening, and the boxes around them.

A body passes wherever its convex hull passes, for it is moved straight and is not bent. Lengths mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from assembly.stance.body import convex
from assembly.standing import REMEMBERED
from model.frames import points
from model.solids import Solid

Floats = NDArray[np.float64]

UP: Floats = np.array([0.0, 0.0, 1.0])
SAME_AXIS = np.cos(np.radians(0.5))
"""Axes out of parallel by less than 0.5 degrees are one."""
FACES_TRIED = 40
"""A box is tried on this many sides of the hull, the largest first."""
FEW = 48
"""So many corners of a hull are enough to look for an attitude with; the attitude found is held against them all."""
SPREAD = 0.3
"""No corner lies farther than this outside the hull of the few, mm, unless that takes more than twice `FEW`."""


@dataclass(frozen=True, eq=False)
class Hull:
    """The corners (N, 3) of the convex hull of some parts, mm, in the frame of the finished work (z up)."""

    corners: Floats
    normals: Floats
    """Unit normals (F, 3) of its sides, the largest side first."""
    stands: bool = True
    """Whether z is the way it will stand up; False for a single part in its own frame."""

    @cached_property
    def key(self) -> bytes:
        """The same for hulls that differ only in where they are."""
        at = np.round(self.corners - self.corners.min(axis=0), 3) + 0.0
        return bytes([self.stands]) + bytes(at[np.lexsort(at.T)].tobytes())

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Hull) and self.key == other.key

    def widths(self, ways: Floats) -> Floats:
        """Return how wide it is along unit directions (..., 3), mm."""
        along = ways @ self.corners.T
        widths: Floats = along.max(axis=-1) - along.min(axis=-1)
        return widths

    @cached_property
    def few(self) -> Floats:
        """Some of its corners (K, 3), whose hull is almost its own."""
        return _few(self.corners)

    @cached_property
    def axes(self) -> Floats:
        """The axes (K, 3) that can point up when it is carried level: upright first, then those of the box around it.

        The box is the least in volume; where the work stands square these are its own three ways.
        """
        across = across_and_along(self, UP)
        boxes = [np.stack([UP, *across[:2]])]
        tried = distinct(self.normals[:FACES_TRIED])
        sized = [(float(self.widths(n[None])[0] * area), np.stack([n, one, other]))
                 for n in tried for one, other, area in [across_and_along(self, n)]]
        least = min(sized, key=lambda s: s[0], default=None)
        if least is not None and least[0] < (1 - 1e-6) * float(self.widths(UP[None])[0] * across[2]):
            boxes.append(least[1])
        return np.array(distinct(np.concatenate(boxes)))


def hull(assembly: Assembly, names: Iterable[str], done: frozenset[str]) -> Hull:
    """Return the hull of some parts as they stand, with the stages in `done` behind them."""
    return hull_of(np.concatenate([points(assembly.frames[n], convex(assembly.solid(n, done)).corners)
                                   for n in names]))


@lru_cache(maxsize=REMEMBERED)
def of_solid(solid: Solid) -> Hull:
    """Return the hull of a part, in its own frame."""
    return hull_of(convex(solid).corners, stands=False)


def hull_of(at: Floats, *, stands: bool = True) -> Hull:
    """Return the hull of points (N, 3), mm."""
    from scipy.spatial import ConvexHull

    found = ConvexHull(at)
    a, b, c = (at[found.simplices[:, k]] for k in range(3))
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0
    normals, which = _merged(found.equations[:, :3])
    totals = np.bincount(which, areas)
    return Hull(at[found.vertices], normals[np.argsort(-np.round(totals, 3), kind="stable")], stands)


def across_and_along(hull: Hull, up: Floats) -> tuple[Floats, Floats, float]:
    """Return the two ways (3,) square to `up` along the least rectangle around the hull, and its area, mm²."""
    ways = square_to(hull.corners, up)
    other = np.cross(up, ways)
    one, two = hull.widths(ways), hull.widths(other)
    k = int(np.argmin(np.round(one * two, 3)))
    return ways[k], other[k], float(one[k] * two[k])


def square_to(corners: Floats, up: Floats) -> Floats:
    """Return the ways (K, 3), square to `up`, that stand square to a side of what is seen of a hull along `up`.

    One of them is that along which it is least wide (Houle & Toussaint 1988: a least width has a side flush).
    """
    from scipy.spatial import ConvexHull

    x = np.linalg.svd(up[None])[2][1]
    flat = np.stack([x, np.cross(up, x)])
    outline = corners @ flat.T
    ring = outline[ConvexHull(outline).vertices]
    sides = np.roll(ring, -1, axis=0) - ring
    sides /= np.linalg.norm(sides, axis=1, keepdims=True)
    ways: Floats = np.stack([-sides[:, 1], sides[:, 0]], axis=1) @ flat
    return ways


def distinct(axes: Floats) -> list[Floats]:
    """Return axes (K, 3) without those that are parallel to an earlier one."""
    kept: list[Floats] = []
    for axis in axes:
        if all(abs(float(axis @ other)) < SAME_AXIS for other in kept):
            kept.append(axis)
    return kept


def _merged(normals: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """Return normals without doubles, and which of them each one is."""
    kept, which = np.unique(np.round(normals, 6) + 0.0, axis=0, return_inverse=True)
    return kept / np.linalg.norm(kept, axis=1, keepdims=True), which.reshape(-1)


def _few(corners: Floats) -> Floats:
    from scipy.spatial import ConvexHull

    if len(corners) <= FEW:
        return corners
    ways = _sphere(FEW)
    chosen = set(np.argmax(ways @ corners.T, axis=1).tolist()) | set(np.argmin(ways @ corners.T, axis=1).tolist())
    while len(chosen) < 2 * FEW:
        sides = ConvexHull(corners[sorted(chosen)]).equations
        outside = (corners @ sides[:, :3].T + sides[:, 3]).max(axis=1)
        far = np.argsort(-outside, kind="stable")[:4]
        if outside[far[0]] <= SPREAD:
            break
        chosen.update(far[outside[far] > SPREAD].tolist())
    return corners[sorted(chosen)]


def _sphere(count: int) -> Floats:
    """Return unit directions (count, 3) spread evenly over half a sphere, on a spiral."""
    k = np.arange(count) + 0.5
    high, angle = 1.0 - k / count, np.pi * (1.0 + 5.0**0.5) * k
    flat = np.sqrt(1.0 - high**2)
    return np.stack([flat * np.cos(angle), flat * np.sin(angle), high], axis=1)
