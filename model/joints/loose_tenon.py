"""Loose tenon: both pieces mortised alike, with a tenon of its own between them.

The tenon is a part: its grain runs along the seat's z, half of it in each piece, with room
left at both ends. The two pieces meet on the shoulder plane; each half of the tenon is a
joint of its own, so that the tenon can be glued into one piece first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from model.errors import JointError
from model.frames import Frame, X, inverse, snapped, turn
from model.joint import Joint, Work
from model.joints.measures import ahead, at_most, positive, refuse_fit, slope, span
from model.joints.tenons import BOTTOM, DEEP, SHOULDER_LEAST, WIDTH_MOST, Section, cope, inside, section
from model.part import Blank, Feature, Part
from model.shapes.board import board
from model.solids import OVERSHOOT
from model.stock import Stock

LENGTH_MOST = 4.0
"""Half of a loose tenon is by default at most this many times as long as it is thick (common practice, no source)."""

SIZES = {
    "thickness": "short way of the tenon's section; a third of the thinner piece unless given",
    "width": "long way of the tenon's section; the narrower piece less a shoulder each side, five times the "
             "thickness at most, unless given",
    "length": "the whole tenon, half in each piece; unless given two thirds of the narrower piece in each, four "
              "times the thickness at most",
    "bottom": "room between each end of the tenon and the bottom of its mortise; 2 mm unless given",
    "shift": "how far the tenon lies off the middle, along its width",
    "offset": "how far the tenon lies off the middle, along its thickness",
}


@dataclass(frozen=True)
class _Sizes:
    thickness: float
    width: float
    length: float
    bottom: float
    shift: float
    offset: float


@dataclass(frozen=True)
class _LooseTenon:
    name: str = "loose tenon"
    says: str = "both pieces mortised, with a tenon of its own between them"
    sizes: Mapping[str, str] = field(default_factory=lambda: SIZES)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        sizes = _sizes(joint, a, b)
        of = section(sizes.width, sizes.thickness, sizes.shift, sizes.offset).widened(joint.fit)
        reach = sizes.length / 2 + sizes.bottom
        inside(replace(joint, b=joint.a, seat_b=_turned(joint.seat_a)), a, _flipped(of), 0.45 * sizes.length, reach)
        inside(joint, b, of, 0.45 * sizes.length, reach)
        in_a = of.swept(joint.seat_a, -reach, OVERSHOOT)
        in_b = of.swept(joint.seat_b, -OVERSHOOT, reach)
        tenon = _tenon(joint, a, sizes)
        return Work(
            a=(*cope(joint, a), Feature(f"mortise of {joint.name}", "cut", in_a, "mortise", joint.name,
                                        frame=joint.seat_a)),
            b=(Feature(f"mortise of {joint.name}", "cut", in_b, "mortise", joint.name, frame=joint.seat_b),),
            travel=sizes.length / 2,
            parts=(tenon,),
            joints=_halves(joint, tenon.name, sizes),
        )


@dataclass(frozen=True)
class _TenonHalf:
    """Half of a loose tenon in its mortise: already cut, never declared by itself."""

    name: str = "tenon half"
    says: str = "one half of a loose tenon in its mortise"
    sizes: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        return 0.0, 0.0

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        return Work(travel=joint.travel)


def _sizes(joint: Joint, a: Blank, b: Blank) -> _Sizes:
    refuse_fit(joint)
    given = joint.sizes
    reach = min(_reach(joint, joint.a, a, joint.seat_a), _reach(joint, joint.b, b, _turned(joint.seat_b)))
    shift, offset = given.get("shift", 0.0), given.get("offset", 0.0)
    y = _window(joint, a, b, 1, 0.0)
    third = positive(joint, "thickness", given.get("thickness", (y[1] - y[0]) / 3.0))
    length, bottom = _length(joint, reach, third)
    x, y = (_window(joint, a, b, axis, length / 2 + bottom) for axis in (0, 1))
    wide, thick = 2 * min(x[1] - shift, shift - x[0]), 2 * min(y[1] - offset, offset - y[0])
    both = f"both {joint.a} and {joint.b}"
    thickness = at_most(joint, "thickness", third, thick, both)
    shouldered = min(wide - 2 * max(SHOULDER_LEAST, thickness / 4), WIDTH_MOST * thickness)
    width = at_most(joint, "width", given.get("width", shouldered), wide, both)
    return _Sizes(thickness, width, length, bottom, shift, offset)


def _length(joint: Joint, reach: float, thickness: float) -> tuple[float, float]:
    """Return how long the whole tenon is and the room at each end of it, mm."""
    length = joint.sizes.get("length", 2 * min(DEEP * reach, LENGTH_MOST * thickness))
    bottom = joint.sizes.get("bottom", BOTTOM)
    if not bottom >= 0:
        raise JointError(joint.name, "bottom", f"{bottom:.2f} mm", "0 mm or more")
    return positive(joint, "length", length), bottom


def _window(joint: Joint, a: Blank, b: Blank, axis: int, depth: float) -> tuple[float, float]:
    """Return where along the seat's x or y both pieces have wood from the shoulder down to a depth, mm."""
    one, other = (_kept(blank, seat, axis, depth) for blank, seat in ((a, joint.seat_a), (b, _turned(joint.seat_b))))
    return _common(one, other, axis)


