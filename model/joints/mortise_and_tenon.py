"""Blind and through mortise and tenon.

Part `a` carries the tenon, part `b` the mortise. Defaults: tenon a third of the mortised
piece in thickness, no wider than five times its thickness, two thirds of the mortised
piece deep when blind, 2 mm short of the bottom (common practice, no source; which of the two
pieces the third refers to is disputed, so it can be given).
The shoulder may lean: the tenon then stands square to the face it meets, or runs along the
grain of the piece it grows from (`run = "grain"`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from model.errors import JointError
from model.frames import Frame, Z, directions, identity, inverse, turn
from model.joint import Joint, Work
from model.joints.measures import LEAST_WOOD, STEEPEST, across, ahead, positive, refuse_fit, slope, span
from model.joints.tenons import (
    BOTTOM,
    DEEP,
    SHOULDER_LEAST,
    WIDTH_MOST,
    Section,
    cope,
    flush,
    inside,
    section,
    tenon_on,
    too_deep,
)
from model.part import Blank, Feature
from model.solids import OVERSHOOT, ROOT, Solid

__all__ = ["BLIND", "BOTTOM", "SHOULDER_LEAST", "THROUGH", "WIDTH_MOST", "TenonSizes", "tenon_sizes"]

SIZES = {
    "thickness": "short way of the tenon's section; a third of the mortised piece unless given",
    "width": "long way of the tenon's section; the tenoned piece less a shoulder each side unless given",
    "depth": "how far the tenon reaches past its shoulder; two thirds of the mortised piece, or through it, unless "
             "given",
    "bottom": "room between the tenon's end and the bottom of a blind mortise; 2 mm unless given",
    "shift": "how far the tenon lies off the middle, along its width",
    "offset": "how far the tenon lies off the middle, along its thickness",
    "run": "square: the tenon stands square to the face it enters, the default; grain: it runs along the grain of "
           "the piece it grows from, and slides that way",
}


@dataclass(frozen=True)
class TenonSizes:
    """A tenon's section (mm), its reach past the shoulder, the room below it, and where its middle lies."""

    thickness: float
    width: float
    depth: float
    bottom: float
    shift: float
    offset: float

    @property
    def section(self) -> Section:
        """The tenon's section in its seat."""
        return section(self.width, self.thickness, self.shift, self.offset)


@dataclass(frozen=True)
class _MortiseAndTenon:
    name: str
    says: str
    through: bool
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: {"run": ("square", "grain")})

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        refuse_fit(joint)
        lean = _lean(joint, a)
        leaning = replace(joint, seat_a=joint.seat_a @ lean, seat_b=joint.seat_b @ lean)
        rise = math.tan(math.acos(min(1.0, float(lean[2, 2])))) * math.hypot(a.width, a.thickness) / 2
        sizes = tenon_sizes(leaning, a, b, through=self.through, rise=rise)
        tenon, mortise = _pair(leaning, a, b, sizes, through=self.through, rise=rise)
        return Work(
            a=(*cope(joint, a), Feature(f"tenon of {joint.name}", "add", tenon, "tenon", joint.name,
                                        frame=leaning.seat_a)),
            b=(Feature(f"mortise of {joint.name}", "cut", mortise, "mortise", joint.name, frame=leaning.seat_b),),
            travel=sizes.depth,
            turn=lean,
        )


def tenon_sizes(joint: Joint, a: Blank, b: Blank, *, through: bool, rise: float = 0.0) -> TenonSizes:
    """Return the tenon's sizes: what was given, else the trade's proportions; JointError when it cannot be.

    `rise`: how far a leaning shoulder stands above or below its middle, mm.
    """
    given = joint.sizes
    shift, offset = given.get("shift", 0.0), given.get("offset", 0.0)
    depth, bottom = _depth(joint, a, b, ahead(b, joint.seat_b, shift, offset), through)
    x, y = (_window(joint, a, axis, depth, rise) for axis in (0, 1))
    short_way, long_way = 2 * min(y[1] - offset, offset - y[0]), 2 * min(x[1] - shift, shift - x[0])
    cheeks = across(b, joint.seat_b, 1, min(1.0, depth / 2))
    third = min((cheeks[1] - cheeks[0]) / 3.0, short_way - 2 * SHOULDER_LEAST)
    thickness = _at_most(joint, "thickness", given.get("thickness", third), short_way)
    shouldered = min(long_way - 2 * max(SHOULDER_LEAST, thickness / 4), WIDTH_MOST * thickness)
    width = _at_most(joint, "width", given.get("width", shouldered), long_way)
    return TenonSizes(thickness, width, depth, bottom, shift, offset)


