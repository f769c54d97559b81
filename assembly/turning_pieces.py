"""Pieces: what goes in as one at each glue-up, a part or what was glued before, and what it meets there and later."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from assembly.blocking import Unit
from assembly.given_stages import given
from assembly.placing import Assembly, standing_in
from assembly.standing import Meeting
from model.frames import Frame, identity, inverse, move, points
from model.joint import Joint
from model.part import ALL, Feature, Part
from model.solids import Solid

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Session:
    """One glue-up as pieces come to it: its place in the order, where all stand then, the stages behind it."""

    number: int
    name: str
    at: Assembly = field(repr=False)
    done: frozenset[str]
    joints: tuple[str, ...]
    units: tuple[Unit, ...]


@dataclass(frozen=True, eq=False)
class Tie:
    """One joint between a piece and a part outside it, as the piece sees it.

    `own` is the piece's part and `other` the part it meets; `session` the glue-up that closes
    it; `cuts` what is cut for it on the piece's part before the piece goes in, and so turns with the wood;
    `blank` is that part's box, low and high (2, 3), in its own frame.
    """

    joint: Joint
    own: str
    other: str
    session: Session
    cuts: tuple[Feature, ...]
    blank: Floats

    @property
    def cut(self) -> bool:
        """Whether its cut turns with the wood."""
        return bool(self.cuts)

    @property
    def cut_as(self) -> str:
        """What is cut for it, in the trade's words."""
        return ' '.join(sorted({f.role for f in self.cuts}))

    @property
    def seat(self) -> Frame:
        """The seat in the piece's part's own frame."""
        return self.joint.seat(self.own)

    @property
    def outward(self) -> float:
        """1 where the seat's z points out of the piece's part, -1 where it points into it."""
        return 1.0 if self.own == self.joint.a else -1.0

    @cached_property
    def middle(self) -> Frame:
        """The move (4, 4) from the seat to the middle of what is cut there, within the seat's plane."""
        boxes = [f.solid.bounds if f.operation == "add" else _common(f.solid.bounds, self.blank) for f in self.cuts]
        if not boxes:
            return identity()
        low, high = np.min([b[0] for b in boxes], axis=0), np.max([b[1] for b in boxes], axis=0)
        x, y, _ = points(inverse(self.seat), (low + high) / 2.0).tolist()
        return move(x, y)


@dataclass(frozen=True, eq=False)
class Piece:
    """What goes in as one: its parts, the glue-up it goes into, its ties there and its ties later."""

    parts: Unit
    session: Session
    now: tuple[Tie, ...]
    later: tuple[Tie, ...]


@lru_cache(maxsize=16)
def sessions(assembly: Assembly) -> tuple[Session, ...]:
    """Return the glue-ups in an order that works: those given, or all in one where the design gives none."""
    design = assembly.design
    if not design.stages:
        names = tuple(j.name for j in design.joints if j.a in assembly.frames and j.b in assembly.frames)
        units = tuple((n,) for n in assembly.names if n not in assembly.loose)
        return (Session(0, "", assembly, ALL, names, units),)
    return tuple(Session(k, bench.name, standing_in(assembly, bench.name), bench.done, bench.joints, bench.units)
                 for k, bench in enumerate(given(assembly).benches))


@lru_cache(maxsize=16)
def pieces(assembly: Assembly) -> tuple[Piece, ...]:
    """Return every piece that stays in the work, at the glue-up it first goes into as such."""
    plan = sessions(assembly)
    closing = {name: session for session in plan for name in session.joints}
    touching: dict[str, list[Joint]] = {}
    for joint in assembly.design.joints:
        if joint.name in closing:
            touching.setdefault(joint.a, []).append(joint)
            touching.setdefault(joint.b, []).append(joint)
    found = [_piece(assembly, unit, session, closing, touching) for session in plan for unit in session.units
             if not any(assembly.part(n).temporary for n in unit)]
    return tuple(p for p in found if p.now)


def _piece(assembly: Assembly, unit: Unit, session: Session, closing: dict[str, Session],
           touching: dict[str, list[Joint]]) -> Piece:
    inside = set(unit)
    ties = []
    for own in unit:
        for joint in touching.get(own, ()):
            other = joint.other(own)
            when = closing[joint.name]
            if other not in inside and when.number >= session.number:
                part = assembly.part(own)
                ties.append(Tie(joint, own, other, when, _cuts(part, joint, session.done), part.blank.solid.bounds))
    return Piece(unit, session, tuple(t for t in ties if t.session is session),
                 tuple(sorted((t for t in ties if t.session is not session), key=lambda t: t.session.number)))


def _cuts(part: Part, joint: Joint, done: frozenset[str]) -> tuple[Feature, ...]:
    return tuple(f for f in part.features if f.joint == joint.name and f.role not in ("shoulder", "mitre")
                 and (f.after is None or done is ALL or f.after in done))


def _common(one: Floats, other: Floats) -> Floats:
    return np.array([np.maximum(one[0], other[0]), np.minimum(one[1], other[1])])


@dataclass(frozen=True, eq=False)
class Laid:
    """One part as it lies: its solid and the frame that carries it into the world."""

    solid: Solid
    frame: Frame

    @property
    def box(self) -> tuple[Floats, Floats]:
        """The box around it in the world, a little too large where it leans, mm (3,), (3,)."""
        low, high = self.solid.bounds
        middle, half = (low + high) / 2.0, (high - low) / 2.0
        at = self.frame[:3, :3] @ middle + self.frame[:3, 3]
        reach = np.abs(self.frame[:3, :3]) @ half
        return at - reach, at + reach


def lies(at: Assembly, name: str, done: frozenset[str]) -> Laid:
    """Return a part where the drawing has it, with some stages behind it."""
    return Laid(at.solid(name, done), at.frames[name])


def turned(at: Assembly, name: str, turn: Frame, before: frozenset[str], done: frozenset[str]) -> Laid:
    """Return a part that went in turned: cut so far with the wood, and what is cut once it is in, where it is drawn."""
    part, frame = at.part(name), at.frames[name]
    solid, late = part.solid(before), _late(part, before, done)
    if not late:
        return Laid(solid, frame @ turn)
    made = solid.moved(turn)
    for operation, cutter in late:
        made = {"add": made.joined, "cut": made.cut, "keep": made.kept}[operation](cutter)
    return Laid(made, frame)


def _late(part: Part, before: frozenset[str], done: frozenset[str]) -> Sequence[tuple[str, Solid]]:
    if before is ALL:
        return ()
    return [(f.operation, f.solid) for f in part.features
            if f.after is not None and f.after not in before and (done is ALL or f.after in done)]


def meeting(one: Laid, other: Laid) -> tuple[Meeting, Frame]:
    """Return the meeting of two parts as they lie, and the frame that carries its first shape into the world."""
    if len(other.solid.mesh[1]) > len(one.solid.mesh[1]):
        one, other = other, one
    near = inverse(one.frame) @ other.frame
    key = one.solid.key + other.solid.key + (np.round(near[:3], 6) + 0.0).tobytes()
    return Meeting(one.solid, other.solid, near, key), one.frame
