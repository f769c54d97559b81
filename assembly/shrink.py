"""Shrinking: a solid with every face moved inward by a hair, so that faces that merely touch come apart.

Every corner moves to where its moved faces meet, by least squares over the distinct faces
that meet there. Where that gives no sound solid (a corner where too many faces meet, a
fold), the hair is planed off face by face instead. A wall thinner than twice the hair
would turn inside out: then there is no answer, and the caller has to say so.
"""

from __future__ import annotations

from functools import lru_cache

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.broad import near_pairs
from assembly.facets import Facets, facets
from model.errors import SolidError
from model.solids import Solid, polyhedron

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DELTA = 0.02
"""How far every face moves in, mm: four times a curve's sagitta, far below any fit."""
FLAT = 1e-9
"""Squared sines below this carry no direction: faces so nearly parallel move a corner as one."""
ASTRAY = 0.25
"""A corner whose moved faces miss it by more than this share of the hair is not moved but planed."""
OPPOSED = -np.cos(np.radians(5.0))
"""Two faces back to back within 5 degrees can be the two sides of a thin wall."""
WALL_LEAST = 1e-3
"""A thin wall smaller than this, mm², is rounding."""
PLANED_MOST = 600
"""A shape with more faces than this is not planed face by face: it would take seconds."""


@lru_cache(maxsize=8192)
def shrunk(solid: Solid, delta: float = DELTA) -> Solid | None:
    """Return the solid with its faces `delta` mm further in, or None where a wall is too thin to tell.

    Not promised: exactness at corners where more than three faces meet; there the result may
    lie up to a quarter of `delta` off.
    """
    if solid.empty:
        return None
    flat = facets(solid)
    if _thin(flat, 2.0 * delta):
        return None
    return _moved(solid, flat, delta) or _planed(solid, flat, delta)


def _moved(solid: Solid, flat: Facets, delta: float) -> Solid | None:
    corners, triangles = solid.mesh
    shift, astray = _shift(flat, triangles, len(corners), delta)
    if astray > ASTRAY * delta:
        return None
    at = corners + shift
    if _folded(at, triangles, flat):
        return None
    return _sound(at, triangles, solid, flat, delta)


def _shift(flat: Facets, triangles: Ints, count: int, delta: float) -> tuple[Floats, float]:
    """Return how each corner moves (N, 3) and the most by which a face then misses its moved plane, mm."""
    plane_of = _directions(flat.normals)
    at, plane = np.unique(np.column_stack([triangles.ravel(), np.repeat(plane_of[flat.facet_of], 3)]), axis=0).T
    normals = np.zeros((int(plane_of.max()) + 1, 3))
    normals[plane_of] = flat.normals
    n = normals[plane]
    square, pull = np.zeros((count, 3, 3)), np.zeros((count, 3))
    np.add.at(square, at, n[:, :, None] * n[:, None, :])
    np.add.at(pull, at, -delta * n)
    values, vectors = np.linalg.eigh(square)
    inverse = np.where(values > FLAT, 1.0 / np.maximum(values, FLAT), 0.0)
    shift = np.einsum("vij,vj,vkj,vk->vi", vectors, inverse, vectors, pull)
    missed = np.abs(np.einsum("ki,ki->k", n, shift[at]) + delta)
    return shift, float(missed.max(initial=0.0))


def _directions(normals: Floats) -> Ints:
    """Return a number for each normal, the same for faces that look the same way."""
    _, number = np.unique(np.round(normals, 6) + 0.0, axis=0, return_inverse=True)
    return number.reshape(-1).astype(np.int64)


def _folded(at: Floats, triangles: Ints, flat: Facets) -> bool:
    a, b, c = (at[triangles[:, k]] for k in range(3))
    doubled = np.cross(b - a, c - a)
    area = np.einsum("mi,mi->m", doubled, flat.normals[flat.facet_of])
    return bool(np.any(area < -1e-9))


def _sound(at: Floats, triangles: Ints, solid: Solid, flat: Facets, delta: float) -> Solid | None:
    made = polyhedron(at, triangles)
    try:
        lost = solid.volume - made.volume
    except SolidError:
        return None
    expected = delta * float(flat.areas.sum())
    return made if 0.0 < lost < 1.5 * expected else None


def _planed(solid: Solid, flat: Facets, delta: float) -> Solid | None:
    """Plane the hair off face by face: slower, and it does not mind how the faces meet."""
    if len(flat) > PLANED_MOST:
        return None
    shavings = [_shaving(flat, f, delta) for f in range(len(flat)) if flat.areas[f] > WALL_LEAST]
    left = manifold3d.Manifold.batch_boolean([solid.manifold, *shavings], manifold3d.OpType.Subtract)
    if left.is_empty() or left.status() != manifold3d.Error.NoError:
        return None
    mesh = left.to_mesh64()
    return polyhedron(np.asarray(mesh.vert_properties)[:, :3], mesh.tri_verts)


def _shaving(flat: Facets, f: int, delta: float) -> manifold3d.Manifold:
    wide = flat.section(f).offset(delta, manifold3d.JoinType.Miter, 2.0)
    slab = manifold3d.Manifold.extrude(wide, 2.0 * delta)
    u, v, n = (*flat.basis(f), flat.normals[f])
    frame = np.column_stack([u, v, n, n * (flat.offsets[f] - delta)])
    return slab.transform(np.ascontiguousarray(frame))


def _thin(flat: Facets, least: float) -> bool:
    """Whether two faces back to back leave a wall of less than `least` mm between them."""
    pairs = near_pairs(flat.low, flat.high, least)
    facing = np.einsum("pi,pi->p", flat.normals[pairs[:, 0]], flat.normals[pairs[:, 1]])
    return any(_wall(flat, a, b, least) for a, b in pairs[facing < OPPOSED].tolist())


def _wall(flat: Facets, a: int, b: int, least: float) -> bool:
    """Whether faces a and b lie back to back over some area with wood thinner than `least` mm between them."""
    to_a = flat.basis(a) @ flat.basis(b).T
    plane = np.column_stack([to_a, flat.basis(a) @ flat.normals[b] * flat.offsets[b]])
    both = flat.section(a) ^ flat.section(b).transform(np.ascontiguousarray(plane))
    if both.area() < WALL_LEAST:
        return False
    middle = np.mean(np.vstack(both.to_polygons()), axis=0)
    on_a = middle @ flat.basis(a) + flat.normals[a] * flat.offsets[a]
    behind = float(flat.normals[b] @ on_a - flat.offsets[b]) / float(flat.normals[a] @ flat.normals[b])
    return 1e-6 < behind < least
