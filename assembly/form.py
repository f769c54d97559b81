"""Form: what is compared of a solid, its corners and its faces freed of triangulation.

Not told apart: two solids with the same corners, and in every plane the same area about the same middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assembly.facets import facets, neighbours
from model.frames import Frame, Vector, directions, inverse, points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TOLERANCE = 0.02
"""Corners and faces this near, mm, are in the same place."""
BENT = 1e-3
"""A crease that leaves the straight line by more, mm, has a corner there."""
REACH = 100.0
"""How many mm a face's normal counts for among its descriptors: opposite faces are never taken for one another."""
ASKEW = 5e-3
"""Faces tilted by less, rad, can lie in one plane: less than two neighbouring chords of a curve of 1 m."""
SAMPLE = 64
"""Corners that a product of two known maps is tried on."""


@dataclass(frozen=True, eq=False)
class Form:
    """What is compared of one solid: N corners and F faces, mm, in the solid's own frame.

    `girths` (F,) are the lengths of the faces' outlines.
    """

    corners: Floats
    centre: Vector
    volume: float
    middles: Floats
    normals: Floats
    areas: Floats
    girths: Floats

    @cached_property
    def radii(self) -> Floats:
        """How far each corner is from the centre (N,)."""
        return np.asarray(np.linalg.norm(self.corners - self.centre, axis=1))

    @cached_property
    def ranked(self) -> Floats:
        """The radii in rising order (N,)."""
        return np.sort(self.radii)

    @cached_property
    def tree(self) -> Any:
        """The corners, to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(self.corners)

    @cached_property
    def faces(self) -> Any:
        """The faces by middle and normal (F, 6), to be asked for the nearest."""
        from scipy.spatial import cKDTree

        return cKDTree(np.column_stack([self.middles, REACH * self.normals]))

    @cached_property
    def sample(self) -> Ints:
        """Rows of a few corners spread over the solid, the farthest first."""
        far = np.argsort(-self.radii, kind="stable")
        return far[np.linspace(0, len(far) - 1, min(SAMPLE, len(far))).astype(np.int64)]


@lru_cache(maxsize=4096)
def form_of(solid: Solid) -> Form:
    vertices, triangles = solid.mesh
    faces = facets(solid)
    pairs, ends = neighbours(triangles)
    sides = faces.facet_of[pairs]
    crease = sides[:, 0] != sides[:, 1]
    length = np.linalg.norm(vertices[ends[:, 0]] - vertices[ends[:, 1]], axis=1)
    girths = np.bincount(sides[crease].ravel(), np.repeat(length[crease], 2), len(faces)).astype(np.float64)
    at = vertices[triangles]
    weight = np.linalg.norm(np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]), axis=1)
    sums = np.column_stack([np.bincount(faces.facet_of, weight * at.mean(axis=1)[:, k], len(faces)) for k in range(3)])
    middles = sums / np.maximum(np.bincount(faces.facet_of, weight, len(faces)), 1e-300)[:, None]
    centre = solid.centroid if len(vertices) else np.zeros(3)
    return Form(_corners(vertices, ends[crease]), centre, solid.volume, middles, faces.normals, faces.areas, girths)


def _corners(vertices: Floats, creases: Ints) -> Floats:
    """Return the vertices at which creases (E, 2) end or bend: three faces meet there, or two part."""
    count = np.bincount(creases.ravel(), minlength=len(vertices))
    corner = count > 2
    both = np.vstack([creases, creases[:, ::-1]])
    both = both[count[both[:, 0]] == 2]
    both = both[np.argsort(both[:, 0], kind="stable")]
    middle, one, other = both[0::2, 0], both[0::2, 1], both[1::2, 1]
    chord = vertices[other] - vertices[one]
    off = np.cross(chord, vertices[middle] - vertices[one])
    far = np.linalg.norm(off, axis=1) / np.maximum(np.linalg.norm(chord, axis=1), 1e-12)
    corner[middle[far > BENT]] = True
    return np.ascontiguousarray(vertices[corner])


def corners(solid: Solid) -> Floats:
    """Return the true corners of a solid (N, 3), mm: the same however its faces are cut into triangles.

    A corner is where three or more faces meet, or where the crease between two bends. The chords of a
    faceted curve are faces, so their ends are corners.
    """
    found = form_of(solid).corners.view()
    found.setflags(write=False)
    return found


def carries(frame: Frame, a: Solid, b: Solid, tolerance: float = TOLERANCE) -> bool:
    """Whether a frame carries a onto b: every corner and face of either has its match to within `tolerance` mm."""
    return forms_match(frame, form_of(a), form_of(b), tolerance)


def misfit(frame: Frame, a: Solid, b: Solid) -> float:
    """Return how far, mm, the farthest corner of either solid is from the nearest of the other, a carried to b."""
    one, other = form_of(a), form_of(b)
    there, _ = other.tree.query(points(frame, one.corners))
    back, _ = one.tree.query(points(inverse(frame), other.corners))
    return float(max(there.max(), back.max()))


def forms_match(frame: Frame, one: Form, other: Form, tolerance: float) -> bool:
    """Whether a frame carries one form onto another: every corner and face of either has its match."""
    back = inverse(frame)
    return (near(points(frame, one.corners), other, tolerance) and near(points(back, other.corners), one, tolerance)
            and _faces_match(frame, one, other, tolerance) and _faces_match(back, other, one, tolerance))


def near(at: Floats, other: Form, tolerance: float) -> bool:
    """Whether every one of some points (N, 3) is within `tolerance` mm of a corner of a form."""
    distance, _ = other.tree.query(at, distance_upper_bound=tolerance + 1e-9)
    return bool(np.isfinite(distance).all())


def _faces_match(frame: Frame, one: Form, other: Form, tolerance: float) -> bool:
    """Whether each face of `one` that is more than a sliver has a face of `other` in its place, alike in area.

    Where not, the two may be cut into faces otherwise: then the whole plane must hold the same.
    """
    firm = np.flatnonzero(one.areas > 2.0 * tolerance * one.girths)
    middles, normals = points(frame, one.middles[firm]), directions(frame, one.normals[firm])
    areas, girths = one.areas[firm], one.girths[firm]
    _, near = other.faces.query(np.column_stack([middles, REACH * normals]))
    alike = (np.abs(other.areas[near] - areas) <= tolerance * girths) \
        & (np.linalg.norm(other.middles[near] - middles, axis=1) <= tolerance * (1.0 + girths**2 / areas)) \
        & (np.linalg.norm(other.normals[near] - normals, axis=1) <= 1e-6 + 2.0 * tolerance * girths / areas)
    odd = np.flatnonzero(~alike)
    if 2 * len(odd) > len(firm) + 4:
        return False
    own = points(frame, one.middles), directions(frame, one.normals)
    return all(_plane_match(middles[k], normals[k], own, one, other, tolerance) for k in odd)


def _plane_match(middle: Vector, normal: Vector, own: tuple[Floats, Floats], one: Form, other: Form,
                 tolerance: float) -> bool:
    """Whether two solids have the same area about the same middle in one plane."""
    mine = _in_plane(middle, normal, *own, tolerance)
    theirs = _in_plane(middle, normal, other.middles, other.normals, tolerance)
    area, there = float(one.areas[mine].sum()), float(other.areas[theirs].sum())
    girth = float(one.girths[mine].sum())
    if abs(area - there) > tolerance * girth:
        return False
    centre = one.areas[mine] @ own[0][mine] / area
    return float(np.linalg.norm(other.areas[theirs] @ other.middles[theirs] / there - centre)) <= \
        tolerance * (1.0 + girth**2 / area)


def _in_plane(middle: Vector, normal: Vector, middles: Floats, normals: Floats,
              tolerance: float) -> NDArray[np.bool_]:
    level = np.abs((middles - middle) @ normal) <= tolerance
    found: NDArray[np.bool_] = level & (np.linalg.norm(normals - normal, axis=1) <= ASKEW)
    return found
