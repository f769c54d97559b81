"""Steadiness: how far work may be tilted before it falls over an edge of what it rests on.

It falls when its centre of mass passes over that edge: when it is tilted by
atan(distance of the centre from the edge in plan / height of the centre above what it rests on).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from assembly.stance.body import Floats

STEADY = math.radians(10.0)
"""Work that can be tilted this far, rad, stays where it is put while pieces are brought to it (common practice, no
source)."""
MARGIN = 5.0
"""The centre of mass stays this far inside what the work rests on, mm (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Tip:
    """How work falls: at which tilt, rad (0: it does not stay at all), `inside` by how much, mm.

    `way` (2,) or (3,): the direction in which it falls, in plan or in the world.
    """

    angle: float
    inside: float
    way: Floats

    @property
    def steady(self) -> bool:
        """Whether work stays put by itself."""
        return self.angle >= STEADY and self.inside >= MARGIN


def plane_axes(up: Floats) -> Floats:
    """Return two unit directions (2, 3) square to `up` and to each other."""
    aside = np.eye(3)[int(np.argmin(np.abs(up)))]
    one = np.cross(up, aside)
    one /= np.linalg.norm(one)
    return np.array([one, np.cross(up, one)])


def tip(supports: Floats, centre: Floats, up: Floats) -> Tip:
    """Return how a body tips that rests on points (N, 3) with its centre of mass (3,)."""
    axes = plane_axes(up)
    at = supports @ axes.T
    found = over_edges(edges(at), at, axes @ centre, float(centre @ up - (supports @ up).min()))
    return Tip(found.angle, found.inside, found.way @ axes)


def over_edges(lines: Floats, at: Floats, over: Floats, height: float) -> Tip:
    """Return how a body tips over `lines` (K, 3), the edges of the points (N, 2) it rests on.

    Its centre of mass is at `over` (2,) in plan and `height` above them, mm.
    """
    if len(lines):
        depth = -(lines[:, :2] @ over + lines[:, 2])
        nearest = int(np.argmin(np.round(depth, 6)))
        inside, way = float(depth[nearest]), lines[nearest, :2]
    else:
        inside, way = _off_line(at, over)
    return Tip(math.atan2(inside, max(height, 0.0)) if inside > 0 else 0.0, inside, way)


def edges(at: Floats) -> Floats:
    """Return the edges (K, 3) of the hull of points (N, 2): unit normal out of it and offset; none without an area."""
    from scipy.spatial import ConvexHull, QhullError

    if len(at) < 3 or np.linalg.matrix_rank(at - at[0], tol=1e-3) < 2:
        return np.zeros((0, 3))
    try:
        return np.asarray(ConvexHull(at).equations, dtype=np.float64)
    except QhullError:
        return np.zeros((0, 3))


def _off_line(at: Floats, over: Floats) -> tuple[float, Floats]:
    """Return minus the distance from the point or line that points (N, 2) make, and the way away from it."""
    middle = at.mean(axis=0)
    spread = at - middle
    along = np.linalg.svd(spread, full_matrices=False)[2][0]
    reach = spread @ along
    away = over - middle - along * float(np.clip((over - middle) @ along, reach.min(), reach.max()))
    size = float(np.linalg.norm(away))
    return (-size, away / size) if size > 1e-9 else (0.0, np.array([-along[1], along[0]]))
