"""Pushing home: where a piece stops that does not go all the way into its joint.

Two parts whose seats are brought together may want the same wood: a tenon is longer than its
mortise is deep. At the bench the piece then stops at whatever it meets first, and what hangs on it
stands off by as much. So the piece is backed out of its joint and slid in again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from assembly.bites import TOLERANCE, bites
from assembly.meeting import Meeting, larger_stays
from assembly.motion import Bodies
from assembly.shrink import DELTA
from assembly.sliding import covering, facing, shared_gaps
from model.design import Design
from model.frames import Frame, Vector, inverse, move, snapped
from model.joint import Joint
from model.part import ALL, Feature, Part
from model.solids import Solid

MOUTH = 0.5
"""A piece that gets no farther than this past where it first meets the other, mm, has not entered its joint."""
MARGIN = 1.0
"""A piece is backed out this much farther than its joint is engaged, mm."""
LEANING = 0.5
"""Shrinking a mover makes it stop late by at most this, mm, on faces up to 88 degrees from square to its way."""


class Home:
    """Two shapes as a joint closes them: equal for joints alike between shapes alike.

    `seat_a`, `seat_b` (4, 4) in their own frames; a stands `off` mm short of home; `swapped`: part b comes first in
    the design. Made to be the key of a cache.
    """

    __slots__ = ("a", "b", "key", "off", "seat_a", "seat_b", "swapped")

    def __init__(self, a: Solid, b: Solid, joint: Joint, off: float, swapped: bool) -> None:
        self.a, self.b, self.off, self.swapped = a, b, off, swapped
        self.seat_a = snapped(joint.seat_a @ move(z=off)) if off else joint.seat_a
        self.seat_b = joint.seat_b
        self.key = (a.key, b.key, self.seat_a.tobytes(), self.seat_b.tobytes(), swapped)

    def __hash__(self) -> int:
        return hash(self.key)

    def __eq__(self, other: object) -> bool:
        return self is other or (isinstance(other, Home) and other.key == self.key)

    @property
    def b_in_a(self) -> Frame:
        """The frame that carries b's own frame into a's."""
        return snapped(self.seat_a @ inverse(self.seat_b))

    @property
    def a_in_b(self) -> Frame:
        """The frame that carries a's own frame into b's."""
        return snapped(self.seat_b @ inverse(self.seat_a))

    @property
    def met(self) -> Meeting:
        """How the two meet, as everything that looks at all pairs of parts sees it."""
        if self.swapped:
            return larger_stays(self.b, self.a, self.b_in_a, self.a_in_b)
        return larger_stays(self.a, self.b, self.a_in_b, self.b_in_a)


@dataclass(frozen=True, eq=False)
class Pushed:
    """What pushing every joint of a design home came to.

    `standoffs`: how far part a of a joint stops short of home, mm, for the joints in which it
    does. `shifts`: how far each part a stands off along its way, mm, less than nothing where it goes in deeper:
    a loose tenon may lie nearer to one of its ends than drawn. `homes`: the two shapes of each joint
    that has something to slide into.
    """

    standoffs: Mapping[str, float]
    shifts: Mapping[str, float]
    homes: Mapping[str, Home]

    def stopped(self, joint: Joint) -> Joint:
        """Return a joint with the seat of part a where a stops: itself when a goes home."""
        mm = self.shifts.get(joint.name, 0.0)
        return replace(joint, seat_a=snapped(joint.seat_a @ move(z=mm))) if mm else joint


@lru_cache(maxsize=32)
def pushed(design: Design) -> Pushed:
    """Push every joint home and return what came of it.

    Each joint is looked at by itself, as its two parts are when it is closed; a loose tenon in
    both its mortises at once. A piece that does not even enter its joint is left home: then it is
    in the other's wood. Not looked at: joints with nothing to slide into; what third parts stop;
    parts whose walls are too thin to tell.
    """
    shapes = _Shapes(design)
    halves: dict[str, list[Joint]] = {}
    shifts: dict[str, float] = {}
    for joint in design.joints:
        if joint.of is not None:
            halves.setdefault(joint.of, []).append(joint)
        elif (short := shapes.short(joint)) > 0.0:
            shifts[joint.name] = short
    standing = dict(shifts)
    for of, pair in halves.items():
        between = _between(shapes, pair)
        shifts |= {joint.name: mm for joint, mm in zip(pair, between, strict=True) if mm}
        if (apart := sum(between)) > TOLERANCE:
            shifts[of] = standing[of] = round(shifts.get(of, 0.0) + apart, 6)
    return Pushed({j.name: standing[j.name] for j in design.joints if j.name in standing}, shifts,
                  {**shapes.homes, **{n: shapes.home(design.joint[n], mm) for n, mm in shifts.items()}})


def _between(shapes: _Shapes, halves: Sequence[Joint]) -> list[float]:
    """Return how far a loose tenon stands off in each of its mortises, mm, where it is too long for one of them."""
    short = [shapes.short(joint) for joint in halves]
    if len(halves) != 2 or (short[0] > 0.0) == (short[1] > 0.0):
        return short
    first = 0 if short[0] > 0.0 else 1
    room = min(short[first], shapes.room(halves[1 - first]))
    short[1 - first] = -room
    return short


class _Shapes:
    """The solids of a design's parts as they are when a joint is closed."""

    def __init__(self, design: Design) -> None:
        self._parts = design.part
        self._done = {name: done for stage in design.stages for done in (design.behind(stage.name),)
                      for name in stage.joints}
        self._order = {p.name: k for k, p in enumerate(design.parts)}
        self._known: dict[tuple[str, frozenset[str]], Solid] = {}
        self._short: dict[Home, float] = {}
        self._alike: dict[Home, Home] = {}
        self.homes: dict[str, Home] = {}

    def short(self, joint: Joint) -> float:
        """How far part a of a joint stops short of home, mm; joints alike between parts alike are pushed once."""
        if joint.travel <= 0.0:
            return 0.0
        home = self.homes[joint.name] = self.home(joint)
        if home not in self._short:
            overlap = any(bite.told for bite in bites(home.met))
            self._short[home] = self._stops(joint, home.a, home.b) if overlap else 0.0
        return self._short[home]

    def home(self, joint: Joint, off: float = 0.0) -> Home:
        """The two shapes of a joint, with part a a little off home."""
        swapped = self._order[joint.a] > self._order[joint.b]
        home = Home(self.of(joint.a, joint), self.of(joint.b, joint), joint, off, swapped)
        return self._alike.setdefault(home, home)

    def _stops(self, joint: Joint, a: Solid, b: Solid) -> float:
        """How far short of home a stops, mm; 0 where it goes home or does not enter."""
        out = self.reach(joint)
        gone = _travel(joint, a, b, out)
        short = out - gone
        if short <= TOLERANCE or not self._enters(joint, a, b, out, gone):
            return 0.0
        return round(short, 6)

    def _enters(self, joint: Joint, a: Solid, b: Solid, out: float, gone: float) -> bool:
        """Whether a gets farther than it would if the joint had taken nothing out of b, or nothing out of a."""
        whole_a, whole_b = self.uncut(joint.a, joint), self.uncut(joint.b, joint)
        mouth = max(_travel(joint, a, whole_b, out), 0.0 if whole_a is a else _travel(joint, whole_a, b, out))
        return gone > mouth + MOUTH

    def room(self, joint: Joint) -> float:
        """How far part a of a joint could go in past its place, mm."""
        out = self.reach(joint)
        gone = _travel(joint, self.of(joint.a, joint), self.of(joint.b, joint), out)
        return max(0.0, round(gone - out, 6))

    def done(self, joint: Joint) -> frozenset[str]:
        """The stages behind the parts when a joint is closed."""
        return self._done.get(joint.name, ALL)

    def of(self, name: str, joint: Joint) -> Solid:
        """A part of a joint when that is closed."""
        part, done = self._parts[name], self.done(joint)
        key = (name, done)
        if key not in self._known:
            later = any(f.after is not None for f in part.features)
            self._known[key] = part.solid(done) if later else part.finished
        return self._known[key]

    def uncut(self, name: str, joint: Joint) -> Solid:
        """A part of a joint without what the joint takes out of it."""
        part = self._parts[name]
        taken = [f for f in _cut_for(part, joint) if f.operation != "add" and f.role != "shoulder"]
        if not taken:
            return self.of(name, joint)
        return replace(part, features=tuple(f for f in part.features if f not in taken)).solid(self.done(joint))

    def reach(self, joint: Joint) -> float:
        """How far along its way a must be backed out to be clear of b, mm."""
        tenons = [f.solid for f in _cut_for(self._parts[joint.a], joint) if f.operation == "add"]
        if joint.of is not None:
            tenons.append(self.of(joint.a, joint))
        pockets = [f.solid for f in _cut_for(self._parts[joint.b], joint)]
        return MARGIN + max([joint.travel, *(_along(s, joint.seat_a)[1] for s in tenons),
                             *(-_along(s, joint.seat_b)[0] for s in pockets)])


