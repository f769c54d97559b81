"""Bridle: an open mortise and tenon over the whole width of the pieces.

The seat lies where a tenon's shoulder would: on the side of part b that a comes to, z the way
a slides, x the long way. One piece carries the fork: part b, whose slot takes a tongue of a
(a corner), or part a, which stands astride what is left of b's middle (a T). Tongue and slot
are a third of the thinner piece unless given (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from model.errors import JointError
from model.frames import Frame
from model.joint import Joint, Work
from model.joints.measures import LEAST_WOOD, FarSide, across, far_side, positive, refuse_fit, span
from model.joints.tenons import Section, cope, tenon_on, too_deep
from model.part import Blank, Feature
from model.solids import OVERSHOOT, Solid

SEAM = 1e-3
"""Cutters run this far past a side they share with the piece that goes in, mm."""

SIZES = {
    "thickness": "the tongue; a third of the thinner piece unless given",
    "depth": "how far the pieces reach into each other; right through the second piece unless given",
    "offset": "how far the tongue lies off the middle of the first piece, along its thickness",
    "fork": "a: the first piece is forked and stands astride the second, the default where the second runs on past "
            "it both ways (a T); b: the second is slotted for a tongue of the first, the default at its end (a corner)",
}


@dataclass(frozen=True)
class _Sizes:
    """The whole section of a at its shoulder, the tongue's two sides along y, b's far side: mm in the seat."""

    x: tuple[float, float]
    y: tuple[float, float]
    tongue: tuple[float, float]
    depth: float
    far: FarSide | None
    """Where b ends ahead, for pieces that reach right through it."""

    def reach(self, bottom: float) -> float:
        """Return how deep a cutter must go so that all of the section clears, mm."""
        if self.far is None:
            return self.depth + bottom
        return max(self.far.distance(x, y) for x in self.x for y in self.y) + OVERSHOOT


@dataclass(frozen=True)
class _Bridle:
    name: str = "bridle"
    says: str = "an open mortise and tenon over the whole width, at a corner or as a T"
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: {"fork": ("a", "b")})

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        refuse_fit(joint)
        sizes = _sizes(joint, a, b)
        fork = joint.sizes.get("fork") or ("a" if _runs_on(joint, b, sizes) else "b")
        grown, taken = (_astride if fork == "a" else _tongued)(sizes, joint.fit, max(b.width, b.thickness))
        tenons = tuple(Feature(f"tenon of {joint.name}", "add", _grown(joint, a, of, sizes), "tenon", joint.name,
                               frame=joint.seat_a) for of in grown)
        slots = tuple(Feature(f"slot of {joint.name}", "cut",
                              of.swept(joint.seat_b, -OVERSHOOT, sizes.reach(joint.fit)), "slot", joint.name,
                              frame=joint.seat_b) for of in taken)
        if b.solid.cut(*(f.solid for f in slots)).pieces != 1:
            raise JointError(joint.name, "fork", fork, f"slots that leave {joint.b} in one piece: a seat square to it, "
                                                       "or the other fork")
        return Work(a=(*cope(joint, a), *tenons), b=slots, travel=sizes.depth)


def _tongued(sizes: _Sizes, fit: float, wide: float) -> tuple[list[Section], list[Section]]:
    """Return the section of a's tongue and that of the slot for it across b."""
    (x0, x1), (t0, t1), side = sizes.x, sizes.tongue, max(fit, SEAM)
    return [Section((x0, t0), (x1, t1))], [Section((x0 - side, t0 - fit), (x1 + side, t1 + fit))]


def _astride(sizes: _Sizes, fit: float, wide: float) -> tuple[list[Section], list[Section]]:
    """Return the sections of a's two prongs and those of the two notches for them in the sides of b."""
    (x0, x1), (y0, y1), (t0, t1), side = sizes.x, sizes.y, sizes.tongue, max(fit, SEAM)
    out = max(-y0, y1) + wide + OVERSHOOT
    prongs = [Section((x0, y0), (x1, t0 - fit)), Section((x0, t1 + fit), (x1, y1))]
    return prongs, [Section((x0 - side, -out), (x1 + side, t0)), Section((x0 - side, t1), (x1 + side, out))]


def _grown(joint: Joint, a: Blank, of: Section, sizes: _Sizes) -> Solid:
    """Return what a puts out past its shoulder, flush with b's far side where it reaches through, in a's frame."""
    if sizes.far is None or sizes.far.square:
        return tenon_on(a, joint.seat_a, of, sizes.depth)
    at, normal = sizes.far.plane(joint.seat_a)
    return tenon_on(a, joint.seat_a, of, sizes.reach(0.0)).split_at(at, -normal)


def _sizes(joint: Joint, a: Blank, b: Blank) -> _Sizes:
    offset = joint.sizes.get("offset", 0.0)
    far = far_side(b, joint.seat_b, 0.0, offset)
    if far is None:
        raise JointError(joint.name, "into", f"a place beside {joint.b}", f"a place on the wood of {joint.b}")
    room = far.distance(0.0, offset)
    x, y = span(a, joint.seat_a, 0), span(a, joint.seat_a, 1)
    if x[1] - x[0] <= 0:
        raise JointError(joint.name, "from", f"a place {joint.a} does not reach", f"a place on an end of {joint.a}")
    depth = positive(joint, "depth", joint.sizes.get("depth", room))
    if depth > room + 1e-6:
        raise too_deep(joint, joint.b, depth, room, 0.0)
    cheeks = across(b, joint.seat_b, 1, room / 2, 0.0, offset)
    thickness = positive(joint, "thickness", joint.sizes.get("thickness", min(y[1] - y[0], cheeks[1] - cheeks[0]) / 3))
    tongue = (offset - thickness / 2, offset + thickness / 2)
    _refuse_thin(joint, joint.a, y, tongue)
    _refuse_thin(joint, joint.b, cheeks, tongue)
    return _Sizes(x, y, tongue, depth, far if depth > room - 1e-6 else None)


def _refuse_thin(joint: Joint, name: str, wood: tuple[float, float], tongue: tuple[float, float]) -> None:
    """Raise JointError where one of the two outer thirds would have less than LEAST_WOOD left."""
    spare = LEAST_WOOD + joint.fit
    if tongue[0] - spare < wood[0] - 1e-6 or tongue[1] + spare > wood[1] + 1e-6:
        most = 2 * min(sum(tongue) / 2 - wood[0], wood[1] - sum(tongue) / 2) - 2 * spare
        raise JointError(joint.name, "thickness", f"{tongue[1] - tongue[0]:.2f} mm",
                         f"at most {max(0.0, most):.2f} mm, {LEAST_WOOD:g} mm of {name} left each side of the tongue")


def _runs_on(joint: Joint, b: Blank, sizes: _Sizes) -> bool:
    """Return whether b runs on past a both ways."""
    low, high = across(b, joint.seat_b, 0, sizes.depth / 2, 0.0, sum(sizes.tongue) / 2)
    return low < sizes.x[0] - LEAST_WOOD and high > sizes.x[1] + LEAST_WOOD


BRIDLE = _Bridle()
