"""Body: the corners and masses of what lies together, as arrays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from model.frames import points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ON_IT = 0.5
"""Corners within this of the face the work lies on rest on it, mm: what a clamp and a shaving take up."""


@dataclass(frozen=True, eq=False)
class Body:
    """P parts where they stand: corners (N, 3) of their hulls, mm, whose they are (N,), mass (P,) kg, centre (P, 3)."""

    names: tuple[str, ...]
    corners: Floats
    owner: Ints
    mass: Floats
    centre: Floats

    @cached_property
    def first(self) -> Ints:
        """The row of each part's first corner (P,)."""
        return np.searchsorted(self.owner, np.arange(len(self.names)))

    @cached_property
    def index(self) -> dict[str, int]:
        """The row of each part."""
        return {name: k for k, name in enumerate(self.names)}

    def rows(self, names: Iterable[str]) -> NDArray[np.bool_]:
        """Return which parts (P,) are among the names."""
        mask = np.zeros(len(self.names), dtype=bool)
        mask[[self.index[n] for n in names]] = True
        return mask

    def lows(self, up: Floats) -> tuple[Floats, Floats]:
        """Return how high each corner (N,) and the lowest corner of each part (P,) is along `up` (3,), mm."""
        heights = self.corners @ up
        return heights, np.minimum.reduceat(heights, self.first)


def body(assembly: Assembly, names: Iterable[str], done: frozenset[str]) -> Body:
    """Return some parts with the stages in `done` behind them, in the order of the design."""
    wanted = set(names)
    ordered = tuple(n for n in assembly.names if n in wanted)
    solids = [assembly.solid(n, done) for n in ordered]
    clouds = [points(assembly.frames[n], hull_corners(s)) for n, s in zip(ordered, solids, strict=True)]
    owner = np.repeat(np.arange(len(ordered)), [len(c) for c in clouds])
    mass = np.array([s.volume * 1e-9 * assembly.part(n).density for n, s in zip(ordered, solids, strict=True)])
    centre = np.array([points(assembly.frames[n], s.centroid) for n, s in zip(ordered, solids, strict=True)])
    return Body(ordered, np.concatenate(clouds), owner, mass, centre)


@lru_cache(maxsize=4096)
def hull_corners(solid: Solid) -> Floats:
    """Return the corners of a solid's convex hull in its own frame (N, 3), mm."""
    from scipy.spatial import ConvexHull, QhullError

    corners = solid.mesh[0]
    try:
        return np.asarray(corners[np.sort(ConvexHull(corners).vertices)], dtype=np.float64)
    except QhullError:
        return corners