def _depth(joint: Joint, a: Blank, b: Blank, room: float, through: bool) -> tuple[float, float]:
    """Return how far the tenon reaches and the room left below it, mm."""
    if room <= 0:
        raise JointError(joint.name, "into", "a place beside the wood", f"a place on the wood of {joint.b}")
    bottom = 0.0 if through else joint.sizes.get("bottom", BOTTOM)
    if not bottom >= 0:
        raise JointError(joint.name, "bottom", f"{bottom:.2f} mm", "0 mm or more")
    depth = positive(joint, "depth", joint.sizes.get("depth", room if through else DEEP * min(room, b.width)))
    spare = 0.0 if through else bottom + LEAST_WOOD
    if depth + spare > room + 1e-6:
        raise too_deep(joint, joint.b, depth, room, spare)
    if depth >= a.length:
        raise JointError(joint.name, "depth", f"{depth:.2f} mm", f"less than {joint.a} is long ({a.length:.2f} mm)")
    return depth, bottom


def _at_most(joint: Joint, key: str, value: float, most: float) -> float:
    if not 0 < value <= most + 1e-6:
        raise JointError(joint.name, key, f"{value:.2f} mm",
                         f"more than 0 mm and at most {max(0.0, most):.2f} mm, what {joint.a} has there")
    return value


def _lean(joint: Joint, a: Blank) -> Frame:
    """Return the turn that carries the seat's z onto the tenoned piece's grain; none unless asked for."""
    if joint.sizes.get("run", "square") != "grain":
        return identity()
    grain = directions(inverse(joint.seat_a), a.grain)
    grain = grain if grain[2] > 0 else -grain
    angle = math.acos(min(1.0, float(grain[2])))
    if angle > STEEPEST:
        raise JointError(joint.name, "run", "grain", f"square: the grain of {joint.a} leans {math.degrees(angle):.1f} "
                                                     f"degrees from the way into {joint.b}, 60 at most")
    return identity() if angle < 1e-9 else turn(np.cross(Z, grain), angle)


def _window(joint: Joint, a: Blank, axis: int, depth: float, rise: float) -> tuple[float, float]:
    """Return where along x or y a tenon can lie so that it can be sawn out of the piece, root and end, mm."""
    low, high = span(a, joint.seat_a, axis, ROOT + rise)
    if high - low <= 0:
        raise JointError(joint.name, "from", f"a place {joint.a} does not reach", f"a place on an end of {joint.a}")
    drift = float(slope(a, joint.seat_a)[axis]) * depth
    return low + max(0.0, drift), high + min(0.0, drift)


def _pair(joint: Joint, a: Blank, b: Blank, sizes: TenonSizes, *, through: bool,
          rise: float) -> tuple[Solid, Solid]:
    """Return the tenon in a's frame and its mortise in b's."""
    of, wide = sizes.section, sizes.section.widened(joint.fit)
    inside(joint, b, wide, sizes.depth, None if through else sizes.bottom)
    opening = -OVERSHOOT - rise
    if not through:
        tenon = tenon_on(a, joint.seat_a, of, sizes.depth, ROOT + rise)
        return tenon, wide.swept(joint.seat_b, opening, sizes.depth + sizes.bottom)
    half = sizes.depth / 2
    exits = [half + ahead(b, joint.seat_b, x, y, half) for x, y in (*wide.corners, (sizes.shift, sizes.offset))]
    mortise = wide.swept(joint.seat_b, opening, max(exits) + OVERSHOOT)
    if "depth" in joint.sizes or max(exits) - min(exits) < 1e-6:
        return tenon_on(a, joint.seat_a, of, sizes.depth, ROOT + rise), mortise
    tenon = tenon_on(a, joint.seat_a, of, max(exits) + 1.0, ROOT + rise)
    return flush(joint, tenon, b, of, half, max(exits) + 2.0), mortise


BLIND = _MortiseAndTenon("blind tenon", "a tenon that stops inside the mortised piece", through=False)
THROUGH = _MortiseAndTenon("through tenon", "a tenon that shows on the far side, flush", through=True)
