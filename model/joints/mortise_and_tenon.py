"""Blind and through mortise and tenon.

Part `a` carries the tenon, part `b` the mortise. Defaults: tenon a third of the mortised
piece in thickness, no wider than five times its thickness, two thirds of the mortised
piece deep when blind (common practice, reference section 4), 2 mm short of the bottom.
The shoulder may lean: a tenon along the joint's axis then meets a face at an angle.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from model.errors import JointError
from model.frames import Frame, Z, directions, inverse, points
from model.joint import Joint, Work
from model.part import Blank, Feature
from model.solids import FAR, OVERSHOOT, ROOT, Solid, box

SHOULDER_LEAST = 3.0
"""Least shoulder left beside a tenon by default, mm (common practice, no source)."""
WIDTH_MOST = 5.0
"""A tenon is at most this many times as wide as thick (reference section 4)."""
BOTTOM = 2.0
"""Room left at the bottom of a blind mortise, mm (reference section 4: 1.5 to 3)."""

SIZES = {
    "thickness": "short way of the tenon's section; a third of the mortised piece unless given",
    "width": "long way of the tenon's section; the tenoned piece less a shoulder each side unless given",
    "depth": "how far the tenon reaches past its shoulder; two thirds of the mortised piece unless given",
    "bottom": "room between the tenon's end and the bottom of a blind mortise; 2 mm unless given",
    "shift": "how far the tenon lies off the middle, along its width",
    "offset": "how far the tenon lies off the middle, along its thickness",
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


@dataclass(frozen=True)
class _MortiseAndTenon:
    name: str
    says: str
    through: bool
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        sizes = tenon_sizes(joint, a, b, through=self.through)
        reach = sizes.depth + (OVERSHOOT if self.through else sizes.bottom)
        tenon = prism_on(joint.seat_a, sizes, 0.0, -ROOT, sizes.depth)
        mortise = prism_on(joint.seat_b, sizes, joint.fit, -OVERSHOOT, reach)
        return Work(
            a=(*cope(joint, a), Feature(f"tenon of {joint.name}", "add", rooted(joint, a, tenon), "tenon",
                                        joint.name, frame=joint.seat_a)),
            b=(Feature(f"mortise of {joint.name}", "cut", mortise, "mortise", joint.name, frame=joint.seat_b),),
            travel=sizes.depth,
        )


def tenon_sizes(joint: Joint, a: Blank, b: Blank, *, through: bool) -> TenonSizes:
    """Return the tenon's sizes: what was given, else the trade's proportions; JointError when it cannot be."""
    given = joint.sizes
    shift, offset = given.get("shift", 0.0), given.get("offset", 0.0)
    room = b.solid.chord(points(joint.seat_b, (shift, offset, 0.0)), directions(joint.seat_b, Z))
    if room <= 0:
        raise JointError(joint.name, "into", "a place beside the wood", f"a place on {joint.b}")
    breadth = across(b.solid, joint.seat_b, min(1.0, room / 2), 1)
    short_way = across(a.solid, joint.seat_a, -ROOT, 1)
    thickness = given.get("thickness", min(breadth / 3.0, short_way - 2 * SHOULDER_LEAST))
    long_way = across(a.solid, joint.seat_a, -ROOT, 0)
    width = given.get("width", min(long_way - 2 * max(SHOULDER_LEAST, thickness / 4), WIDTH_MOST * thickness))
    bottom = 0.0 if through else given.get("bottom", BOTTOM)
    depth = given.get("depth", room if through else room * 2.0 / 3.0)
    sizes = TenonSizes(thickness, width, depth, bottom, shift, offset)
    _refuse(joint, a, sizes, room, through)
    return sizes


def _refuse(joint: Joint, a: Blank, sizes: TenonSizes, room: float, through: bool) -> None:
    for key in ("thickness", "width", "depth"):
        value = getattr(sizes, key)
        if not value > 0:
            raise JointError(joint.name, key, f"{value:.2f} mm", "more than 0 mm")
    for key, axis, middle in (("thickness", 1, sizes.offset), ("width", 0, sizes.shift)):
        value = getattr(sizes, key)
        most = across(a.solid, joint.seat_a, -ROOT, axis) - 2 * abs(middle)
        if value > most + 1e-6:
            raise JointError(joint.name, key, f"{value:.2f} mm", f"at most {most:.2f} mm, the size of {joint.a} there")
    if sizes.depth + sizes.bottom > room - (0.0 if through else 1.0) + 1e-6:
        least = room - sizes.bottom - (0.0 if through else 1.0)
        raise JointError(joint.name, "depth", f"{sizes.depth:.2f} mm",
                         f"at most {least:.2f} mm, {joint.b} is {room:.2f} mm through there")
    if sizes.depth >= a.length:
        raise JointError(joint.name, "depth", f"{sizes.depth:.2f} mm", f"less than {joint.a} is long")


def across(solid: Solid, seat: Frame, depth: float, axis: int) -> float:
    """Return how wide a solid is through a seat's axis line, mm, along its x (0) or y (1), `depth` mm along z."""
    middle = points(seat, (0.0, 0.0, depth))
    way = seat[:3, axis]
    return solid.chord(middle, way) + solid.chord(middle, -way)


def prism_on(seat: Frame, sizes: TenonSizes, fit: float, low: float, high: float) -> Solid:
    """Return the tenon's section, widened by `fit` each side, swept along a seat's z, in the part's frame."""
    w, t = sizes.width / 2 + fit, sizes.thickness / 2 + fit
    return box((sizes.shift - w, sizes.offset - t, low), (sizes.shift + w, sizes.offset + t, high)).moved(seat)


def rooted(joint: Joint, a: Blank, tenon: Solid) -> Solid:
    """Return the tenon without what its root would show outside a body that meets it at an angle."""
    square = abs(float(joint.seat_a[:3, 2] @ a.grain)) > 1.0 - 1e-9
    if square:
        return tenon
    behind = box((-FAR, -FAR, -2 * ROOT), (FAR, FAR, -1e-3)).moved(joint.seat_a)
    return tenon.cut(behind.cut(a.solid))


def cope(joint: Joint, a: Blank) -> tuple[Feature, ...]:
    """Return the cut that brings a's end to the meeting plane, where its blank runs past it."""
    local = points(inverse(joint.seat_a), a.solid.mesh[0])
    past = local[:, 2] > 1e-6
    near = np.hypot(local[:, 0], local[:, 1]) < math.hypot(a.width, a.thickness) * 4
    if not np.any(past & near):
        return ()
    reach = float(local[past & near, 2].max()) + OVERSHOOT
    wide = math.hypot(a.width, a.thickness) * 4
    waste = box((-wide, -wide, 0.0), (wide, wide, reach)).moved(joint.seat_a)
    return (Feature(f"shoulder of {joint.name}", "cut", waste, "shoulder", joint.name, frame=joint.seat_a),)


BLIND = _MortiseAndTenon("blind tenon", "a tenon that stops inside the mortised piece", through=False)
THROUGH = _MortiseAndTenon("through tenon", "a tenon that shows on the far side, flush", through=True)
