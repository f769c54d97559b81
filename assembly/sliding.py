"""Sliding: how far apart faces are along a direction, where they cover one another seen along it.

The gap between two flat faces is linear over what they share, so its least and greatest
values lie at corners of that: exact for the facets given, with no sampling.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.broad import near_pairs
from model.frames import Frame, unit
from model.solids import Solid

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

FACING = 1e-5
"""A facet leaning less than this against the motion (sine) slides along it and stops nothing."""
SPECK = 1e-6
"""A corner may lie outside a triangle by this much area and still count as on its edge, mm²."""
PAIRS_AT_ONCE = 400_000
"""Triangle pairs compared in one sweep: bounds the memory."""
NEXT = [1, 2, 0]
"""The corner after each corner of a triangle."""
HAIR = 1e-4
"""Outlines that share a strip narrower than this share nothing, mm."""


def plane(direction: Array) -> Array:
    """Return a right-handed basis (3, 3) whose rows are u, v and the unit direction itself."""
    return _plane(*direction.tolist())


@lru_cache(maxsize=4096)
def _plane(x: float, y: float, z: float) -> Array:
    direction = np.array([x, y, z])
    aside = np.zeros(3)
    aside[int(np.argmin(np.abs(direction)))] = 1.0
    u = unit(np.cross(aside, direction))
    basis = np.stack([u, np.cross(direction, u), direction])
    basis.setflags(write=False)
    return basis


@lru_cache(maxsize=4096)
def _normals(solid: Solid) -> Array:
    """Return the unit normal of every triangle of a solid, in its own frame: (M, 3); zero for one with no area.

    A triangle of less than a SPECK has none: which way it looks would be rounding.
    """
    vertices, triangles = solid.mesh
    a, b, c = (vertices[triangles[:, k]] for k in range(3))
    crossed = np.cross(b - a, c - a)
    area = np.linalg.norm(crossed, axis=1)
    unit_normals: Array = crossed / np.where(area > SPECK, area, np.inf)[:, None]
    return unit_normals


def facing(solid: Solid, frame: Frame, direction: Array, front: bool) -> Array:
    """Return the triangles facing along (front) or against a world direction, in u, v, s, counter-clockwise."""
    vertices, triangles = solid.mesh
    lean = _normals(solid) @ (frame[:3, :3].T @ direction)
    chosen = triangles[lean > FACING] if front else triangles[lean < -FACING][:, ::-1]
    basis = plane(direction)
    kept: Array = (vertices @ (basis @ frame[:3, :3]).T + basis @ frame[:3, 3])[chosen]
    return kept


def covering(front: Array, back: Array) -> list[tuple[Indices, Indices]]:
    """Return, in batches, the pairs of triangles (indices into front, into back) whose boxes in u, v meet."""
    f_low, f_high = front.min(axis=1)[:, :2], front.max(axis=1)[:, :2]
    b_low, b_high = back.min(axis=1)[:, :2], back.max(axis=1)[:, :2]
    if len(front) * len(back) > PAIRS_AT_ONCE:
        return _covering_many((f_low, f_high), (b_low, b_high))
    meet = (f_low[:, None] < b_high[None]).all(axis=2) & (f_high[:, None] > b_low[None]).all(axis=2)
    f, b = np.nonzero(meet)
    return [(f.astype(np.int64), b.astype(np.int64))] if len(f) else []


def _covering_many(front: tuple[Array, Array], back: tuple[Array, Array]) -> list[tuple[Indices, Indices]]:
    """Return the same by sweeping all boxes, for imported meshes of many triangles."""
    count = len(front[0])
    flat = np.zeros((count + len(back[0]), 1))
    low, high = (np.hstack([np.concatenate([f, b]), flat]) for f, b in zip(front, back, strict=True))
    pairs = near_pairs(low, high, 0.0)
    pairs = pairs[(pairs[:, 0] < count) & (pairs[:, 1] >= count)]
    step = PAIRS_AT_ONCE // 4
    return [(pairs[k:k + step, 0], pairs[k:k + step, 1] - count) for k in range(0, len(pairs), step)]


def shared_gaps(front: Array, back: Array) -> tuple[Array, Array]:
    """Return the least and greatest gap s(back) - s(front) over what each pair of triangles shares in u, v.

    `front`, `back`: (K, 3, 3) counter-clockwise in u, v. Pairs that share no area give (inf, -inf).
    """
    low, high = np.full(len(front), np.inf), np.full(len(front), -np.inf)
    sides_b, sides_f = _sides(front, back), _sides(back, front)
    kept = np.flatnonzero(~(_parted(sides_b, back) | _parted(sides_f, front)))
    front, back = front[kept], back[kept]
    for inside, gap in (_corner_gaps(front, back, sides_b[kept], 1.0), _corner_gaps(back, front, sides_f[kept], -1.0),
                        _crossing_gaps(front, back)):
        low[kept] = np.minimum(low[kept], np.where(inside, gap, np.inf).min(axis=1))
        high[kept] = np.maximum(high[kept], np.where(inside, gap, -np.inf).max(axis=1))
    return low, high


def _sides(corners: Array, triangles: Array) -> Array:
    """Return twice the area each corner (K, 3) spans with each edge of its paired triangle in u, v: (K, 3, 3)."""
    edge = (triangles[:, NEXT] - triangles)[:, None, :, :2]
    to = corners[:, :, None, :2] - triangles[:, None, :, :2]
    area: Array = edge[..., 0] * to[..., 1] - edge[..., 1] * to[..., 0]
    return area


def _parted(sides: Array, triangles: Array) -> NDArray[np.bool_]:
    """Return whether an edge of the triangle has every corner of the other on or beyond it."""
    edge = triangles[:, NEXT][..., :2] - triangles[..., :2]
    slack = HAIR * np.hypot(edge[..., 0], edge[..., 1])
    parted: NDArray[np.bool_] = (sides.max(axis=1) <= slack).any(axis=1)
    return parted


def _corner_gaps(corners: Array, triangles: Array, sides: Array, sign: float) -> tuple[NDArray[np.bool_], Array]:
    """Return which corners lie over the paired triangle, and the gap there."""
    total = sides.sum(axis=2)
    with np.errstate(divide="ignore", invalid="ignore"):
        weights = sides[:, :, NEXT] / total[..., None]
    over = np.asarray(np.all(sides >= -SPECK, axis=2))
    gap: Array = sign * (np.einsum("kce,ke->kc", weights, triangles[:, :, 2]) - corners[:, :, 2])
    return over, gap


def _crossing_gaps(front: Array, back: Array) -> tuple[NDArray[np.bool_], Array]:
    """Return which of the nine edge pairs cross in u, v (K, 9), and the gap where they do."""
    p, q = front[:, :, None], back[:, None, :]
    r = front[:, NEXT][:, :, None] - p
    s = back[:, NEXT][:, None, :] - q
    turned = r[..., 0] * s[..., 1] - r[..., 1] * s[..., 0]
    w = q - p
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (w[..., 0] * s[..., 1] - w[..., 1] * s[..., 0]) / turned
        k = (w[..., 0] * r[..., 1] - w[..., 1] * r[..., 0]) / turned
        gap = (q[..., 2] + k * s[..., 2]) - (p[..., 2] + t * r[..., 2])
    crossing = (turned != 0) & (t >= 0) & (t <= 1) & (k >= 0) & (k <= 1)
    return crossing.reshape(len(front), 9), np.where(crossing, gap, 0.0).reshape(len(front), 9)
