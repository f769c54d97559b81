"""The least distance between two sheets of triangles that do not cross, and where it is.

Exact for triangles: nearest points of two that do not cross lie on a corner of the one
over the inside of the other, or on an edge of each. Pairs whose boxes are farther apart
than what is found already are never looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

BATCH = 1_000_000
"""Pairs of triangles whose boxes are looked at in one go: bounds the memory, whatever the shapes."""
CHUNK = 2048
"""Pairs of triangles measured in one go."""
SLIVER = 1e-5
"""A triangle lower than this, mm, has no direction of its own."""
TOUCH = 1e-6
"""Nearer than this, mm, two triangles touch and the way from one to the other has no direction."""
EDGES = ((0, 1), (1, 2), (2, 0))


@dataclass(frozen=True, eq=False)
class Sheet:
    """N triangles (N, 3, 3), mm, with their unit normals (N, 3), and the row (N,) each has in its mesh."""

    corners: Floats
    normals: Floats
    rows: Ints

    def __len__(self) -> int:
        return len(self.corners)

    @property
    def areas(self) -> Floats:
        """The area of each triangle (N,), mm²."""
        return np.asarray(np.linalg.norm(_doubled(self.corners), axis=1) / 2.0)

    def only(self, which: NDArray[np.bool_]) -> Sheet:
        """Return some of the triangles (N,)."""
        return Sheet(self.corners[which], self.normals[which], self.rows[which])

    def turned_over(self) -> Sheet:
        """Return the same triangles as the other side sees them."""
        return Sheet(self.corners, -self.normals, self.rows)


@dataclass(frozen=True, eq=False)
class Nearest:
    """How near two sheets come, mm, the point of each (3,) and the row of the triangle it lies on."""

    distance: float
    on_a: Floats
    on_b: Floats
    row_a: int
    row_b: int


def _doubled(corners: Floats) -> Floats:
    """Return for triangles (N, 3, 3) a vector (N, 3) along the normal, as long as twice the area."""
    (a, b, c), (x, y, z) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    return np.column_stack([b * z - c * y, c * x - a * z, a * y - b * x])


def sheet(vertices: Floats, triangles: Ints) -> Sheet:
    """Return the triangles of a mesh as a sheet; slivers are left out, their long sides are others' too."""
    corners = vertices[triangles].reshape(-1, 3, 3)
    across = _doubled(corners)
    twice = np.sqrt(_dot(across, across))
    sides = np.roll(corners, -1, axis=1) - corners
    firm = twice > SLIVER * np.sqrt(_dot(sides, sides).max(axis=1, initial=0.0))
    return Sheet(corners[firm], across[firm] / twice[firm, None], np.flatnonzero(firm))


