"""Housing: a piece goes with its whole section into a groove.

The seat lies on the bottom of the groove, z the way part a goes in. Part a ends on the
bottom; part b loses what a takes up, widened by the fit. The groove is a third of b deep
unless a depth is given (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from model.errors import JointError
from model.frames import Frame, directions, points
from model.joint import Joint, Work
from model.joints.measures import LEAST_WOOD, ahead, refuse_fit, span
from model.joints.tenons import cope
from model.part import Blank, Feature
from model.solids import OVERSHOOT, silhouette

DEPTH = 1.0 / 3.0
"""A groove is by default this much of the grooved piece deep (common practice, no source)."""

SIZES = {"depth": "how deep the groove is; a third of the grooved piece unless given"}


@dataclass(frozen=True)
class _Housing:
    name: str = "housing"
    says: str = "a piece let with its whole section into a groove"
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, sizes.get("depth", DEPTH * ahead(b, seat_b))

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        refuse_fit(joint)
        depth = _depth(joint, a, b)
        deepest = max(depth, *(_above(b, joint.seat_b, corner) for corner in _corners(joint, a)))
        top = deepest + OVERSHOOT
        near = a.solid.split_at(points(joint.seat_a, (0.0, 0.0, -top)), directions(joint.seat_a, (0.0, 0.0, 1.0)))
        groove = silhouette(near, joint.seat_a, joint.fit, -top, 0.0).moved(joint.seat_b)
        return Work(
            a=cope(joint, a),
            b=(Feature(f"housing of {joint.name}", "cut", groove, "housing", joint.name, frame=joint.seat_b),),
            travel=deepest,
        )


def _depth(joint: Joint, a: Blank, b: Blank) -> float:
    """Return how deep the groove is at the seat, mm; JointError when there is no groove or no bottom to it."""
    depth, left = ahead(b, joint.seat_b, back=True), ahead(b, joint.seat_b)
    if not depth > 0 or left < LEAST_WOOD - 1e-6:
        found = joint.sizes.get("depth", depth)
        raise JointError(joint.name, "depth", f"{found:.2f} mm", f"a bottom inside {joint.b}: more than 0 mm, and "
                                                                 f"{LEAST_WOOD:g} mm less than it is through there")
    if span(a, joint.seat_a, 0) == (0.0, 0.0):
        raise JointError(joint.name, "from", f"a place {joint.a} does not reach", f"a place on the wood of {joint.a}")
    return depth


def _corners(joint: Joint, a: Blank) -> NDArray[np.float64]:
    """Return the corners of a's section on the bottom of the groove, in the seat (4, 2)."""
    (x0, x1), (y0, y1) = span(a, joint.seat_a, 0), span(a, joint.seat_a, 1)
    return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])


def _above(b: Blank, seat: Frame, corner: NDArray[np.float64]) -> float:
    """Return how much of b lies over a corner of the groove's bottom, mm; 0 beside b."""
    return ahead(b, seat, float(corner[0]), float(corner[1]), back=True)


HOUSING = _Housing()
