"""Facets: the flat faces of a solid, freed of its triangulation.

Triangles that meet along an edge and lie in one plane become one facet. The chords of a
faceted curve stay apart: their planes differ by far more than PLANE allows. Worked out
once a shape, whatever the number of parts that have it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

PLANE = 1e-4
"""Corners this near a plane, mm, lie in it: above the rounding of meshes kept in single precision, well below the step
between two chords of a curve."""
TILT = 2e-4
"""Triangles tilted by less, rad, may share a plane; a triangle too small to know its own gets PLANE over its height."""
SLIVER = 1e-4
"""A triangle lower than this, mm, has no direction of its own: it goes with a neighbour."""


@dataclass(frozen=True, eq=False)
class Facets:
    """The F flat faces of one solid, in the solid's own frame, mm.

    `normals` (F, 3) unit, out of the wood; `offsets` (F,): n·p = offset on the face;
    `areas` (F,) mm²; `facet_of` (M,) the facet of each triangle of `solid.mesh`;
    `low`, `high` (F, 3) the box around each face.
    """

    normals: Floats
    offsets: Floats
    areas: Floats
    facet_of: Ints
    low: Floats
    high: Floats
    _corners: Floats = field(repr=False)
    _triangles: Ints = field(repr=False)

    def __len__(self) -> int:
        return len(self.offsets)

    @cached_property
    def bases(self) -> Floats:
        """The 2D bases of all faces (F, 2, 3): unit u and v with u x v = n."""
        least = np.argmin(np.abs(self.normals), axis=1)
        u = np.cross(self.normals, np.eye(3)[least])
        u /= np.linalg.norm(u, axis=1)[:, None]
        return np.stack([u, np.cross(self.normals, u)], axis=1)

    def basis(self, f: int) -> Floats:
        """Return the 2D basis (2, 3) of face `f`: a point p of space has the coordinates basis @ p."""
        basis: Floats = self.bases[f]
        return basis

    @cached_property
    def _order(self) -> tuple[Ints, Ints]:
        order = np.argsort(self.facet_of, kind="stable")
        return order, np.searchsorted(self.facet_of[order], np.arange(len(self) + 1))

    def triangles(self, f: int) -> Ints:
        """Return the rows of `solid.mesh[1]` that make up face `f`."""
        order, start = self._order
        rows: Ints = order[start[f]:start[f + 1]]
        return rows

    def corners(self, f: int) -> Floats:
        """Return the corners (K, 3) of face `f`."""
        at: Floats = self._corners[np.unique(self._triangles[self.triangles(f)])]
        return at

    def section(self, f: int) -> manifold3d.CrossSection:
        """Return face `f` as a flat region in its basis; worked out once."""
        made = self._sections.get(f)
        if made is None:
            corners = self._corners[self._triangles[self.triangles(f)]]
            made = manifold3d.CrossSection(list(np.ascontiguousarray(corners @ self.basis(f).T)))
            self._sections[f] = made
        return made

    @cached_property
    def _sections(self) -> dict[int, manifold3d.CrossSection]:
        return {}


@lru_cache(maxsize=8192)
def facets(solid: Solid) -> Facets:
    """Return the flat faces of a solid. The result does not depend on how its faces are cut into triangles."""
    corners, triangles = solid.mesh
    shape = _Triangles.of(corners, triangles)
    facet_of, count = _merged(shape)
    sums = np.zeros((count, 3))
    np.add.at(sums, facet_of, shape.doubled)
    doubled = np.linalg.norm(sums, axis=1)
    normals = sums / np.maximum(doubled, 1e-300)[:, None]
    return Facets(normals, _offsets(shape, facet_of, normals), doubled / 2.0, facet_of,
                  *_boxes(corners[triangles], facet_of, count), corners, triangles)


@dataclass(frozen=True, eq=False)
class _Triangles:
    corners: Floats
    """(M, 3, 3)"""
    doubled: Floats
    """Cross products of two sides (M, 3): twice the area along the normal."""
    normals: Floats
    heights: Floats
    pairs: Ints
    """Triangles that share an edge (E, 2)."""
    shared: Floats
    """Length of that edge (E,)."""

    @staticmethod
    def of(corners: Floats, triangles: Ints) -> _Triangles:
        at = corners[triangles]
        sides = np.roll(at, -1, axis=1) - at
        doubled = np.cross(sides[:, 0], sides[:, 1])
        twice = np.linalg.norm(doubled, axis=1)
        longest = np.linalg.norm(sides, axis=2).max(axis=1, initial=0.0)
        heights = twice / np.maximum(longest, 1e-300)
        pairs, ends = neighbours(triangles)
        shared = np.linalg.norm(corners[ends[:, 0]] - corners[ends[:, 1]], axis=1)
        return _Triangles(at, doubled, doubled / np.maximum(twice, 1e-300)[:, None], heights, pairs, shared)


def neighbours(triangles: Ints) -> tuple[Ints, Ints]:
    """Return the triangles on the two sides of every edge (E, 2) of a closed mesh, and the edge's corners (E, 2)."""
    ends = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    owner = np.repeat(np.arange(len(triangles)), 3)
    span = int(triangles.max(initial=0)) + 1
    order = np.argsort(ends.min(axis=1) * span + ends.max(axis=1), kind="stable")
    one, other = order[0::2], order[1::2]
    return np.column_stack([owner[one], owner[other]]), ends[one]


