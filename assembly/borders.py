"""Borders: where a face of one shape runs on in a face of another that looks the same way.

All in the first shape's own frame, mm. Heights are measured along the first face's outward normal.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import radians, sin

import manifold3d
import numpy as np
from numpy.typing import NDArray

from assembly.facets import Facets, facets
from model.frames import Frame, points
from model.solids import Solid

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Mask = NDArray[np.bool_]

LEVEL = 2.0 * sin(radians(0.02) / 2.0)
"""Faces within 0.02 degrees of each other look the same way: the distance between their unit normals."""
SEAM_LEAST = 3.0
"""A border shorter than this, mm, is a corner that two faces have in common."""
NEAREST = 1.0
"""Corners within so much of the nearest one, mm, count as nearest too."""


@dataclass(frozen=True, eq=False)
class Faces:
    """The faces of a shape carried by a frame: unit normals (F, 3) out of the wood, offsets (F,), boxes (F, 3)."""

    flat: Facets
    frame: Frame
    normals: Floats
    offsets: Floats
    low: Floats
    high: Floats

    @staticmethod
    def of(solid: Solid, frame: Frame | None = None) -> Faces:
        """Return a shape's faces, in its own frame unless another is given."""
        flat = facets(solid)
        if frame is None:
            return Faces(flat, np.eye(4), flat.normals, flat.offsets, flat.low, flat.high)
        turn, shift = frame[:3, :3], frame[:3, 3]
        normals = flat.normals @ turn.T
        middle = (flat.low + flat.high) / 2.0 @ turn.T + shift
        half = (flat.high - flat.low) / 2.0 @ np.abs(turn).T
        return Faces(flat, frame, normals, flat.offsets + normals @ shift, middle - half, middle + half)

    def corners(self, face: int) -> Floats:
        """Return the corners (K, 3) of a face."""
        return points(self.frame, self.flat.corners(face))

    def onto(self, other: Faces, face: int, mine: int) -> manifold3d.CrossSection:
        """Return face `face` of another shape, seen along the normal of face `mine`, as a flat region in its basis."""
        basis, turn = self.flat.basis(mine), other.frame[:3, :3]
        axes = other.flat.basis(face) @ turn.T
        foot = turn @ (other.flat.normals[face] * other.flat.offsets[face]) + other.frame[:3, 3]
        return other.flat.section(face).transform(np.column_stack([basis @ axes.T, basis @ foot]))


def alike(one: Faces, use: Mask, other: Faces, use_other: Mask, reach: float, most: float) -> Ints:
    """Return the pairs of faces (P, 2) that look the same way, are out of one plane by `most` and near each other."""
    slack = reach + most
    rows = np.flatnonzero(use & _near(one.low, one.high, other.low.min(axis=0), other.high.max(axis=0), slack))
    columns = np.flatnonzero(use_other & _near(other.low, other.high, one.low.min(axis=0), one.high.max(axis=0), slack))
    i, j = np.nonzero(one.normals[rows] @ other.normals[columns].T > 1.0 - LEVEL**2)
    i, j = rows[i], columns[j]
    level = np.linalg.norm(one.normals[i] - other.normals[j], axis=1) <= LEVEL
    middle = (other.low[j] + other.high[j]) / 2.0
    off = np.abs(np.einsum("pi,pi->p", one.normals[i], middle) - one.offsets[i])
    length = np.linalg.norm(other.high[j] - other.low[j], axis=1)
    near = level & (off <= most + LEVEL * length) & _near(one.low[i], one.high[i], other.low[j], other.high[j], slack)
    return np.column_stack([i[near], j[near]])


def _near(low: Floats, high: Floats, other_low: Floats, other_high: Floats, slack: float) -> Mask:
    near: Mask = np.all((low <= other_high + slack) & (other_low <= high + slack), axis=-1)
    return near


def border(one: Faces, i: int, other: Faces, j: int, reach: float) -> Floats | None:
    """Return points (K, 3) of face `i` along its border with face `j` of another shape; None where they do not meet.

    They meet where, seen along the normal, the second comes within `reach` mm of the first
    over a length of SEAM_LEAST at least.
    """
    common = one.flat.section(i).offset(reach, manifold3d.JoinType.Miter) ^ one.onto(other, j, i)
    if common.is_empty():
        return None
    flat = np.vstack(common.to_polygons())
    if float(np.linalg.norm(flat.max(axis=0) - flat.min(axis=0))) < SEAM_LEAST:
        return None
    at: Floats = flat @ one.flat.basis(i) + one.normals[i] * one.offsets[i]
    return at


def nearest(one: Faces, i: int, other: Faces, j: int) -> Floats:
    """Return the points (K, 3) in the plane of face `i` under those corners of face `j` that come nearest to it."""
    mine, theirs = one.corners(i), other.corners(j)
    away = np.linalg.norm(theirs[:, None, :] - mine[None, :, :], axis=2).min(axis=1)
    near = theirs[away <= away.min() + NEAREST]
    at: Floats = near - np.outer(near @ one.normals[i] - one.offsets[i], one.normals[i])
    return at


def heights(one: Faces, i: int, other: Faces, j: int, at: Floats) -> Floats:
    """Return how far the plane of face `j` lies above points (K, 3) of face `i`, mm."""
    high: Floats = (other.offsets[j] - at @ other.normals[j]) / float(one.normals[i] @ other.normals[j])
    return high


def between(one: Faces, i: int, other: Faces, j: int) -> float:
    """Return the angle between two faces, rad."""
    return float(2.0 * np.arcsin(min(1.0, float(np.linalg.norm(one.normals[i] - other.normals[j])) / 2.0)))
