"""Body: the corners and masses of what lies together, as arrays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from model.frames import directions, points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ON_IT = 0.5
"""Corners within this of the face the work lies on rest on it, mm: what a clamp and a shaving take up."""


ALONG = 24
"""Parts along which a box is laid around several, the heaviest first."""


@dataclass(frozen=True, eq=False)
class Body:
    """P parts where they stand: corners (N, 3) of their hulls, mm, whose they are (N,), mass (P,) kg, centre (P, 3).

    `faces` (F, 3): the corners of each face of the hulls, `normals` (F, 3) unit, out of them. `axes` (P, 3, 3): the
    directions of each part's own x, y and z as columns.
    """

    names: tuple[str, ...]
    corners: Floats
    owner: Ints
    mass: Floats
    centre: Floats
    faces: Ints
    normals: Floats
    axes: Floats

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

    def size(self, rows: NDArray[np.bool_]) -> tuple[float, float, float]:
        """Return the sides of the least box around some parts that lies along one of them, the longest first, mm."""
        corners = self.corners[rows[self.owner]]
        heaviest = np.flatnonzero(rows)[np.argsort(-np.round(self.mass[rows], 6), kind="stable")][:ALONG]
        _, first = np.unique(np.round(self.axes[heaviest], 3), axis=0, return_index=True)
        boxes = np.array([np.ptp(corners @ axes, axis=0) for axes in self.axes[heaviest[first]]])
        least, middle, longest = np.sort(boxes[int(np.argmin(np.round(boxes.prod(axis=1))))]).tolist()
        return longest, middle, least

    def lows(self, up: Floats) -> tuple[Floats, Floats]:
        """Return how high each corner (N,) and the lowest corner of each part (P,) is along `up` (3,), mm."""
        heights = self.corners @ up
        return heights, np.minimum.reduceat(heights, self.first)


def body(assembly: Assembly, names: Iterable[str], done: frozenset[str]) -> Body:
    """Return some parts with the stages in `done` behind them, in the order of the design."""
    wanted = set(names)
    ordered = tuple(n for n in assembly.names if n in wanted)
    solids = [assembly.solid(n, done) for n in ordered]
    frames = np.array([assembly.frames[n] for n in ordered])
    hulls = [convex(s) for s in solids]
    counts = [len(h.corners) for h in hulls]
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    return Body(
        ordered, np.concatenate([points(f, h.corners) for f, h in zip(frames, hulls, strict=True)]),
        np.repeat(np.arange(len(ordered)), counts),
        np.array([s.volume * 1e-9 * assembly.part(n).density for n, s in zip(ordered, solids, strict=True)]),
        np.array([points(f, s.centroid) for f, s in zip(frames, solids, strict=True)]),
        np.concatenate([h.faces + start for h, start in zip(hulls, starts.tolist(), strict=True)]),
        np.concatenate([directions(f, h.normals) for f, h in zip(frames, hulls, strict=True)]),
        frames[:, :3, :3])


@dataclass(frozen=True, eq=False)
class Convex:
    """A solid's convex hull in its own frame: corners (N, 3), mm, faces (F, 3) of corners, normals (F, 3) out of it."""

    corners: Floats
    faces: Ints
    normals: Floats


@lru_cache(maxsize=4096)
def convex(solid: Solid) -> Convex:
    """Return a solid's convex hull."""
    from scipy.spatial import ConvexHull

    corners = solid.mesh[0]
    hull = ConvexHull(corners)
    kept = np.sort(hull.vertices)
    return Convex(corners[kept], np.searchsorted(kept, hull.simplices), hull.equations[:, :3])