def _kept(blank: Blank, seat: Frame, axis: int, depth: float) -> tuple[float, float]:
    """Return where a piece has wood all the way from a shoulder down, mm; a leaning one drifts to one side."""
    low, high = span(blank, seat, axis)
    drift = -depth * float(slope(blank, seat)[axis])
    return low + max(0.0, drift), high + min(0.0, drift)


def _reach(joint: Joint, name: str, blank: Blank, seat: Frame) -> float:
    """Return how much wood a piece has behind a seat for a mortise, no more than it is wide, mm."""
    room = ahead(blank, seat, back=True)
    if room <= 0:
        raise JointError(joint.name, "at", f"a place beside {name}", f"a place on the wood of {name}")
    return min(room, blank.width)


def _common(a: tuple[float, float], b: tuple[float, float], axis: int) -> tuple[float, float]:
    """Return what two spans share; the second is seen turned about x, so its y runs the other way."""
    low, high = (b[0], b[1]) if axis == 0 else (-b[1], -b[0])
    return max(a[0], low), min(a[1], high)


def _turned(seat: Frame) -> Frame:
    """Return a seat as the piece on its far side sees it."""
    return seat @ turn(X, np.pi)


def _flipped(of: Section) -> Section:
    return Section((of.low[0], -of.high[1]), (of.high[0], -of.low[1]))


def _tenon(joint: Joint, a: Blank, sizes: _Sizes) -> Part:
    species = a.stock.species
    stock = Stock(f"{species.name}, loose tenon", species, sizes.thickness, sizes.width)
    return Part(f"{joint.name}_tenon", board(stock, sizes.length), group="loose tenon")


def _halves(joint: Joint, tenon: str, sizes: _Sizes) -> tuple[Joint, Joint]:
    """Return the joints of the tenon's two halves: the tenon slides into a against z, into b along z."""
    in_seat = np.eye(4)
    in_seat[:3, :3] = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
    in_seat[:3, 3] = (sizes.shift, sizes.offset, -sizes.length / 2)
    seat = inverse(in_seat)

    def half(side: str, of: str, here: Frame, there: Frame) -> Joint:
        return Joint(f"{tenon}_{side}", TENON_HALF.name, tenon, of, snapped(here), snapped(there), joint.fit,
                     joint.glued, {}, sizes.length / 2, of=joint.name)

    return (half("a", joint.a, _turned(seat), _turned(joint.seat_a)), half("b", joint.b, seat, joint.seat_b))


LOOSE_TENON = _LooseTenon()
TENON_HALF = _TenonHalf()
