"""Frames: 4x4 float64 matrices that carry points of a local frame into an outer one.

Lengths are millimetres, angles radians. A frame's columns are its x, y and z axes and
its origin. Frames are proper rigid motions unless a function says otherwise.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Frame = NDArray[np.float64]
Vector = NDArray[np.float64]

X: Vector = np.array([1.0, 0.0, 0.0])
Y: Vector = np.array([0.0, 1.0, 0.0])
Z: Vector = np.array([0.0, 0.0, 1.0])
MIRROR_X: Frame = np.diag([-1.0, 1.0, 1.0, 1.0])


def identity() -> Frame:
    """Return the frame that leaves everything where it is."""
    return np.eye(4)


def move(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Frame:
    """Return a translation in mm."""
    frame = np.eye(4)
    frame[:3, 3] = (x, y, z)
    return frame


def turn(axis: ArrayLike, angle: float) -> Frame:
    """Return a right-handed turn by `angle` radians about `axis` through the origin (Rodrigues)."""
    u = unit(axis)
    k = np.array([[0.0, -u[2], u[1]], [u[2], 0.0, -u[0]], [-u[1], u[0], 0.0]])
    frame = np.eye(4)
    frame[:3, :3] += np.sin(angle) * k + (1.0 - np.cos(angle)) * (k @ k)
    return frame


def about(point: ArrayLike, motion: Frame) -> Frame:
    """Return a motion as it is made about a point (3,) instead of the origin."""
    there = move(*np.asarray(point, dtype=np.float64).tolist())
    frame: Frame = there @ motion @ inverse(there)
    return frame


def frame_of(origin: ArrayLike, z: ArrayLike, x: ArrayLike) -> Frame:
    """Return the right-handed frame at `origin` with this z and x as near as may be to `x`.

    Raises ValueError when x and z are parallel.
    """
    w = unit(z)
    u = np.asarray(x, dtype=np.float64)
    u = unit(u - w * float(u @ w))
    v = (w[1] * u[2] - w[2] * u[1], w[2] * u[0] - w[0] * u[2], w[0] * u[1] - w[1] * u[0])
    frame = np.eye(4)
    frame[:3, 0], frame[:3, 1], frame[:3, 2] = u, v, w
    frame[:3, 3] = np.asarray(origin, dtype=np.float64)
    return frame


def inverse(frame: Frame) -> Frame:
    """Return the inverse of a rigid (proper or mirroring) frame."""
    out = np.eye(4)
    out[:3, :3] = frame[:3, :3].T
    out[:3, 3] = -frame[:3, :3].T @ frame[:3, 3]
    return out


def unit(vector: ArrayLike) -> Vector:
    """Return the vector at length one; ValueError when it is too short to have a direction."""
    v = np.asarray(vector, dtype=np.float64)
    length = math.sqrt(float(v @ v))
    if not length > 1e-9:
        raise ValueError("a direction needs a length")
    return v / length


def points(frame: Frame, at: ArrayLike) -> NDArray[np.float64]:
    """Carry points (N, 3) or one point (3,) through the frame."""
    p = np.asarray(at, dtype=np.float64)
    return p @ frame[:3, :3].T + frame[:3, 3]


def directions(frame: Frame, at: ArrayLike) -> NDArray[np.float64]:
    """Carry directions (N, 3) or (3,) through the frame, leaving its origin out."""
    return np.asarray(at, dtype=np.float64) @ frame[:3, :3].T


def mirrored(frame: Frame) -> Frame:
    """Return the frame seen in the mirror x -> -x, itself proper again (M F M)."""
    return MIRROR_X @ frame @ MIRROR_X


def snapped(frame: Frame) -> Frame:
    """Return the frame rounded to 1e-9, so that equal placings give equal bits."""
    out: Frame = np.round(frame, 9) + 0.0
    return out


def apart(one: Frame, other: Frame) -> tuple[float, float]:
    """Return the distance (mm) between two origins and the angle (rad) between two frames."""
    gap = float(np.linalg.norm(one[:3, 3] - other[:3, 3]))
    relative = one[:3, :3].T @ other[:3, :3]
    sine = 0.5 * np.linalg.norm([relative[2, 1] - relative[1, 2], relative[0, 2] - relative[2, 0],
                                 relative[1, 0] - relative[0, 1]])
    return gap, float(np.arctan2(sine, (np.trace(relative) - 1.0) / 2.0))
