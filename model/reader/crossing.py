"""Meshes that cross themselves: found by standing just outside the surface and looking whether one is outside."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from model.solids import Solid

SAMPLES = 2000
"""So many spots of the surface are tried; of a mesh of fewer triangles at least one on each."""
OFF = 1e-3
"""How far outside the surface a spot is tried from, mm."""

Array = NDArray[np.float64]


def crossing(solid: Solid) -> tuple[float, float, float] | None:
    """Return a spot (mm) where a closed mesh has its own wood on the outside of a face; None where none was found.

    Found by the signed count of the faces that rays out of a spot pass: 0 from outside. Spots
    are drawn by area from a fixed seed, so a crossing that takes up less than about a
    thousandth of the surface can be missed. A spot counts when three rays agree.
    """
    spots, normals = _spots(*solid.mesh)
    if not len(spots):
        return None
    low, high = solid.bounds
    reach = 2.0 * float(np.linalg.norm(high - low)) + 1.0
    random = np.random.default_rng(1)
    aside = random.normal(size=(2, 3))
    for spot, normal in zip(spots + OFF * normals, normals, strict=True):
        ways = (normal, *(side / np.linalg.norm(side) for side in aside))
        if all(_turns(solid, spot, reach * way) for way in ways):
            x, y, z = spot.tolist()
            return x, y, z
    return None


def _spots(vertices: Array, triangles: NDArray[np.int64]) -> tuple[Array, Array]:
    """Return spots on the triangles (N, 3), at random by area and one on each while there are few, and normals."""
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    size = np.linalg.norm(cross, axis=1)
    fit = np.flatnonzero(size > 1e-9)
    if not len(fit):
        return np.empty((0, 3)), np.empty((0, 3))
    random = np.random.default_rng(0)
    drawn = random.choice(fit, SAMPLES, p=size[fit] / size[fit].sum())
    chosen = np.concatenate([drawn, fit]) if len(fit) <= SAMPLES else drawn
    u, v = np.sqrt(random.random(len(chosen))), random.random(len(chosen))
    at = (a[chosen] * (1 - u)[:, None] + b[chosen] * (u * (1 - v))[:, None] + c[chosen] * (u * v)[:, None])
    return at, cross[chosen] / size[chosen][:, None]


def _turns(solid: Solid, spot: Array, way: Array) -> int:
    """Return how many more faces a ray leaves the solid through than it enters by."""
    hits = solid.manifold.ray_cast(tuple(spot), tuple(spot + way))
    return sum(1 if float(np.dot(hit.normal, way)) > 0 else -1 for hit in hits)
