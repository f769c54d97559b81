"""Sawing to a curve: the outline of a ring between two radii, in facets that meet at every joint.

The facets lie on a grid of whole steps of the segment's angle, so that the curves of two
neighbours meet corner to corner, also where one is lapped past the other.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from model.errors import SolidError
from model.frames import Frame, inverse, points
from model.part import Blank, Feature
from model.solids import OVERSHOOT, Solid, arc_steps, prism

WIDEST = 0.98 * math.pi
"""A curve reaches at most this far to either side of its middle, rad."""


def sector(outer_radius: float, inner_radius: float, low: float, high: float, bottom: float, top: float,
           steps: int) -> Solid:
    """Return a piece of a ring about z, from angle low to high (rad from y, turning to x), z bottom to top, mm."""
    angles = np.linspace(low, high, steps + 1)
    rim = np.column_stack([np.sin(angles), np.cos(angles)])
    return prism(np.vstack([inner_radius * rim, outer_radius * rim[::-1]]), bottom, top)


def refuse_radii(outer_radius: float, inner_radius: float) -> None:
    """Raise SolidError unless 0 < inner < outer."""
    if not 0.0 < inner_radius < outer_radius:
        raise SolidError(f"a curve from {inner_radius:.2f} to {outer_radius:.2f} mm has no wood; accepted: an inner "
                         f"radius above 0 and below the outer one")


def curve_feature(blank: Blank, centre: Frame, outer_radius: float, inner_radius: float, angle: float, *,
                  after: str | None = None, name: str = "curve") -> Feature:
    """Return the cut that saws a ring segment's blank to a band, as something kept of it.

    `centre`: the ring's middle in the part's own frame, z its axis, y towards the middle of the
    segment. `angle`: the segment's share of the ring, joint to joint, rad. `after`: the stage after
    whose glue-up it is sawn. The curve runs on past both joints as far as the blank does, and as
    much again for what grows out of it. Raises SolidError when the radii leave no wood.
    """
    refuse_radii(outer_radius, inner_radius)
    seen = points(inverse(centre), blank.solid.mesh[0])
    per_joint = 2 * arc_steps(outer_radius, angle / 2)
    step = angle / per_joint
    half = min(WIDEST, 2 * _half_angle(seen))
    count = max(per_joint // 2, math.floor(half / step))
    solid = sector(outer_radius, inner_radius, -count * step, count * step, float(seen[:, 2].min()) - OVERSHOOT,
                   float(seen[:, 2].max()) + OVERSHOOT, 2 * count)
    return Feature(name, "keep", solid.moved(centre), "curve", after=after, frame=centre)


def _half_angle(seen: NDArray[np.float64]) -> float:
    """Return how far from the middle a blank's corners reach, rad."""
    return float(np.abs(np.arctan2(seen[:, 0], seen[:, 1])).max())


def stock_width(outer_radius: float, inner_radius: float, angle: float) -> float:
    """Return how wide a straight board must be for a band of a total angle (rad): Ro - Ri cos(angle / 2), mm.

    Source: trigonometry, the band's outside touching one edge, the corners of its inside the other.
    """
    return outer_radius - inner_radius * math.cos(angle / 2)


def stock_length(outer_radius: float, angle: float) -> float:
    """Return how long a straight board must be at least for a band, outer corner to outer corner: 2 Ro sin, mm."""
    return 2 * outer_radius * math.sin(min(angle / 2, math.pi / 2))
