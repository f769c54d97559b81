"""Lying: the frame of a piece's own that nobody has said, from its shape: x along its length, z through its least."""

from __future__ import annotations

import manifold3d
import numpy as np
from numpy.typing import NDArray

from model.frames import Frame, frame_of
from model.reader.pieces.body import Corners, Triangles

NEAR = 2e-4
"""An axis this near (sine) to one of the mesh's own is that one: above the rounding of single precision."""
EDGES_MOST = 2_000
"""Of an outline of more sides the longest so many are tried."""


def own_frame(corners: Corners, triangles: Triangles) -> Frame:
    """Return the frame of a board for a mesh (mm): z square to its widest faces, x along the least rectangle there.

    Its origin lies in the middle of the start. Nothing is known by this of how the grain runs.
    """
    z = _near_axis(_widest(corners, triangles))
    flat = np.array([_aside(z), np.cross(z, _aside(z))])
    along = _along(corners @ flat.T) @ flat
    x = _near_axis(along)
    frame = frame_of(np.zeros(3), z, x)
    at = corners @ frame[:3, :3]
    low, high = at.min(axis=0), at.max(axis=0)
    frame[:3, 3] = frame[:3, :3] @ np.array([low[0], *((low + high) / 2)[1:]])
    return frame


def _widest(corners: Corners, triangles: Triangles) -> NDArray[np.float64]:
    """Return the line, unit length, to which faces of the greatest area together lie square."""
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    doubled = np.cross(b - a, c - a)
    size = np.linalg.norm(doubled, axis=1)
    doubled, size = doubled[size > 0], size[size > 0]
    normals = doubled / size[:, None]
    lead = np.argmax(np.abs(np.round(normals, 3)) > 0.0, axis=1)
    normals = normals * np.where(normals[np.arange(len(normals)), lead] < 0, -1.0, 1.0)[:, None]
    _, group = np.unique(np.round(normals, 2), axis=0, return_inverse=True)
    areas = np.bincount(group.reshape(-1), size)
    own = group.reshape(-1) == int(np.argmax(np.round(areas, 3)))
    mean = (normals[own] * size[own, None]).sum(axis=0)
    line: NDArray[np.float64] = mean / np.linalg.norm(mean)
    return line


def _aside(z: NDArray[np.float64]) -> NDArray[np.float64]:
    u = np.cross(z, np.eye(3)[int(np.argmin(np.abs(z)))])
    aside: NDArray[np.float64] = u / np.linalg.norm(u)
    return aside


def _along(flat: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the direction (2,) of the long side of the least rectangle round points (N, 2)."""
    outline = manifold3d.CrossSection.hull_points(np.ascontiguousarray(flat)).to_polygons()[0]
    sides = np.roll(outline, -1, axis=0) - outline
    length = np.linalg.norm(sides, axis=1)
    longest = np.argsort(-length, kind="stable")[:EDGES_MOST]
    ways = sides[longest] / length[longest, None]
    across = np.column_stack([-ways[:, 1], ways[:, 0]])
    spans = [np.ptp(outline @ turn.T, axis=0) for turn in (ways, across)]
    best = int(np.argmin(np.round(spans[0] * spans[1], 3)))
    way: NDArray[np.float64] = ways[best] if spans[0][best] >= spans[1][best] else across[best]
    return way


def _near_axis(direction: NDArray[np.float64]) -> NDArray[np.float64]:
    main = int(np.argmax(np.abs(direction)))
    axis = np.eye(3)[main] * np.sign(direction[main])
    return axis if np.abs(direction - axis).max() <= NEAR else direction
