"""Attitudes: the ways in which work can lie: as it will stand, and on each face of its hull that it stays on.

A body stays on a face of its convex hull when its centre of mass lies over that face: when the foot of the
perpendicular from it does not leave the hull.
"""

from __future__ import annotations

import math

import numpy as np

from assembly.stance.body import Body, Floats
from assembly.stance.steadiness import tip

UP: Floats = np.array([0.0, 0.0, 1.0])
SAME_FACE = math.cos(math.radians(0.5))
"""Faces of the hull out of parallel by less than 0.5 degrees are one face to lie on."""
LIES_FROM = math.radians(2.0)
"""Work that falls when tilted by less than this, rad, does not lie on a face (common practice, no source)."""
TRIED = 16
"""Faces tried, the steadiest first."""


def attitudes(body: Body) -> Floats:
    """Return the directions (K, 3) that can look up while the work lies, as it will stand first."""
    faces = _faces(body)
    return np.concatenate([UP[None], faces[faces @ UP < SAME_FACE]])


def _faces(body: Body) -> Floats:
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = ConvexHull(body.corners)
    except QhullError:
        return np.zeros((0, 3))
    out, offset = hull.equations[:, :3], hull.equations[:, 3]
    centre = body.mass @ body.centre / body.mass.sum()
    feet = centre - out * (out @ centre + offset)[:, None]
    on = np.all(feet @ out.T + offset <= 1e-6, axis=1)
    ups = _distinct(-out[on])
    corners = body.corners[hull.vertices]
    steady = [(tip(corners[_lowest(corners @ up)], centre, up).angle, up) for up in ups]
    steady = sorted((s for s in steady if s[0] >= LIES_FROM), key=lambda s: (-round(s[0], 6), s[1].tolist()))
    return np.array([up for _, up in steady[:TRIED]]).reshape(-1, 3)


def _lowest(heights: Floats) -> Floats:
    from assembly.stance.body import ON_IT

    return np.flatnonzero(heights <= heights.min() + ON_IT)


def _distinct(ups: Floats) -> list[Floats]:
    kept: list[Floats] = []
    for up in np.round(ups, 9) + 0.0:
        if not any(float(up @ k) >= SAME_FACE for k in kept):
            kept.append(up)
    return kept