def _merged(shape: _Triangles) -> tuple[Ints, int]:
    """Return the facet of each triangle, numbered by their first triangles, and how many there are."""
    firm = shape.heights > SLIVER
    labels = _spread(len(firm), shape.pairs[_coplanar(shape, firm)])
    labels = _adopt(shape, firm, labels)
    _, facet_of = np.unique(labels, return_inverse=True)
    return facet_of.astype(np.int64), int(facet_of.max(initial=-1)) + 1


def _coplanar(shape: _Triangles, firm: NDArray[np.bool_]) -> NDArray[np.bool_]:
    one, other = shape.pairs.T
    swap = shape.heights[one] < shape.heights[other]
    big, small = np.where(swap, other, one), np.where(swap, one, other)
    off = np.einsum("eki,ei->ek", shape.corners[small] - shape.corners[big][:, :1], shape.normals[big])
    tilt = np.linalg.norm(np.cross(shape.normals[big], shape.normals[small]), axis=1)
    facing = np.einsum("ei,ei->e", shape.normals[big], shape.normals[small]) > 0
    most = np.maximum(TILT, PLANE / np.maximum(shape.heights[small], SLIVER))
    near = np.abs(off).max(axis=1, initial=0.0) <= PLANE
    same: NDArray[np.bool_] = near & facing & (tilt <= most) & firm[big] & firm[small]
    return same


def _spread(count: int, pairs: Ints) -> Ints:
    """Return for each of `count` things the least one it is tied to by `pairs`, directly or through others."""
    labels = np.arange(count)
    while len(pairs):
        least = labels.copy()
        np.minimum.at(least, pairs[:, 0], labels[pairs[:, 1]])
        np.minimum.at(least, pairs[:, 1], labels[pairs[:, 0]])
        least = least[least]
        if np.array_equal(least, labels):
            break
        labels = least
    return labels


def _adopt(shape: _Triangles, firm: NDArray[np.bool_], labels: Ints) -> Ints:
    """Give every sliver the facet of the neighbour behind the longest edge it shares with one that has a facet."""
    labels, placed = labels.copy(), firm.copy()
    edges = np.vstack([shape.pairs, shape.pairs[:, ::-1]])
    longest_last = np.argsort(np.concatenate([shape.shared, shape.shared]), kind="stable")
    edges = edges[longest_last]
    while not placed.all():
        ready = edges[~placed[edges[:, 0]] & placed[edges[:, 1]]]
        if not len(ready):
            break
        labels[ready[:, 0]] = labels[ready[:, 1]]
        placed[ready[:, 0]] = True
    return labels


def _offsets(shape: _Triangles, facet_of: Ints, normals: Floats) -> Floats:
    weight = np.linalg.norm(shape.doubled, axis=1) + 1e-300
    at = np.einsum("mki,mi->m", shape.corners, normals[facet_of]) / 3.0
    return np.asarray(np.bincount(facet_of, weight * at, len(normals)) / np.bincount(facet_of, weight, len(normals)))


def _boxes(corners: Floats, facet_of: Ints, count: int) -> tuple[Floats, Floats]:
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    np.minimum.at(low, facet_of, corners.min(axis=1))
    np.maximum.at(high, facet_of, corners.max(axis=1))
    return low, high
