"""Attitudes: the ways in which work can lie: as it will stand, and on each face of its hull that it stays on.

A body stays on a face of its convex hull when its centre of mass lies over that face: when the foot of the
perpendicular from it does not leave the hull.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from assembly.stance.body import ON_IT, Body, Floats
from assembly.stance.steadiness import tip

UP: Floats = np.array([0.0, 0.0, 1.0])
SAME_FACE = math.cos(math.radians(0.5))
"""Faces of the hull out of parallel by less than 0.5 degrees are one face to lie on."""
LIES_FROM = math.radians(2.0)
"""Work that falls when tilted by less than this, rad, does not lie on a face (common practice, no source)."""
TRIED = 16
"""Faces tried, the steadiest first."""
SQUARE_MOST = 3
"""Directions square to most of the wood that are tried, both ways."""


def attitudes(body: Body) -> Floats:
    """Return the directions (K, 3) that can look up while the work lies, as it will stand first.

    Besides the faces that it lies on by itself, those square to most of the wood: it may lie on packing.
    """
    return np.array(_distinct(np.concatenate([UP[None], _faces(body), _square(body)])))


def askew(body: Body, up: Floats) -> bool:
    """Whether most of the wood, by mass, lies neither level nor upright in an attitude."""
    square = (np.abs(np.einsum("i,pij->pj", up, body.axes)) >= SAME_FACE).any(axis=1)
    return float(body.mass[~square].sum()) > float(body.mass.sum()) / 2.0


def _square(body: Body) -> Floats:
    """Return the directions, both ways, along which most wood has one of its own axes."""
    lines = np.swapaxes(body.axes, 1, 2).reshape(-1, 3)
    alike = np.abs(lines @ lines.T) >= SAME_FACE
    share = np.round(alike @ np.repeat(body.mass, 3) / body.mass.sum(), 6)
    most = lines[np.argsort(-share, kind="stable")]
    kept = np.array(_distinct(most, both=True)[:SQUARE_MOST])
    return np.concatenate([kept, -kept])


def _faces(body: Body) -> Floats:
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = ConvexHull(body.corners)
    except QhullError:
        return np.zeros((0, 3))
    centre = body.mass @ body.centre / body.mass.sum()
    out, offset = _wide(hull, centre)
    feet = centre - out * (out @ centre + offset)[:, None]
    planes = np.unique(np.round(hull.equations, 9), axis=0)
    on = np.all(feet @ planes[:, :3].T + planes[:, 3] <= 1e-6, axis=1)
    ups = _distinct(-out[on])
    corners = body.corners[hull.vertices]
    tilts = [tip(_lowest(corners, up), centre, up).angle for up in ups]
    steady = sorted((k for k, tilt in enumerate(tilts) if tilt >= LIES_FROM), key=lambda k: -round(tilts[k], 6))
    return np.array([ups[k] for k in steady[:TRIED]]).reshape(-1, 3)


def _wide(hull: Any, centre: Floats) -> tuple[Floats, Floats]:
    """Return normals (K, 3) and offsets (K,) of the planes of a hull that have faces wide enough to lie on.

    Work that stays when tilted by an angle has at least a disc under it as wide as that angle takes its centre.
    """
    planes, of = np.unique(np.round(hull.equations, 9), axis=0, return_inverse=True)
    a, b, c = (hull.points[hull.simplices[:, k]] for k in range(3))
    area = np.bincount(of.ravel(), np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0)
    high = -(planes[:, :3] @ centre + planes[:, 3])
    wide = area >= math.pi * (high * math.tan(LIES_FROM / 2.0)) ** 2
    return planes[wide, :3], planes[wide, 3]


def _lowest(corners: Floats, up: Floats) -> Floats:
    heights = corners @ up
    found: Floats = corners[heights <= heights.min() + ON_IT]
    return found


def _distinct(ups: Floats, both: bool = False) -> list[Floats]:
    """Return directions without those that repeat an earlier one, or, with `both`, the opposite of one."""
    near = np.abs(ups @ ups.T) if both else ups @ ups.T
    kept: list[int] = []
    for k in range(len(ups)):
        if not kept or near[k, kept].max() < SAME_FACE:
            kept.append(k)
    return [ups[k] for k in kept]