def nearest(a: Sheet, b: Sheet, opposed: float | None = None) -> Nearest | None:
    """Return the nearest points of two sheets that do not cross, None where no pair of triangles counts.

    With `opposed` only triangles that turn their backs on each other count, normals out of the
    wood: these make a cosine of no more than that, and the way from a to b goes into the wood
    at a's triangle and comes out at b's (a wall with wood inside, not a gap between).
    """
    if not len(a) or not len(b):
        return None
    best: Nearest | None = None
    around = a.corners.min(axis=(0, 1)), a.corners.max(axis=(0, 1))
    near = _box_apart(*around, b.corners.min(axis=1), b.corners.max(axis=1))
    order = np.argsort(near, kind="stable")
    size = max(1, BATCH // len(a))
    for start in range(0, len(order), size):
        rows = order[start:start + size]
        if best is not None and near[rows[0]] >= best.distance:
            break
        best = _in_block(best, a, b, rows, opposed)
    return best


def _in_block(best: Nearest | None, a: Sheet, b: Sheet, rows: Ints, opposed: float | None) -> Nearest | None:
    """Return the nearest points of a sheet and some rows of another, where they are nearer than the best so far."""
    low, high = b.corners[rows].min(axis=1), b.corners[rows].max(axis=1)
    bound = _box_apart(a.corners.min(axis=1)[:, None], a.corners.max(axis=1)[:, None], low[None], high[None])
    if opposed is not None:
        bound[a.normals @ b.normals[rows].T > opposed] = np.inf
    order = np.argsort(bound, axis=None, kind="stable")
    order = order[np.isfinite(bound.ravel()[order])]
    size = 64
    while len(order):
        pairs, order = order[:size], order[size:]
        if best is not None and bound.flat[pairs[0]] >= best.distance:
            break
        best = _nearer(best, a, b, pairs // len(rows), rows[pairs % len(rows)], opposed is not None)
        size = CHUNK
    return best


def from_sheet(at: Floats, of: Sheet) -> tuple[Floats, Ints]:
    """Return how far points (N, 3) are from a sheet, mm (N,), and the row of the triangle nearest to each (N,)."""
    size = max(1, BATCH // (4 * len(of)))
    found = [_from_sheet(at[start:start + size], of) for start in range(0, len(at), size)]
    return np.concatenate([f[0] for f in found]), np.concatenate([f[1] for f in found])


def _from_sheet(at: Floats, of: Sheet) -> tuple[Floats, Ints]:
    dots = np.broadcast_to(at[:, None], (len(at), len(of), 3))
    feet = [_over(dots, of.corners[None])]
    feet += [_between_edges(dots, dots, of.corners[None, :, p], of.corners[None, :, q])[1] for p, q in EDGES]
    away = np.stack([((foot - dots) ** 2).sum(axis=-1) for foot in feet])
    squared = np.where(np.isfinite(away), away, np.inf).min(axis=0)
    rows = np.argmin(squared, axis=1)
    return np.sqrt(squared[np.arange(len(at)), rows]), rows


def _box_apart(low: Floats, high: Floats, other_low: Floats, other_high: Floats) -> Floats:
    """Return how far boxes are apart (...), mm."""
    apart = np.maximum(np.maximum(other_low - high, low - other_high), 0.0)
    return np.asarray(np.sqrt((apart**2).sum(axis=-1)))


def _nearer(best: Nearest | None, a: Sheet, b: Sheet, i: Ints, j: Ints, walls: bool) -> Nearest | None:
    on_a, on_b, squared = _closest(a.corners[i], b.corners[j])
    if walls:
        way = on_b - on_a
        wood = (np.einsum("ki,ki->k", way, a.normals[i]) < TOUCH) & (np.einsum("ki,ki->k", way, b.normals[j]) > -TOUCH)
        squared = np.where(wood, squared, np.inf)
    k = int(np.argmin(squared))
    distance = float(np.sqrt(squared[k]))
    if not np.isfinite(distance) or (best is not None and distance >= best.distance):
        return best
    return Nearest(distance, on_a[k], on_b[k], int(i[k]), int(j[k]))


def _closest(one: Floats, other: Floats) -> tuple[Floats, Floats, Floats]:
    """Return nearest points (K, 3) of pairs of triangles (K, 3, 3) that do not cross, and their squared distance."""
    first, second = np.repeat((0, 1, 2), 3), np.tile((0, 1, 2), 3)
    edges = _between_edges(one[:, first], one[:, (first + 1) % 3], other[:, second], other[:, (second + 1) % 3])
    down, up = _over(one, other[:, None]), _over(other, one[:, None])
    on_a = np.concatenate([edges[0], one, up], axis=1)
    on_b = np.concatenate([edges[1], down, other], axis=1)
    way = on_a - on_b
    squared = np.einsum("kfi,kfi->kf", way, way)
    squared = np.where(np.isfinite(squared), squared, np.inf)
    pick, every = np.argmin(squared, axis=1), np.arange(len(one))
    return on_a[every, pick], on_b[every, pick], squared[every, pick]


def _over(at: Floats, triangles: Floats) -> Floats:
    """Return the feet (..., 3) of points (..., 3) on triangles (..., 3, 3) where they lie inside these, else NaN."""
    u, v = triangles[..., 1, :] - triangles[..., 0, :], triangles[..., 2, :] - triangles[..., 0, :]
    w = at - triangles[..., 0, :]
    uu, uv, vv = _dot(u, u), _dot(u, v), _dot(v, v)
    wu, wv = _dot(w, u), _dot(w, v)
    size = np.maximum(uu * vv - uv * uv, 1e-300)
    s, t = (vv * wu - uv * wv) / size, (uu * wv - uv * wu) / size
    inside = (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0)
    foot = triangles[..., 0, :] + u * s[..., None] + v * t[..., None]
    return np.where(inside[..., None], foot, np.nan)


def _dot(one: Floats, other: Floats) -> Floats:
    return np.asarray(np.einsum("...i,...i->...", one, other))


def _between_edges(p: Floats, q: Floats, r: Floats, s: Floats) -> tuple[Floats, Floats]:
    """Return the nearest points (..., 3) of the segments p-q and r-s."""
    one, other, off = q - p, s - r, p - r
    a, e, b, c, f = _dot(one, one), _dot(other, other), _dot(one, other), _dot(one, off), _dot(other, off)
    a, e = np.maximum(a, 1e-300), np.maximum(e, 1e-300)
    cross = a * e - b * b
    along = np.where(cross > 1e-12 * a * e, np.clip((b * f - c * e) / np.maximum(cross, 1e-300), 0.0, 1.0), 0.0)
    far = np.clip((b * along + f) / e, 0.0, 1.0)
    along = np.clip((b * far - c) / a, 0.0, 1.0)
    return p + one * along[..., None], r + other * far[..., None]
