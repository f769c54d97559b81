"""What is said of feet that do not stand: how far they are off the ground, how much to cut, at which angle."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import acos, degrees

import numpy as np

from assembly.checks.proud_steps import ROUNDING, STANDS_OUT
from assembly.checks.wording import listed, place, small
from assembly.feet import TILT, Foot, Stance, stance
from assembly.findings import Amount, Finding
from assembly.placing import Assembly
from assembly.surface import surface
from model.part import Part

ROCKS = 0.005
"""Work that settles by less than this, degrees, does not rock."""
SQUARE = 0.005
"""An end cut within so many degrees of square is called square."""
FEW = 4
"""So many other feet may be cut down to one that is short; of more, the one is shimmed."""


def on_feet(assembly: Assembly) -> Iterator[Finding]:
    """Yield what is said of feet that do not stand in the plane of the others, or not on their whole face."""
    stands = stance(assembly)
    if stands is None:
        return
    alike: dict[object, list[_Odd]] = {}
    for foot, off, tilt in stands.off:
        odd = _Odd(assembly, stands, foot, off, tilt)
        if odd.is_off or tilt >= TILT - ROUNDING:
            alike.setdefault(odd.same, []).append(odd)
    for same in alike.values():
        yield _told(assembly, same)


@dataclass(frozen=True, eq=False)
class _Odd:
    """A foot that does not stand: how far its middle is above the ground, mm, and how far out of parallel, rad."""

    assembly: Assembly
    stands: Stance
    foot: Foot
    off: float
    tilt: float

    @property
    def part(self) -> Part:
        return self.assembly.part(self.foot.part)

    @property
    def is_off(self) -> bool:
        """Whether it is off the plane that others stand in; where none stands in it there is no telling."""
        return bool(self.stands.firm) and abs(self.off) >= STANDS_OUT - ROUNDING

    @property
    def askew(self) -> bool:
        return self.tilt >= TILT - ROUNDING

    @property
    def same(self) -> object:
        return self.part.group, self.is_off and round(self.off, 2), round(degrees(self.tilt), 2)

    @cached_property
    def slope(self) -> float:
        """The angle between the part's grain and the plumb line, rad."""
        grain = self.assembly.frames[self.foot.part][:3, :3] @ self.part.blank.grain
        return acos(min(1.0, abs(float(grain @ self.stands.ground.down))))

    @property
    def endwise(self) -> str:
        """The end of the part that the foot is, "" where it is one of its long sides."""
        name = surface(self.part).place(self.foot.face)
        return name if name in ("start", "end") else ""

    @property
    def along(self) -> float:
        """How far it is off along the part's grain, mm."""
        return abs(self.off) / np.cos(self.slope) if self.endwise else abs(self.off)

    @property
    def open(self) -> float:
        """How far the foot's high edge is off the ground when the low one stands on it, mm."""
        high = self.stands.ground.above(self.foot.corners)
        return float(high.max() - high.min())


def _told(assembly: Assembly, same: Sequence[_Odd]) -> Finding:
    first, names = same[0], tuple(o.foot.part for o in same)
    lowest = first.foot.corners[int(np.argmax(first.foot.corners @ first.stands.ground.down))]
    where = place(first.foot.middle if first.is_off else lowest)
    if not first.is_off:
        message, remedy = _askew(assembly, first, names)
        return Finding("proud", "warn", names, message, remedy, where, Amount(round(degrees(first.tilt), 4), "deg"))
    message, remedy = _off(assembly, first, names)
    return Finding("proud", "warn", names, message, remedy, where, Amount(round(abs(first.off), 4), "mm"))


def _askew(assembly: Assembly, odd: _Odd, names: Sequence[str]) -> tuple[str, str]:
    one = len(names) == 1
    tilt, gap = f"{degrees(odd.tilt):.2f} degrees", small(odd.open, assembly.design.unit)
    message = (f"The {'foot' if one else 'feet'} of {listed(names)} {'is' if one else 'are'} {tilt} out of parallel to "
               f"the ground: {'it stands' if one else 'they stand'} on an edge, the other edge {gap} up.")
    if odd.endwise:
        angle = f"{degrees(odd.slope):.2f} degrees from square" if degrees(odd.slope) >= SQUARE else "square"
        return message, f"Cut {'it' if one else 'them'} {tilt} the other way, which is {angle}, for the ground."
    return message, f"Plane {gap} off the low edge, running out to nothing at the high one."


def _off(assembly: Assembly, odd: _Odd, names: Sequence[str]) -> tuple[str, str]:
    one, says = len(names) == 1, small(abs(odd.off), assembly.design.unit)
    firm = odd.stands.firm
    others = listed(firm) if len(firm) <= FEW else f"the other {len(firm)} feet"
    word = "short of" if odd.off > 0 else "below"
    askew = f" and {'is' if one else 'are'} {degrees(odd.tilt):.2f} degrees out of parallel to it" if odd.askew else ""
    ends = "ends" if one else "end"
    message = (f"{listed(names)} {ends if odd.off > 0 else 'reaches' if one else 'reach'} {says} {word} the ground on "
               f"which {others} {'stands' if len(firm) == 1 else 'stand'}{askew}{_rocks(odd)}.")
    if odd.off < 0:
        length = f", to {small(odd.part.blank.length - odd.along, assembly.design.unit)} long" if odd.endwise else ""
        return message, f"Shorten {listed(names)} by {small(odd.along, assembly.design.unit)}{length}."
    shim = f"Put {says} under {listed(names)}"
    if odd.endwise:
        shim = f"Cut {listed(names)} anew, {small(odd.along, assembly.design.unit)} longer, or put {says} under it"
    return message, f"{shim}, or take {says} off {others}." if len(firm) <= FEW else f"{shim}."


def _rocks(odd: _Odd) -> str:
    if odd.stands.rests is None:
        return ""
    lean = degrees(odd.stands.ground.tilt(odd.stands.rests.down))
    return f"; left to itself the work rocks, or leans by {lean:.2f} degrees" if lean >= ROCKS else ""
