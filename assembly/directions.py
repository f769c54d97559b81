"""Directions: the finite set of ways out that are tried for a piece or a group.

Wherever flat faces hold a piece, its freedom of translation is a cone bounded by those
faces: a way out exists exactly when one exists along an axis of a joint, along a contact
normal, or along the line where two contact faces cross (their cross product). Own edges
and the axes of the drawing are added so that pieces that nothing holds come apart squarely.
Source of the idea: Wilson & Latombe, Artificial Intelligence 71 (1994).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Cells = tuple[tuple[float, ...], ...]

SAME = 1e-4
"""Directions nearer than this (rad) to one that is tried already are not tried again."""
FEW = 200
"""Directions up to which each is compared with every other."""
NORMALS_MOST = 12
"""Distinct contact faces of one piece whose crossing lines are tried."""
TRIED_MOST = 600
"""Directions tried for groups of one structure."""


def distinct(vectors: Array, same: float = SAME) -> Array:
    """Return the unit vectors (N, 3) without those that repeat an earlier one within `same` rad."""
    if len(vectors) < 2:
        return vectors
    _, first = np.unique(np.round(vectors * 1e6), axis=0, return_index=True)
    kept = vectors[np.sort(first)]
    fresh = np.ones(len(kept), dtype=bool)
    if len(kept) > FEW:
        from scipy.spatial import cKDTree

        twice = cKDTree(kept).query_pairs(same, output_type="ndarray")
        fresh[twice.max(axis=1)] = False
    else:
        near = np.linalg.norm(kept[:, None] - kept[None, :], axis=2) < same
        fresh = ~np.any(np.triu(near, 1), axis=0)
    found: Array = kept[fresh]
    return found


def both_ways(vectors: Array) -> Array:
    """Return each vector followed by its opposite: (2N, 3)."""
    return np.stack([vectors, -vectors], axis=1).reshape(-1, 3)


def lines(normals: Array) -> Array:
    """Return one vector for each distinct line among the normals, opposite ones counted once."""
    if len(normals) == 0:
        return normals
    flat = np.round(normals, 6) + 0.0
    lead = np.argmax(np.abs(flat) > 1e-3, axis=1)
    sign = np.sign(flat[np.arange(len(flat)), lead])
    return distinct(normals * sign[:, None])


def crossings(normals: Array, most: int = NORMALS_MOST) -> Array:
    """Return the unit lines in which pairs of faces with these normals cross, each once: (K, 3)."""
    few = lines(normals)[:most]
    i, j = np.triu_indices(len(few), 1)
    crossed = np.cross(few[i], few[j])
    size = np.linalg.norm(crossed, axis=1)
    return lines(crossed[size > 1e-2] / size[size > 1e-2, None])


def cells(vectors: Array) -> Cells:
    """Return the distinct rows among vectors (N, 3), rounded to 1e-9, in a steady order."""
    return tuple(sorted({(x, y, z) for x, y, z in (np.round(vectors, 9) + 0.0).tolist()}))


@lru_cache(maxsize=4096)
def ways_out(axes: Cells, normals: Cells, own: Cells) -> Array:
    """Return the directions to try for a piece, the likeliest first: (M, 3), not to be written to.

    `axes`: the ways its joints let it out. `normals`: of its contacts, pointing out of the
    piece. `own`: its own edges and the axes of the drawing. All distinct unit vectors.
    """
    joints, faces, edges = (np.array(c, dtype=np.float64).reshape(-1, 3) for c in (axes, normals, own))
    found = distinct(np.concatenate([joints, -faces, both_ways(lines(faces)), both_ways(edges),
                                     both_ways(crossings(faces)), -joints]))
    found.setflags(write=False)
    return found


def by_share(directions: Array, axes: Array) -> list[Array]:
    """Return directions (N, 3) in tiers by how many of some axes (J, 3) lie along each, either way, most first."""
    if len(directions) == 0:
        return []
    shared = (np.abs(directions @ axes.T) > 1.0 - SAME**2).sum(axis=1)
    return [directions[shared == count] for count in sorted(set(shared.tolist()), reverse=True)]


def tried_for_groups(axes: Array, others: list[Array]) -> tuple[Array, Array]:
    """Return the directions to try for groups: along joints (both ways), and the rest, at most TRIED_MOST in all."""
    first = distinct(both_ways(lines(axes)))
    rest = np.concatenate([np.zeros((0, 3)), *others])
    together = distinct(np.concatenate([first, both_ways(lines(rest))]))
    return first, together[len(first):TRIED_MOST]
