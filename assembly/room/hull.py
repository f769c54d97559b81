"""Hulls: what counts of some parts when they are carried through an opening, and the boxes around them.

A body passes wherever its convex hull passes, for it is moved straight and is not bent. Lengths mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Unit
from assembly.placing import Assembly
from assembly.stance.body import convex
from assembly.standing import REMEMBERED
from model.frames import points
from model.solids import Solid

Floats = NDArray[np.float64]

UP: Floats = np.array([0.0, 0.0, 1.0])
SAME_AXIS = np.cos(np.radians(0.5))
"""Axes out of parallel by less than 0.5 degrees are one."""
FACES_TRIED = 12
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
        """The same for hulls that differ only in where they are, how they are turned about the upright, or in hand.

        Such hulls go through the same openings. How high each corner lies and how far from the middle, and sums of
        powers over all pairs of corners, make the key.
        """
        at = self.corners - self.corners.mean(axis=0)
        own = np.stack([np.abs(at[:, 2]) * self.stands, np.linalg.norm(at, axis=1)], axis=1).round(2) + 0.0
        pairs = at @ at.T / float((at**2).sum(axis=1).max())
        square = pairs * pairs
        sums = [f"{float(np.vdot(one, other)):.6f}" for one in (pairs, square) for other in (pairs, square)]
        return bytes([self.stands]) + " ".join(sums).encode() + bytes(own[np.lexsort(own.T)].tobytes())

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
        boxes = [box_around(self, up) for up in distinct(np.concatenate([UP[None], self.normals]), FACES_TRIED)]
        volumes = [float(np.prod(self.widths(b))) for b in boxes]
        least = int(np.argmin(volumes))
        kept = boxes[:1] if volumes[least] > (1 - 1e-6) * volumes[0] else [boxes[0], boxes[least]]
        return np.array(distinct(np.concatenate(kept)))


@lru_cache(maxsize=REMEMBERED)
def hull(assembly: Assembly, names: Unit, done: frozenset[str]) -> Hull:
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


def box_around(hull: Hull, up: Floats) -> Floats:
    """Return the ways (3, 3) of the box around a hull that has one of its ways `up` and the least base: `up` first."""
    seen = outline(hull.few, up)
    across, along = seen.widths(seen.flush), seen.widths(seen.flush + np.pi / 2)
    way = seen.ways(seen.flush[[int(np.argmin(np.round(across * along, 3)))]])[0]
    return np.stack([up, way, np.cross(up, way)])


@dataclass(frozen=True, eq=False)
class Outline:
    """What is seen of a hull along a way: its ring of corners (M, 2), mm, on two axes (2, 3) square to that way."""

    ring: Floats
    axes: Floats

    @property
    def flush(self) -> Floats:
        """The angles (M,), rad, of the ways that stand square to a side of the ring.

        Along one of them it is least wide (Houle & Toussaint 1988: a least width has a side flush).
        """
        sides = np.roll(self.ring, -1, axis=0) - self.ring
        angles: Floats = np.unique(np.round(np.arctan2(sides[:, 0], -sides[:, 1]) % np.pi, 9))
        return angles

    def widths(self, angles: Floats) -> Floats:
        """Return how wide it is at angles (K,), mm."""
        along = np.stack([np.cos(angles), np.sin(angles)], axis=1) @ self.ring.T
        widths: Floats = along.max(axis=1) - along.min(axis=1)
        return widths

    def ways(self, angles: Floats) -> Floats:
        """Return the ways (K, 3) at angles (K,)."""
        ways: Floats = np.stack([np.cos(angles), np.sin(angles)], axis=1) @ self.axes
        return ways


def outline(corners: Floats, up: Floats) -> Outline:
    """Return what is seen of corners (N, 3) along a way (3,)."""
    from scipy.spatial import ConvexHull

    x = np.cross(up, np.eye(3)[int(np.argmin(np.abs(up)))])
    x /= np.linalg.norm(x)
    axes = np.stack([x, np.cross(up, x)])
    flat = corners @ axes.T
    return Outline(flat[ConvexHull(flat).vertices], axes)


def distinct(axes: Floats, most: int = 12) -> list[Floats]:
    """Return the first few of some axes (K, 3), without those that are parallel to an earlier one."""
    kept: list[Floats] = []
    for axis in axes:
        if not kept or float(np.abs(np.array(kept) @ axis).max()) < SAME_AXIS:
            kept.append(axis)
        if len(kept) == most:
            break
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
        far = np.argsort(-outside, kind="stable")[:12]
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
