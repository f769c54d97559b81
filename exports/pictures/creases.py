"""What of a solid is drawn: its faces and the edges at which it folds. Worked out once a shape."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from model.solids import Solid

FOLD = math.radians(18.0)
"""Faces that turn by more than this from one to the next have an edge between them; less is a curve."""


@dataclass(frozen=True, eq=False)
class Drawn:
    """Corners (N, 3) mm, triangles (M, 3), unit normals (M, 3) and folded edges (E, 2) as corner numbers."""

    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
    normals: NDArray[np.float64]
    edges: NDArray[np.int64]


@lru_cache(maxsize=4096)
def drawn(solid: Solid) -> Drawn:
    """Return what is drawn of a solid, in its own frame."""
    vertices, triangles = solid.mesh
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    length = np.linalg.norm(normals, axis=1)
    normals = normals / np.maximum(length, 1e-12)[:, None]
    return Drawn(vertices, triangles, normals, _folds(triangles, normals))


def _folds(triangles: NDArray[np.int64], normals: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the edges (E, 2) between triangles that turn by more than FOLD; every edge has two triangles."""
    sides = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    owner = np.tile(np.arange(len(triangles)), 3)
    order = np.lexsort((owner, sides[:, 1], sides[:, 0]))
    sides, owner = sides[order], owner[order]
    twin = np.flatnonzero((sides[1:] == sides[:-1]).all(axis=1))
    turn = np.einsum("ij,ij->i", normals[owner[twin]], normals[owner[twin + 1]])
    return np.asarray(sides[twin[turn < math.cos(FOLD)]])
