"""The sizes of tenons and mortises as they are cut, as a rule would tell them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assembly.placing import Assembly
from model.frames import Frame, points
from model.joint import Joint
from model.joints.measures import LEAST_WOOD
from model.part import Feature
from model.solids import Solid

Floats = NDArray[np.float64]

ROOM = 2.0
"""Room to leave at the bottom of a mortise when one is cut anew, mm (common practice, no source)."""
POCKETS = ("mortise", "slot")
"""What a tenon goes into, in the trade's words."""


@dataclass(frozen=True)
class Section:
    """A tenon's or a mortise's section in its seat: from where to where along x and y, mm."""

    low: tuple[float, float]
    high: tuple[float, float]

    def size(self, axis: int) -> float:
        """How wide it is along x (0) or y (1), mm."""
        return self.high[axis] - self.low[axis]


def cut_for(assembly: Assembly, joint: Joint, part: str, roles: Sequence[str]) -> list[Feature]:
    """Return the features of some roles that a part has for a joint, or for the one it is a half of."""
    names = (joint.name, joint.of)
    return [f for f in assembly.part(part).features if f.role in roles and f.joint is not None and f.joint in names]


def tenon(assembly: Assembly, joint: Joint) -> list[Solid]:
    """Return what part a of a joint puts into part b, in a's frame: its tenons, or all of a loose tenon."""
    solids = [f.solid for f in cut_for(assembly, joint, joint.a, ("tenon",))]
    return [assembly.solid(joint.a)] if joint.of is not None and not solids else solids


def reach(assembly: Assembly, joint: Joint) -> float | None:
    """Return how far the tenon reaches past its seat, mm; None where there is none."""
    return _furthest(tenon(assembly, joint), joint.seat_a)


def depth(assembly: Assembly, joint: Joint) -> float | None:
    """Return how deep the mortise is under its seat, mm; None where there is none."""
    return _furthest([f.solid for f in cut_for(assembly, joint, joint.b, POCKETS)], joint.seat_b)


def sections(assembly: Assembly, joint: Joint) -> tuple[Section, Section] | None:
    """Return the sections of a tenon and its mortise, each in the joint's seat; None where there is not one of each."""
    grown, sunk = tenon(assembly, joint), [f.solid for f in cut_for(assembly, joint, joint.b, ("mortise",))]
    if len(grown) != 1 or len(sunk) != 1:
        return None
    return _section(grown[0], joint.seat_a), _section(sunk[0], joint.seat_b)


def can_deepen(assembly: Assembly, joint: Joint, to: float) -> bool:
    """Whether part b has wood enough for a mortise that deep, mm, with LEAST_WOOD left below it."""
    start = points(joint.seat_b, (*_middle(assembly, joint), 1e-3))
    wood = assembly.part(joint.b).blank.solid.chord(start, joint.seat_b[:3, 2])
    return wood > to + LEAST_WOOD


def size(solid: Solid, feature: Feature) -> tuple[float, float, float]:
    """Return the long way, the short way and the reach of a tenon in its own frame, mm."""
    low, high = solid.bounds_in(feature.frame)
    return float(high[0] - low[0]), float(high[1] - low[1]), float(high[2])


def _middle(assembly: Assembly, joint: Joint) -> tuple[float, float]:
    """Return where the middle of a joint's tenon lies in its seat, mm."""
    found = tenon(assembly, joint)
    if not found:
        return 0.0, 0.0
    of = _section(found[0], joint.seat_a)
    return (of.low[0] + of.high[0]) / 2, (of.low[1] + of.high[1]) / 2


def _section(solid: Solid, seat: Frame) -> Section:
    (x0, y0), (x1, y1) = solid.bounds_in(seat)[:, :2].tolist()
    return Section((x0, y0), (x1, y1))


def _furthest(solids: Sequence[Solid], seat: Frame) -> float | None:
    return max((float(s.bounds_in(seat)[1, 2]) for s in solids), default=None)
