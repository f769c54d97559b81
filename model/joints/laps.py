"""Half lap and cross lap: each piece gives up the wood that the other takes.

The seat lies on the lap plane, z the way part a is laid onto part b. What a has beyond the
plane goes wherever b lies, what b has before the plane goes wherever a lies, both outlines
widened by the fit; the two laps touch on the plane itself. Half of each piece unless a depth
is given, so that equal boards come flush (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from model.errors import JointError
from model.frames import Frame
from model.joint import Joint, Work
from model.joints.measures import LEAST_WOOD, ahead, height, refuse_fit
from model.part import Blank, Feature
from model.solids import OVERSHOOT, silhouette

SIZES = {
    "depth": "how much is taken out of the first piece, half of it unless given; the second then gives up what "
             "is left of the first, so that their faces come flush",
}


@dataclass(frozen=True)
class _Lap:
    name: str
    says: str
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        thick_a, thick_b = ahead(a, seat_a, back=True), ahead(b, seat_b)
        if "depth" in sizes:
            return sizes["depth"], thick_a - sizes["depth"]
        return thick_a / 2.0, thick_b / 2.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        taken_a, taken_b = _taken(joint, a, b)
        low, high = height(b, joint.seat_b)[0], height(a, joint.seat_a)[1]
        from_a = silhouette(b.solid, joint.seat_b, joint.fit, 0.0, high + OVERSHOOT).moved(joint.seat_a)
        from_b = silhouette(a.solid, joint.seat_a, joint.fit, low - OVERSHOOT, 0.0).moved(joint.seat_b)
        return Work(
            a=(Feature(f"lap of {joint.name}", "cut", from_a, "lap", joint.name, frame=joint.seat_a),),
            b=(Feature(f"lap of {joint.name}", "cut", from_b, "lap", joint.name, frame=joint.seat_b),),
            travel=taken_a + taken_b,
        )


def _taken(joint: Joint, a: Blank, b: Blank) -> tuple[float, float]:
    """Return how much wood a and b give up at the seat, mm; JointError when one gives all or nothing."""
    refuse_fit(joint)
    found = []
    for name, blank, seat, back in ((joint.a, a, joint.seat_a, False), (joint.b, b, joint.seat_b, True)):
        taken, left = ahead(blank, seat, back=back), ahead(blank, seat, back=not back)
        if not taken > 0 or left < LEAST_WOOD - 1e-6:
            raise _cannot(joint, name, taken, left)
        found.append(taken)
    return found[0], found[1]


def _cannot(joint: Joint, name: str, taken: float, left: float) -> JointError:
    if "depth" in joint.sizes:
        return JointError(joint.name, "depth", f"{joint.sizes['depth']:.2f} mm",
                          f"more than 0 mm, and {LEAST_WOOD:g} mm less than either piece is thick: it takes "
                          f"{taken:.2f} mm out of {name} and leaves {left:.2f} mm")
    return JointError(joint.name, "at", f"takes {taken:.2f} mm out of {name} and leaves {left:.2f} mm",
                      f"a lap plane inside both pieces, with {LEAST_WOOD:g} mm of each left")


HALF_LAP = _Lap("half lap", "two pieces each halved where they meet, at an end or as a T")
CROSS_LAP = _Lap("cross lap", "two pieces each halved where they cross and run on")