def _cut_for(part: Part, joint: Joint) -> list[Feature]:
    return [f for f in part.features if f.joint is not None and f.joint in (joint.name, joint.of)]


def _along(solid: Solid, seat: Frame) -> tuple[float, float]:
    low, high = solid.bounds_in(seat)[:, 2].tolist()
    return low, high


def _travel(joint: Joint, a: Solid, b: Solid, out: float) -> float:
    """Return how far a slides home from `out` mm before home until b stops it, mm."""
    way, back = joint.seat_a[:3, 2], move(*(-out * joint.seat_a[:3, 2]))
    pair = Bodies(("a", "b"), (a, b), np.array([back, joint.b_in_a]))
    travel = pair.travel([0], [1], way)
    if not travel.told:
        return out
    return _exact(a, back, b, joint.b_in_a, way, travel.mm)


def _exact(a: Solid, at: Frame, b: Solid, there: Frame, way: Vector, near: float) -> float:
    """Return the travel for the mover as it is, given nearly what it is for the mover less a hair.

    A face that leans moves back along the way by more than the hair.
    """
    if not np.isfinite(near):
        return near
    front, back = facing(a, at, way, True), facing(b, there, way, False)
    least = near
    for f, g in covering(front, back):
        low, _ = shared_gaps(front[f], back[g])
        close = low[(low >= near - LEANING) & (low <= near + DELTA)]
        least = min(least, float(close.min(initial=least)))
    return least
