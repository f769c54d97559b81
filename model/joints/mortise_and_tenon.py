"""Blind and through mortise and tenon.

Part `a` carries the tenon, part `b` the mortise. Defaults: tenon a third of the mortised
piece in thickness, no wider than five times its thickness, two thirds of the mortised
piece deep when blind, 2 mm short of the bottom (common practice, no source; which of the two
pieces the third refers to is disputed, so it can be given).
The shoulder may lean: the tenon then stands square to the face it meets, or runs along the
grain of the piece it grows from (`run = "grain"`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from model.errors import JointError
from model.frames import Frame
from model.joint import Joint, Work
from model.joints.lean import Lean, lean_of
from model.joints.measures import (
    LEAST_WOOD,
    across,
    ahead,
    at_most,
    far_side,
    positive,
    refuse_fit,
    slope,
    span,
)
from model.joints.tenons import (
    BOTTOM,
    DEEP,
    SHOULDER_LEAST,
    WIDTH_MOST,
    Section,
    cope,
    flush,
    inside,
    refuse_short,
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
class _Cut:
    """A tenon in a's frame, its mortise in b's, and how far they reach into each other, mm."""

    tenon: Solid
    mortise: Solid
    travel: float


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
        lean = lean_of(joint, a)
        leaning = replace(joint, seat_a=joint.seat_a @ lean.turn, seat_b=joint.seat_b @ lean.turn)
        sizes = tenon_sizes(leaning, a, b, lean, through=self.through)
        cut = (_through if self.through else _blind)(leaning, a, b, sizes, lean)
        return Work(
            a=(*cope(joint, a), Feature(f"tenon of {joint.name}", "add", cut.tenon, "tenon", joint.name,
                                        frame=leaning.seat_a)),
            b=(Feature(f"mortise of {joint.name}", "cut", cut.mortise, "mortise", joint.name,
                       frame=leaning.seat_b),),
            travel=cut.travel,
            turn=lean.turn,
        )


def tenon_sizes(joint: Joint, a: Blank, b: Blank, lean: Lean, *, through: bool) -> TenonSizes:
    """Return the tenon's sizes: what was given, else the trade's proportions; JointError when it cannot be.

    The joint's seats are turned by the lean already.
    """
    given = joint.sizes
    shift, offset = given.get("shift", 0.0), given.get("offset", 0.0)
    surface = lean.height(shift, offset)
    depth, bottom = _depth(joint, a, b, surface + ahead(b, joint.seat_b, shift, offset, surface), through)
    x, y = (_window(joint, a, axis, depth, lean.most(a)) for axis in (0, 1))
    short_way, long_way = 2 * min(y[1] - offset, offset - y[0]), 2 * min(x[1] - shift, shift - x[0])
    cheeks = across(b, joint.seat_b, 1, surface + min(1.0, (depth - surface) / 2))
    third = min((cheeks[1] - cheeks[0]) / 3.0, short_way - 2 * SHOULDER_LEAST)
    thickness = at_most(joint, "thickness", given.get("thickness", third), short_way, joint.a)
    shouldered = min(long_way - 2 * max(SHOULDER_LEAST, thickness / 4), WIDTH_MOST * thickness)
    width = at_most(joint, "width", given.get("width", shouldered), long_way, joint.a)
    return TenonSizes(thickness, width, depth, bottom, shift, offset)


def _depth(joint: Joint, a: Blank, b: Blank, room: float, through: bool) -> tuple[float, float]:
    """Return how far the tenon reaches and the room left below it, mm."""
    if not ahead(b, joint.seat_b) > 0:
        raise JointError(joint.name, "into", f"a place beside {joint.b}", f"a place on the wood of {joint.b}")
    if room <= 0:
        at = tuple(joint.sizes.get(key, 0.0) for key in ("shift", "offset"))
        raise JointError(joint.name, "shift" if at[0] else "offset", "{:.2f}, {:.2f} mm".format(*at),
                         f"a middle of the tenon on the wood of {joint.b}")
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


def _window(joint: Joint, a: Blank, axis: int, depth: float, rise: float) -> tuple[float, float]:
    """Return where along x or y a tenon can lie so that it can be sawn out of the piece, root and end, mm."""
    low, high = span(a, joint.seat_a, axis, ROOT + rise)
    if high - low <= 0:
        raise JointError(joint.name, "from", f"a place {joint.a} does not reach", f"a place on an end of {joint.a}")
    drift = float(slope(a, joint.seat_a)[axis]) * depth
    return low + max(0.0, drift), high + min(0.0, drift)


def _blind(joint: Joint, a: Blank, b: Blank, sizes: TenonSizes, lean: Lean) -> _Cut:
    """Return a tenon that stops in b."""
    of, wide, below = sizes.section, sizes.section.widened(joint.fit), lean.most(a)
    refuse_short(joint, sizes.depth, lean.highest(wide))
    level = max(0.9 * sizes.depth, (sizes.depth + lean.highest(wide)) / 2)
    inside(joint, b, wide, level, sizes.depth + sizes.bottom)
    tenon = tenon_on(a, joint.seat_a, of, sizes.depth, ROOT + below)
    mortise = wide.swept(joint.seat_b, -OVERSHOOT - below, sizes.depth + sizes.bottom)
    return _Cut(tenon, mortise, sizes.depth - lean.lowest(of))


def _through(joint: Joint, a: Blank, b: Blank, sizes: TenonSizes, lean: Lean) -> _Cut:
    """Return a tenon that comes out of b, flush unless its depth is given."""
    of, wide, below = sizes.section, sizes.section.widened(joint.fit), lean.most(a)
    far = far_side(b, joint.seat_b, sizes.shift, sizes.offset, lean.height(sizes.shift, sizes.offset))
    ends = [far.distance(x, y) for x, y in wide.corners] if far else []
    refuse_short(joint, min(sizes.depth, *ends), lean.highest(wide))
    level = (min(sizes.depth, *ends) + lean.highest(wide)) / 2
    inside(joint, b, wide, level)
    last = max(sizes.depth, *(level + ahead(b, joint.seat_b, x, y, level) for x, y in wide.corners))
    mortise = wide.swept(joint.seat_b, -OVERSHOOT - below, last + OVERSHOOT)
    if "depth" in joint.sizes or (far and far.square and last - sizes.depth < 1e-6):
        tenon = tenon_on(a, joint.seat_a, of, sizes.depth, ROOT + below)
        return _Cut(tenon, mortise, sizes.depth - lean.lowest(of))
    tenon = flush(joint, tenon_on(a, joint.seat_a, of, last + 1.0, ROOT + below), b, of, level, last + 2.0)
    return _Cut(tenon, mortise, max(level + ahead(b, joint.seat_b, x, y, level) - lean.height(x, y)
                                    for x, y in of.corners))


BLIND = _MortiseAndTenon("blind tenon", "a tenon that stops inside the mortised piece", through=False)
THROUGH = _MortiseAndTenon("through tenon", "a tenon that shows on the far side, flush", through=True)
