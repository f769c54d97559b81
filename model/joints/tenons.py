"""Tenons and mortises as solids: their section, the tenon with its root, the pocket it goes into.

Shared by every kind of joint that has a tenon. Sections stand in a seat's frame, x the long
way, y the short way; solids come out in the part's own frame.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from model.errors import JointError
from model.frames import Frame, inverse, points
from model.joint import Joint
from model.joints.measures import LEAST_WOOD, SKIN, slope
from model.part import Blank, Feature
from model.solids import OVERSHOOT, ROOT, Solid, box, loft

SHOULDER_LEAST = 3.0
"""Least shoulder left beside a tenon by default, mm (common practice, no source)."""
WIDTH_MOST = 5.0
"""A tenon is by default at most this many times as wide as thick (common practice, no source)."""
BOTTOM = 2.0
"""Room left at the bottom of a blind mortise, mm (common practice, 1.5 to 3; no source)."""
DEEP = 2.0 / 3.0
"""A blind tenon reaches this far into the mortised piece by default (common practice, no source)."""


@dataclass(frozen=True)
class Section:
    """A tenon's section in a seat's frame, mm: from where to where along x and along y."""

    low: tuple[float, float]
    high: tuple[float, float]

    @property
    def corners(self) -> NDArray[np.float64]:
        """The four corners (4, 2), counter-clockwise."""
        (x0, y0), (x1, y1) = self.low, self.high
        return np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])

    def widened(self, fit: float) -> Section:
        """Return the section with a clearance on every side."""
        (x0, y0), (x1, y1) = self.low, self.high
        return Section((x0 - fit, y0 - fit), (x1 + fit, y1 + fit))

    def swept(self, seat: Frame, low: float, high: float) -> Solid:
        """Return the section swept along a seat's z from low to high, mm, in the part's frame."""
        return box((*self.low, low), (*self.high, high)).moved(seat)


def section(width: float, thickness: float, shift: float, offset: float) -> Section:
    """Return a section by its sizes and where its middle lies, mm."""
    return Section((shift - width / 2, offset - thickness / 2), (shift + width / 2, offset + thickness / 2))


def tenon_on(blank: Blank, seat: Frame, of: Section, depth: float, below: float = ROOT) -> Solid:
    """Return a tenon square to a seat with a root that stays inside the piece it grows from.

    The root runs straight down where there is wood around it, else along the grain.
    """
    way = slope(blank, seat)
    root = np.column_stack([of.corners, np.full(4, -below)])
    if all(blank.solid.chord(points(seat, corner), seat[:3, 2]) > below / 2 for corner in root):
        return of.swept(seat, -below, depth)
    foot, brow, top = (np.column_stack([of.corners, np.full(4, z)]) for z in (0.0, 0.0, depth))
    return loft([foot - below * way, brow, top]).moved(seat)


def inside(joint: Joint, b: Blank, of: Section, level: float, end: float | None = None) -> None:
    """Raise JointError unless a pocket of a section lies in b's wood at a level of the seat, mm.

    `end`: where a blind pocket ends; LEAST_WOOD must be left below it.
    """
    for x, y in of.corners:
        wood = b.solid.chord(points(joint.seat_b, (x, y, level)), joint.seat_b[:3, 2])
        if wood <= 0:
            raise JointError(joint.name, "shift", f"the tenon comes out of {joint.b} at {x:.2f}, {y:.2f} mm",
                             f"a tenon that stays inside {joint.b}, with {joint.fit:g} mm of fit")
        if end is not None and level + wood < end + LEAST_WOOD - 1e-6:
            raise too_deep(joint, joint.b, end, level + wood, LEAST_WOOD)


def refuse_short(joint: Joint, depth: float, highest: float) -> None:
    """Raise JointError unless a leaning tenon is long enough for its whole end to be in the wood."""
    if depth < highest + LEAST_WOOD:
        raise JointError(joint.name, "depth", f"{depth:.2f} mm where it is shortest",
                         f"at least {highest + LEAST_WOOD:.2f} mm, so that the end of the leaning tenon is in the wood")


def too_deep(joint: Joint, name: str, depth: float, room: float, spare: float) -> JointError:
    """Return the error for a tenon, or its pocket, deeper than the wood that takes it."""
    return JointError(joint.name, "depth", f"{depth:.2f} mm",
                      f"at most {max(0.0, room - spare):.2f} mm, {name} is {room:.2f} mm through there")


def cope(joint: Joint, a: Blank) -> tuple[Feature, ...]:
    """Return the cut that brings a's end to the meeting plane, where its blank runs past it."""
    local = points(inverse(joint.seat_a), a.solid.mesh[0])
    wide = math.hypot(a.width, a.thickness) * 4
    past = local[(local[:, 2] > SKIN) & (np.hypot(local[:, 0], local[:, 1]) < wide), 2]
    if not past.size:
        return ()
    waste = box((-wide, -wide, 0.0), (wide, wide, float(past.max()) + OVERSHOOT)).moved(joint.seat_a)
    return (Feature(f"shoulder of {joint.name}", "cut", waste, "shoulder", joint.name, frame=joint.seat_a),)


def flush(joint: Joint, tenon: Solid, b: Blank, of: Section, low: float, high: float) -> Solid:
    """Return a tenon without what shows on b's far side, between two heights of the seat, in a's frame."""
    there = b.solid.moved(joint.b_in_a)
    waste = of.widened(1.0).swept(joint.seat_a, low, high).cut(there)
    return tenon.cut(waste)
