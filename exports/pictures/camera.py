"""The camera: a parallel view, so that lengths along one direction have one scale all over a picture."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.frames import Vector, unit

WIDTH, HEIGHT = 1600, 1200
"""Size of every picture, pixels."""
Box = tuple[float, float, float, float]
"""Left, top, right, bottom in pixels of the picture, y down."""


@dataclass(frozen=True, eq=False)
class Camera:
    """A parallel view of the world.

    `right`, `up`, `forward` are unit directions of the world (mm); the point `centre` of the
    world appears at the pixel `middle`; a pixel is `mm_per_pixel` wide.
    """

    right: Vector
    up: Vector
    forward: Vector
    centre: Vector
    mm_per_pixel: float = 1.0
    middle: tuple[float, float] = (WIDTH / 2, HEIGHT / 2)

    def project(self, at: ArrayLike) -> NDArray[np.float64]:
        """Return pixels (N, 2), x to the right and y down, of points of the world (N, 3) or one (3,)."""
        local = np.asarray(at, dtype=np.float64) - self.centre
        x = self.middle[0] + local @ self.right / self.mm_per_pixel
        y = self.middle[1] - local @ self.up / self.mm_per_pixel
        return np.stack([x, y], axis=-1)

    def depth(self, at: ArrayLike) -> NDArray[np.float64]:
        """Return how far points lie behind the plane through the centre, mm."""
        local = np.asarray(at, dtype=np.float64) - self.centre
        return np.asarray(local @ self.forward)

    def world(self, pixels: NDArray[np.float64], depth: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the points of the world (N, 3) seen at pixels (N, 2) at a depth (N,), mm."""
        x = (pixels[:, 0] - self.middle[0]) * self.mm_per_pixel
        y = (self.middle[1] - pixels[:, 1]) * self.mm_per_pixel
        return self.centre + x[:, None] * self.right + y[:, None] * self.up + depth[:, None] * self.forward

    def shown(self, direction: ArrayLike) -> NDArray[np.float64]:
        """Return how a world direction appears, in pixels a millimetre (2,), y down."""
        d = np.asarray(direction, dtype=np.float64)
        return np.array([d @ self.right, -(d @ self.up)]) / self.mm_per_pixel


def facing(forward: ArrayLike) -> Camera:
    """Return a camera that looks along a direction of the world with z upright (y where it looks along z)."""
    ahead = unit(forward)
    upright = np.array([0.0, 0.0, 1.0]) if abs(ahead[2]) < 0.999 else np.array([0.0, 1.0, 0.0])
    right = unit(np.cross(ahead, upright))
    return Camera(right, np.cross(right, ahead), ahead, np.zeros(3))


def looking(azimuth: float, elevation: float) -> Camera:
    """Return a camera standing at an azimuth (from +x towards +y) and elevation, radians, looking back in."""
    a, e = azimuth, elevation
    return facing((-math.cos(a) * math.cos(e), -math.sin(a) * math.cos(e), -math.sin(e)))


def framed(camera: Camera, at: NDArray[np.float64], box: Box) -> Camera:
    """Return the camera brought to where points (N, 3) just fill a box of the picture, pixels."""
    across, upright, behind = at @ camera.right, at @ camera.up, at @ camera.forward
    wide, tall = float(np.ptp(across)), float(np.ptp(upright))
    scale = max(wide / (box[2] - box[0]), tall / (box[3] - box[1]), 1e-6)
    centre = (camera.right * _mid(across) + camera.up * _mid(upright) + camera.forward * _mid(behind))
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    return replace(camera, centre=centre, mm_per_pixel=scale, middle=middle)


def _mid(values: NDArray[np.float64]) -> float:
    return float(values.min() + values.max()) / 2


def corners(low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the eight corners (8, 3) of a box of the world."""
    pair = np.array([low, high])
    return np.array([[pair[i, 0], pair[j, 1], pair[k, 2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
