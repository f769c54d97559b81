"""Steadiness: how far work may be tilted before it falls, and what has to be done that it does not.

A body on a plane falls over an edge of its support when its centre of mass passes over that edge: it may be
tilted by atan(distance of the centre from the edge in plan / height of the centre).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from assembly.stance.body import ON_IT, Body, Floats

STEADY = math.radians(10.0)
"""Work that can be tilted this far, rad, stays where it is put while pieces are brought to it (common practice, no
source)."""
MARGIN = 5.0
"""The centre of mass stays this far inside the support, mm (common practice, no source)."""
BLOCKS_MOST = 600.0
"""Blocks, trestles and packing reach this high, mm (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Tip:
    """How work falls: at which tilt, rad (0 where it does not stay at all), `inside` by how much, mm, which way (3,)."""

    angle: float
    inside: float
    way: Floats


@dataclass(frozen=True, eq=False)
class Footing:
    """How work keeps still at one moment: packing so high (mm) under `packed` parts; otherwise it is held.

    `force`: what the holding takes, kg; 0 where nobody has to hold it. `tip` is without anybody holding it.
    """

    packing: float
    packed: tuple[str, ...]
    force: float
    tip: Tip
    held_at: str = ""


def plane_axes(up: Floats) -> Floats:
    """Return two unit directions (2, 3) square to `up` and to each other."""
    aside = np.eye(3)[int(np.argmin(np.abs(up)))]
    one = np.cross(up, aside)
    one /= np.linalg.norm(one)
    return np.array([one, np.cross(up, one)])


def tip(supports: Floats, centre: Floats, up: Floats) -> Tip:
    """Return how a body tips that rests on points (N, 3) with its centre of mass (3,)."""
    axes = plane_axes(up)
    at, over = supports @ axes.T, axes @ centre
    height = float(centre @ up - (supports @ up).min())
    inside, way = _inside(at, over)
    angle = math.atan2(inside, height) if inside > 0 and height > 0 else (math.pi / 2 if inside > 0 else 0.0)
    return Tip(angle, inside, way @ axes)


def _inside(at: Floats, over: Floats) -> tuple[float, Floats]:
    """Return how far a point (2,) is inside the hull of others (N, 2), negative outside, and the way to its edge."""
    from scipy.spatial import ConvexHull, QhullError

    if len(at) >= 3:
        try:
            edges = ConvexHull(at).equations
        except QhullError:
            edges = np.zeros((0, 3))
        if len(edges):
            depth = -(edges[:, :2] @ over + edges[:, 2])
            nearest = int(np.argmin(np.round(depth, 6)))
            return float(depth[nearest]), edges[nearest, :2]
    return _off_line(at, over)


def _off_line(at: Floats, over: Floats) -> tuple[float, Floats]:
    """Return the same where the points have no area: minus the distance from the point or line they make."""
    middle = at.mean(axis=0)
    spread = at - middle
    along = np.linalg.svd(spread, full_matrices=False)[2][0] if len(at) > 1 else np.zeros(2)
    reach = spread @ along
    foot = middle + along * float(np.clip((over - middle) @ along, reach.min(), reach.max()))
    away = over - foot
    size = float(np.linalg.norm(away))
    if size < 1e-9:
        return 0.0, np.array([-along[1], along[0]]) if along.any() else np.array([1.0, 0.0])
    return -size, away / size


def steady(found: Tip) -> bool:
    """Whether work stays put by itself."""
    return found.angle >= STEADY and found.inside >= MARGIN


def footing(body: Body, there: np.ndarray, up: Floats, plane: float) -> Footing:
    """Return how the parts in `there` (P,) keep still in an attitude: the least packing under them, or held.

    `plane`: how high along `up` the face is on which the finished stage lies.
    """
    heights, lows = body.lows(up)
    mass = body.mass * there
    centre = mass @ body.centre / mass.sum()
    own = there[body.owner] & (heights <= lows[body.owner] + ON_IT)
    levels = np.unique(np.round(np.maximum(lows[there] - plane, 0.0), 1))
    best: Footing | None = None
    for level in levels[levels <= BLOCKS_MOST].tolist():
        under = own & (lows[body.owner] <= plane + level + ON_IT)
        found = tip(body.corners[under], centre, up)
        if best is None or found.inside > best.tip.inside:
            best = _held(body, there, up, level, plane, found, float(mass.sum()))
        if steady(found):
            return Footing(level if level > ON_IT else 0.0, _packed(body, there, lows, plane, level), 0.0, found)
    return best or Footing(0.0, (), float(mass.sum()), Tip(0.0, 0.0, plane_axes(up)[0]),
                           body.names[int(np.flatnonzero(there)[0])])


def _packed(body: Body, there: np.ndarray, lows: Floats, plane: float, level: float) -> tuple[str, ...]:
    under = there & (lows > plane + ON_IT) & (lows <= plane + level + ON_IT)
    return tuple(body.names[k] for k in np.flatnonzero(under))


def _held(body: Body, there: np.ndarray, up: Floats, level: float, plane: float, found: Tip, mass: float) -> Footing:
    """Return what it takes to hold work that falls: by the lever from the edge it turns over to its far end."""
    rows = np.flatnonzero(there[body.owner])
    reach = body.corners[rows] @ found.way
    centre = (body.mass * there) @ body.centre / (body.mass * there).sum()
    edge = float(centre @ found.way) + found.inside
    arm = float(reach.max()) - edge
    share = min(1.0, max(0.0, -found.inside) / arm) if arm > 1.0 else 1.0
    held_at = body.names[int(body.owner[rows[int(np.argmax(np.round(reach, 3)))]])]
    lows = body.lows(up)[1]
    force = max(mass * share, 0.01)
    return Footing(level if level > ON_IT else 0.0, _packed(body, there, lows, plane, level), force, found, held_at)
