"""Joints: two seats that meet, an axis to slide along, a fit, glued or dry.

A joint does not know where its parts stand. It holds one seat in each part's own frame;
the joint is home when both seats are one. In a seat the origin lies on the meeting
plane, +z is the way part `a` slides to go home into part `b`, and x is the long way of
the tenon's section (or the lap's), y the short way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Protocol

from model.frames import Frame, identity, inverse, snapped
from model.part import Blank, Feature, Part


@dataclass(frozen=True, eq=False)
class Joint:
    """One joint, declared between two named parts.

    `seat_a`, `seat_b`: the seat in each part's own frame (4x4). `fit`: clearance per side,
    mm. `sizes`: what was given about its sizes, by name, in mm and radians; what is not
    given follows the trade's proportions. `glued` is False for a dry joint. `travel`: how
    far the joint is engaged along its axis, mm (filled in when it is cut).
    """

    name: str
    kind: str
    a: str
    b: str
    seat_a: Frame
    seat_b: Frame
    fit: float = 0.1
    glued: bool = True
    sizes: Mapping[str, Any] = field(default_factory=dict)
    travel: float = 0.0
    of: str | None = None
    """The joint this one is a half of (the two halves of a loose tenon)."""

    def seat(self, part: str) -> Frame:
        """Return the seat on one of its two parts, in that part's own frame."""
        return self.seat_a if part == self.a else self.seat_b

    def other(self, part: str) -> str:
        """Return the part it joins to one of its two."""
        return self.b if part == self.a else self.a

    @cached_property
    def b_in_a(self) -> Frame:
        """Return the frame that carries b's own frame into a's, with the joint home."""
        return snapped(self.seat_a @ inverse(self.seat_b))

    @cached_property
    def a_in_b(self) -> Frame:
        """Return the frame that carries a's own frame into b's, with the joint home."""
        return snapped(self.seat_b @ inverse(self.seat_a))


@dataclass(frozen=True, eq=False)
class Work:
    """What a joint asks for: features on each part, and parts and joints of its own (a loose tenon)."""

    a: tuple[Feature, ...] = ()
    b: tuple[Feature, ...] = ()
    travel: float = 0.0
    parts: tuple[Part, ...] = ()
    joints: tuple[Joint, ...] = ()
    turn: Frame = field(default_factory=identity)
    """Turns both seats about their own origin (seat @ turn), so that z is the way part a really slides; the
    parts stand where they stood. Only a tenon that leans in its shoulder asks for it."""


    def alike(self, joint: str) -> Work:
        """Return the same work for another joint between pieces alike, seated alike; only for work without parts."""
        return replace(self, a=tuple(_for(joint, f) for f in self.a), b=tuple(_for(joint, f) for f in self.b))


def _for(joint: str, feature: Feature) -> Feature:
    return replace(feature, name=f"{feature.role} of {joint}", joint=joint)


class JointKind(Protocol):
    """A kind of joint: one file under model/joints/, one line in its registry."""

    @property
    def name(self) -> str:
        """What a person writes in a design file, in the trade's words."""

    @property
    def says(self) -> str:
        """One line: what it is."""

    @property
    def sizes(self) -> Mapping[str, str]:
        """The sizes that may be given, each with one line on its meaning and default; names ending in
        _angle are angles, all others lengths unless listed in `words`."""

    @property
    def words(self) -> Mapping[str, tuple[str, ...]]:
        """The sizes that take a word, with the words they take."""

    def sink(self, sizes: Mapping[str, Any], a: Blank, b: Blank, seat_a: Frame, seat_b: Frame) -> tuple[float, float]:
        """Return how far the meeting plane lies inside a's and b's surfaces, mm, for seats that lie on them.

        A design file names places on the surface; a tenon's shoulder stays there (0, 0), a lap
        or a housing goes in.
        """
        ...

    def work(self, joint: Joint, a: Blank, b: Blank) -> Work:
        """Return the features the joint asks for; JointError when a size cannot be cut."""
        ...
